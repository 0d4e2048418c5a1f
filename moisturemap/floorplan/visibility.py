"""What can be seen from a place inside a floor, in straight lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

Array = NDArray[np.float64]

SKIN_M = 1e-6
"""Walls stand back by this much, so that places on a wall and lines along it count as inside."""


class Sight:
    """Lines of sight inside one polygon with holes.

    Around each viewpoint the corners of the polygon cut the full turn into sectors; inside a
    sector the nearest wall is one and the same edge, so a place is seen when it lies on the
    viewpoint's side of that edge. Cost for a viewpoint: edges squared, plus places times log
    edges.
    """

    def __init__(self, polygon: Polygon) -> None:
        standing_back = polygon.buffer(SKIN_M, join_style="mitre")
        rings = [standing_back.exterior, *standing_back.interiors]
        coords = [np.asarray(ring.coords, dtype=float)[:, :2] for ring in rings]
        self._start = np.concatenate([ring[:-1] for ring in coords])
        self._run = np.concatenate([np.diff(ring, axis=0) for ring in coords])

    def sees(self, viewpoint: Array, places: Array) -> NDArray[np.bool_]:
        """Tell which places (m, 2) are seen from a viewpoint (2,) strictly inside the walls."""
        start = self._start - viewpoint
        turns = np.sort(_turn(start))
        nearest = self._nearest_edges(start, turns)
        towards = places - viewpoint
        edge = nearest[np.searchsorted(turns, _turn(towards), side="right") - 1]
        run = self._run[edge]
        offset = towards - start[edge]
        side = run[:, 0] * offset[:, 1] - run[:, 1] * offset[:, 0]
        own = -(run[:, 0] * start[edge, 1] - run[:, 1] * start[edge, 0])
        seen: NDArray[np.bool_] = (side * own) > 0
        return seen

    def _nearest_edges(self, start: Array, turns: Array) -> NDArray[np.intp]:
        """Index of the nearest edge in each sector; sector k runs from turn k to turn k + 1."""
        ends = np.append(turns[1:], turns[0] + 4.0)
        ray = _direction((turns + ends) / 2)
        run = self._run
        across = ray[:, :1] * run[:, 1] - ray[:, 1:] * run[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = (start[:, 0] * run[:, 1] - start[:, 1] * run[:, 0]) / across
            share = (start[:, 0] * ray[:, 1:] - start[:, 1] * ray[:, :1]) / across
            hit = (reach > 0) & (share >= -1e-12) & (share <= 1 + 1e-12)
        nearest: NDArray[np.intp] = np.where(hit, reach, np.inf).argmin(axis=1)
        return nearest


def bends(polygon: Polygon) -> Array:
    """Corners a shortest path may bend round: the reflex corners of the floor, (k, 2)."""
    found = []
    floor = orient(polygon)
    for ring in (floor.exterior, *floor.interiors):
        corner = np.asarray(ring.coords, dtype=float)[:-1, :2]
        before, after = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        scale = np.hypot(*before.T) * np.hypot(*after.T)
        found.append(corner[turn < -1e-9 * scale])
    return np.concatenate(found)


def _turn(direction: Array) -> Array:
    """Monotone stand-in for the angle of (n, 2) directions, in [-2, 2), cheaper than arctan."""
    x, y = direction[..., 0], direction[..., 1]
    size = np.abs(x) + np.abs(y)
    share = x / np.where(size > 0, size, 1.0)
    turn: Array = np.where(y >= 0, 1.0 - share, share - 1.0)
    return np.where(turn >= 2.0, -2.0, turn)


def _direction(turn: Array) -> Array:
    """Directions (n, 2) of the stand-in angles; inverse of ``_turn``."""
    turn = (turn + 2.0) % 4.0 - 2.0
    x = 1.0 - np.abs(turn)
    y = np.where(turn >= 0, 1.0, -1.0) * (1.0 - np.abs(x))
    return np.column_stack([x, y])
