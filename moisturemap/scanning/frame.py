"""Whether the readings were written down in the plan's frame: mirrored, turned, wrong unit."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.floorplan import FloorPlan
from moisturemap.quantities import FEET
from moisturemap.scanning.remark import Remark
from moisturemap.survey import CleanReadings, Survey

GOOD_FIT = 0.97
"""Readings that fit as well as this in the frame they state are not doubted (our choice)."""

LEAST_EXTENT = 0.2
"""A frame in which the readings shrink to less than this share of the plan's longest side is none:
everything fits into a corner (our choice)."""

BETTER_BY = 0.10
"""Another frame is named when it fits this much more of the readings (our choice)."""

CORNER = 0.4
"""Readings that reach over no more than this share of either side of the plan fill a corner of it;
metres taken as feet reach over 0.30 (our choice)."""

FILLED = 0.6
"""Readings fill what they reach over by at least this share of a side (our choice)."""

Places = NDArray[np.float64]


Bounds = tuple[float, float, float, float]


def _opposite_x(places: Places, bounds: Bounds) -> Places:
    return np.column_stack([bounds[0] + bounds[2] - places[:, 0], places[:, 1]])


def _opposite_y(places: Places, bounds: Bounds) -> Places:
    return np.column_stack([places[:, 0], bounds[1] + bounds[3] - places[:, 1]])


_FRAMES: dict[str, Callable[[Places, Bounds], Places]] = {
    "with x and y swapped": lambda places, bounds: places[:, ::-1],
    "with x counted from the other end": _opposite_x,
    "with y counted from the other end": _opposite_y,
    "turned by half a turn": lambda p, bounds: _opposite_x(_opposite_y(p, bounds), bounds),
    "as feet": lambda places, bounds: places * FEET,
    "as metres instead of feet": lambda places, bounds: places / FEET,
    "as inches instead of feet": lambda places, bounds: places / 12,
    "as centimetres": lambda places, bounds: places / 100,
    "as millimetres": lambda places, bounds: places / 1000,
    "as metres instead of millimetres": lambda places, bounds: places * 1000,
}

_LARGER = ("as metres instead of feet", "as metres instead of millimetres")
"""Frames that spread the readings further."""


def remarks_on_frame(survey: Survey, clean: CleanReadings) -> list[Remark]:
    """Name the frame in which clearly more readings lie on the plan, in the room they state."""
    rows = survey.readings_of(clean.visit.id)
    names = rows["room"].to_numpy(dtype=object)
    doubt = frame_doubt(rows[["x", "y"]].to_numpy(dtype=float), names, survey.plan)
    return [Remark(*doubt)] if doubt else []


def frame_doubt(
    places: Places, rooms: NDArray[np.object_], plan: FloorPlan
) -> tuple[str, str] | None:
    """Say in which other frame or unit readings fit a plan better; None where they fit.

    Parameters
    ----------
    places : ndarray, shape (n, 2)
        As they are taken [m].
    rooms : ndarray of str, shape (n,)
        The room each states; "" where none.
    plan : FloorPlan

    Returns
    -------
    tuple of str or None
        How serious it is, and the sentence.
    """
    stated = _stated(rooms, plan)
    fits = _fit(places, stated, plan)
    others = {
        name: _fit(there, stated, plan) if _spans(there, plan) else 0.0
        for name, change in _FRAMES.items()
        for there in [change(places, plan.bounds)]
    }
    if fits >= GOOD_FIT:
        return _shrunk(places, plan, others)
    best = max(others, key=lambda name: others[name])
    if others[best] < fits + BETTER_BY or others[best] < 0.5:
        return None
    where = " in the rooms they state" if (stated >= 0).any() else ""
    return (
        "problem",
        f"The readings seem to be written in another frame: {best}, "
        f"{others[best]:.0%} of them lie on the plan{where}, as they stand only {fits:.0%}.",
    )


def _shrunk(places: Places, plan: FloorPlan, others: Mapping[str, float]) -> tuple[str, str] | None:
    """Doubt readings that fill a corner of the plan and no room, where a larger unit spreads them.

    Metres taken as feet all lie on the plan: wet floor would be mapped where it is not.
    """
    if max(_shares(places, plan.bounds)) > CORNER or _fills_a_room(places, plan):
        return None
    for name in _LARGER:
        reach = min(_shares(_FRAMES[name](places, plan.bounds), plan.bounds))
        if others[name] >= GOOD_FIT and reach >= FILLED:
            return (
                "warning",
                f"The readings fill a corner of the plan and no room: {name}, {others[name]:.0%} "
                f"of them lie on the plan and reach over {reach:.0%} of it. Check the unit of x "
                "and y.",
            )
    return None


def _shares(places: Places, bounds: Bounds) -> tuple[float, float]:
    """Return the share of each side of a rectangle that readings reach over."""
    wide, tall = np.ptp(places, axis=0) / np.subtract(bounds[2:], bounds[:2])
    return float(wide), float(tall)


def _fills_a_room(places: Places, plan: FloorPlan) -> bool:
    """Return whether the readings in some room reach over most of it."""
    for room in plan.rooms:
        shapely.prepare(room.polygon)
        inside = places[shapely.intersects_xy(room.polygon, places[:, 0], places[:, 1])]
        if len(inside) and max(_shares(inside, room.polygon.bounds)) >= FILLED:
            return True
    return False


def _spans(places: Places, plan: FloorPlan) -> bool:
    """Return whether the readings reach over a fair part of the plan."""
    west, south, east, north = plan.bounds
    return float(np.ptp(places, axis=0).max()) >= LEAST_EXTENT * max(east - west, north - south)


def _stated(names: NDArray[np.object_], plan: FloorPlan) -> NDArray[np.intp]:
    """Return the index of the room each reading states, -1 where it states none of the plan."""
    index = {room.name.strip().casefold(): k for k, room in enumerate(plan.rooms)}
    return np.array([index.get(str(name).strip().casefold(), -1) for name in names], dtype=np.intp)


def _fit(places: Places, stated: NDArray[np.intp], plan: FloorPlan) -> float:
    """Return the share of readings on the plan and in the room they state."""
    good = np.zeros(len(places), dtype=bool)
    for k, room in enumerate(plan.rooms):
        wide = room.polygon.buffer(0.06, join_style="mitre")
        shapely.prepare(wide)
        inside = shapely.intersects_xy(wide, places[:, 0], places[:, 1])
        good |= inside & ((stated == k) | (stated < 0))
    return float(good.mean())
