"""Which rooms a line runs through."""

from __future__ import annotations

from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan

CROSSED_M = 0.3
"""A line that lies in a room for less than this does not count as running through it, for its
course is known no better (our choice) [m]."""


def rooms_crossed(shape: BaseGeometry, plan: FloorPlan, main: str) -> str:
    """Name the rooms a line runs through, in its order; of anything else the room it is in.

    Parameters
    ----------
    shape : shapely geometry
        [m]
    plan : FloorPlan
    main : str
        Room that most of it lies in, "" where that is not known.
    """
    if shape.geom_type != "LineString":
        return main
    found: list[tuple[float, str]] = []
    for room in plan.rooms:
        inside = shape.intersection(room.polygon)
        if inside.length >= CROSSED_M or (room.name == main and not inside.is_empty):
            found.append((float(shape.project(inside.representative_point())), room.name))
    return ", ".join(name for _, name in sorted(found)) or main
