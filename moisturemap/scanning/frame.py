"""Whether the readings were written down in the plan's frame: mirrored, turned, wrong unit."""

from __future__ import annotations

from collections.abc import Callable

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
    "as millimetres": lambda places, bounds: places / 1000,
    "as metres instead of millimetres": lambda places, bounds: places * 1000,
}


def remarks_on_frame(survey: Survey, clean: CleanReadings) -> list[Remark]:
    """Name the frame in which clearly more readings lie on the plan, in the room they state."""
    rows = survey.readings_of(clean.visit.id)
    places = rows[["x", "y"]].to_numpy(dtype=float)
    stated = _stated(rows["room"].to_numpy(dtype=object), survey.plan)
    fits = _fit(places, stated, survey.plan)
    if fits >= GOOD_FIT:
        return []
    moved = {name: change(places, survey.plan.bounds) for name, change in _FRAMES.items()}
    others = {
        name: _fit(there, stated, survey.plan) if _spans(there, survey.plan) else 0.0
        for name, there in moved.items()
    }
    best = max(others, key=lambda name: others[name])
    if others[best] < fits + BETTER_BY or others[best] < 0.5:
        return []
    rooms = " in the rooms they state" if (stated >= 0).any() else ""
    return [
        Remark(
            "problem",
            f"The readings seem to be written in another frame: {best}, "
            f"{others[best]:.0%} of them lie on the plan{rooms}, as they stand only "
            f"{fits:.0%}.",
        )
    ]


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
