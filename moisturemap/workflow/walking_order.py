"""Where to read next: a grid over the rooms, in the order it is walked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room

WALL_CLEARANCE_M = 0.15
"""A reading head needs flat floor about it; places nearer to a wall are moved off it [m]."""

SPACING_M = (0.1, 20.0)
MOST_STOPS = 20_000


@dataclass(frozen=True, slots=True)
class Stop:
    """A place to read [m]; ``label`` is row letter and number, e.g. ``"B4"``."""

    label: str
    x: float
    y: float
    room: str


def walking_stops(plan: FloorPlan, spacing: float, *, room: str | None = None) -> tuple[Stop, ...]:
    """Lay a square grid over the rooms and order it to and fro, room by room.

    Rows run along the longer side of a room, so that the way has few turns. The grid is centred
    in the room, and a room too small for it gets one place in its middle.

    Parameters
    ----------
    plan : FloorPlan
    spacing : float
        Distance between places [m], within ``SPACING_M``.
    room : str, optional
        One room only.

    Raises
    ------
    OptionError
        When the spacing or the room is not allowed, or the grid would be too large to walk.
    """
    low, high = SPACING_M
    if not low <= spacing <= high:
        message = "the spacing of the places"
        raise OptionError(message, value=spacing, allowed=f"{low:g} to {high:g} m")
    rooms = [one for one in plan.rooms if room is None or one.name == room]
    if not rooms:
        message = "no such room"
        raise OptionError(message, value=room, allowed=", ".join(r.name for r in plan.rooms))
    if sum(one.polygon.area for one in rooms) / spacing**2 > MOST_STOPS:
        message = "the grid would have too many places to walk"
        raise OptionError(message, value=spacing, allowed=f"at most {MOST_STOPS} places")
    rows: list[tuple[Room, NDArray[np.float64]]] = []
    for one in rooms:
        rows += [(one, row) for row in _rows(one, spacing)]
    return tuple(
        Stop(f"{_letters(number)}{i}", round(float(x), 3), round(float(y), 3), one.name)
        for number, (one, row) in enumerate(rows)
        for i, (x, y) in enumerate(row, start=1)
    )


def _rows(room: Room, spacing: float) -> list[NDArray[np.float64]]:
    """Rows of places in a room, every other one turned round."""
    west, south, east, north = room.polygon.bounds
    floor = room.polygon.buffer(-WALL_CLEARANCE_M)
    wide = east - west >= north - south
    along = _ticks(west, east, spacing) if wide else _ticks(south, north, spacing)
    across = _ticks(south, north, spacing) if wide else _ticks(west, east, spacing)
    rows = []
    for tick in across:
        fixed = np.full_like(along, tick)
        row = np.column_stack([along, fixed] if wide else [fixed, along])
        row = row[shapely.covers(floor, shapely.points(row))]
        if len(row):
            rows.append(row[::-1] if len(rows) % 2 else row)
    if not rows:
        middle = room.polygon.representative_point()
        rows.append(np.array([[middle.x, middle.y]]))
    return rows


def _ticks(low: float, high: float, spacing: float) -> NDArray[np.float64]:
    count = max(1, int((high - low - 2 * WALL_CLEARANCE_M) / spacing) + 1)
    middle = (low + high) / 2
    return middle + spacing * (np.arange(count) - (count - 1) / 2)


def _letters(number: int) -> str:
    """``A`` to ``Z``, then ``AA``, as spreadsheets count columns."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def blind_spots(spacing: float) -> tuple[str, ...]:
    """Say what a grid of this spacing can miss, in sentences."""
    return (
        f"A wet patch narrower than {spacing:g} m can lie between the places unseen.",
        "Read closer together at doors, joints, pipes and along exterior walls.",
    )
