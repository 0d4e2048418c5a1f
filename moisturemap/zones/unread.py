"""Large parts of rooms that nobody read, though the rest of the room was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from moisturemap.floorplan import FloorPlan, Room

VOUCHES, WIDEST_SPACING_M = 1.5, 2.0
"""A reading vouches for floor within this many spacings, the spacing at most the second figure [m];
project choice."""

UNREAD_SHARE, UNREAD_M2 = 0.25, 4.0
"""A part of a room that nobody read matters from this share of it and this area on; project
choice."""


@dataclass(frozen=True)
class UnreadPart:
    """The largest part of a room for which no reading vouches.

    Attributes
    ----------
    room : Room
    part : shapely geometry
        [m]
    """

    room: Room
    part: BaseGeometry

    @property
    def words(self) -> str:
        """Say it in words to go on with."""
        return (
            f"nobody read {self.part.area:.0f} m2 of the {self.room.polygon.area:.0f} m2 of "
            f"{self.room.name}"
        )


def unread_parts(plan: FloorPlan, places: NDArray[np.float64]) -> tuple[UnreadPart, ...]:
    """Find the large parts of rooms that nobody read, though the rest of the room was.

    Parameters
    ----------
    plan : FloorPlan
    places : ndarray, shape (n, 2)
        Where readings stand [m].

    Returns
    -------
    tuple of UnreadPart
        One of a room at most; rooms without any reading are not among them.
    """
    distinct = np.unique(places, axis=0)
    if len(distinct) < 2:
        return ()
    apart = float(np.median(np.asarray(cKDTree(distinct).query(distinct, 2)[0])[:, 1]))
    reach = VOUCHES * min(apart, WIDEST_SPACING_M)
    closed = unary_union([line.geometry for line in plan.lines_of("keep-clear")])
    found = []
    for room in plan.rooms:
        west, south, east, north = room.polygon.bounds
        low, high = (west - reach, south - reach), (east + reach, north + reach)
        near = distinct[((distinct > low) & (distinct < high)).all(axis=1)]
        if not any(room.polygon.covers(point) for point in MultiPoint(near).geoms):
            continue
        left = room.polygon.difference(MultiPoint(near).buffer(reach, quad_segs=4))
        left = left.difference(closed)
        largest = max(getattr(left, "geoms", [left]), key=lambda one: one.area, default=None)
        least = max(UNREAD_SHARE * room.polygon.area, UNREAD_M2)
        if largest is not None and largest.area >= least:
            found.append(UnreadPart(room, largest))
    return tuple(found)
