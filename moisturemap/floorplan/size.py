"""Whether a plan is too large to be in the unit it was read in."""

from __future__ import annotations

from moisturemap.floorplan.assemble import metres_per
from moisturemap.floorplan.outline import LENGTH_UNITS
from moisturemap.floorplan.plan import FloorPlan

LONG_ROOM_M = 60.0
"""A room longer than this is in the wrong unit, or a hall: it is told (our choice)."""

SHORT_ROOM_M = 2.0
"""The longest room of a plan is no shorter than this in a unit that is named (our choice)."""

_WORDS = {"m": "metres", "cm": "centimetres", "mm": "millimetres", "ft": "feet", "in": "inches"}

CHECK_ONE_WALL = "check one wall against the tape"
"""How a doubt about the unit of a plan ends."""


def doubted_size(plan: FloorPlan, unit: str) -> str:
    """Say that a room is too long for its unit, with both extents; "" where none is.

    Parameters
    ----------
    plan : FloorPlan
    unit : str
        It was read in, one of ``LENGTH_UNITS``.
    """
    sides = {room.name: _sides(room.polygon.bounds) for room in plan.rooms}
    name = max(sides, key=lambda one: max(sides[one]))
    longest = max(sides[name])
    if longest <= LONG_ROOM_M:
        return ""
    west, south, east, north = plan.bounds
    others = []
    for other in ("mm", "cm", "in", "ft", "m"):
        scale = LENGTH_UNITS[other] / metres_per(unit)
        if other != unit and SHORT_ROOM_M <= longest * scale <= LONG_ROOM_M:
            size = f"{(east - west) * scale:.3g} x {(north - south) * scale:.3g} m"
            others.append(f"{size} in {_WORDS[other]}")
    would = f", and would be {' or '.join(others)}" if others else ""
    wide, high = f"{east - west:.3g}", f"{north - south:.3g}"
    return (
        f"Room '{name}' is {longest:.0f} m long: read in {_WORDS[unit]} the plan is {wide} x "
        f"{high} m{would}; {CHECK_ONE_WALL}."
    )


def _sides(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    return bounds[2] - bounds[0], bounds[3] - bounds[1]
