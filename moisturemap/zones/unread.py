"""Large parts of rooms that nobody read, though the rest of the room was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from moisturemap.floorplan import FloorPlan, Room

VOUCHES, WIDEST_SPACING_M = 1.5, 2.0
"""A reading vouches for floor within this many spacings, the spacing at most the second figure [m];
project choice."""

UNREAD_SHARE, UNREAD_M2 = 0.25, 4.0
"""A part of a room that nobody read matters from this share of it and this area on; project
choice."""

MOST_SQUARES = 20_000
"""Squares a room is looked at on at most."""


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
        area = f"{self.part.area:.1f}" if self.part.area < 10.0 else f"{self.part.area:.0f}"
        return f"nobody read {area} m2 of the {self.room.polygon.area:.0f} m2 of {self.room.name}"


def unread_parts(
    plan: FloorPlan,
    places: NDArray[np.float64],
    *,
    share: float = UNREAD_SHARE,
    least_m2: float = UNREAD_M2,
) -> tuple[UnreadPart, ...]:
    """Find the large parts of rooms that nobody read, though the rest of the room was.

    Parameters
    ----------
    plan : FloorPlan
    places : ndarray, shape (n, 2)
        Where readings stand [m].
    share, least_m2 : float
        Least share of the room and least area of a part.

    Returns
    -------
    tuple of UnreadPart
        One of a room at most; rooms without any reading are not among them.
    """
    distinct = np.unique(places, axis=0)
    if len(distinct) < 2:
        return ()
    tree = cKDTree(distinct)
    apart = float(np.median(np.asarray(tree.query(distinct, 2)[0])[:, 1]))
    reach = VOUCHES * min(apart, WIDEST_SPACING_M)
    closed = unary_union([line.geometry for line in plan.lines_of("keep-clear")])
    found = []
    for room in plan.rooms:
        if not shapely.intersects_xy(room.polygon, *distinct.T).any():
            continue
        part = _largest_far(room, tree, reach, closed)
        if part is not None and part.area >= max(share * room.polygon.area, least_m2):
            found.append(UnreadPart(room, part))
    return tuple(found)


def _largest_far(
    room: Room, tree: cKDTree, reach: float, closed: BaseGeometry
) -> BaseGeometry | None:
    """Largest connected part of a room farther than a reach from every reading, on squares."""
    west, south, east, north = room.polygon.bounds
    side = max(0.4 * reach, float(np.sqrt((east - west) * (north - south) / MOST_SQUARES)))
    x, y = np.arange(west + side / 2, east, side), np.arange(south + side / 2, north, side)
    at = np.meshgrid(x, y)
    inside = shapely.contains_xy(room.polygon, *at) & ~shapely.contains_xy(closed, *at)
    far = np.zeros(inside.shape, dtype=bool)
    places = np.column_stack([one[inside] for one in at])
    far[inside] = np.asarray(tree.query(places, distance_upper_bound=reach)[0]) > reach
    labels, count = label(far)
    if not count:
        return None
    largest = labels == 1 + int(np.argmax(np.bincount(labels[far])[1:]))
    column, row = at[0][largest] - side / 2, at[1][largest] - side / 2
    squares = shapely.box(column, row, column + side, row + side)
    return room.polygon.intersection(unary_union(squares)).difference(closed)
