"""What can be seen from a place inside a floor, in straight lines."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

Array = NDArray[np.float64]

SKIN_M = 1e-6
"""Walls stand back by this much, so that places on a wall and lines along it count as inside."""


MOST_VIEWS = 2000
"""Views one floor keeps."""


@dataclass(frozen=True)
class View:
    """What is seen from one place.

    Attributes
    ----------
    place : ndarray, shape (2,)
    turns : ndarray, shape (k,)
        Where sectors begin, as turns about the place, ascending.
    start, run : ndarray, shape (k, 2)
        The edge that bounds the view in each sector: its begin, seen from the place, and its
        extent [m].
    """

    place: Array
    turns: Array
    start: Array
    run: Array

    def sees(self, places: Array) -> NDArray[np.bool_]:
        """Tell which places (m, 2) are seen."""
        towards = places - self.place
        sector = np.searchsorted(self.turns, _turn(towards), side="right") - 1
        run_x, run_y, offset = self._lines
        side = run_x[sector] * towards[:, 1]
        side -= run_y[sector] * towards[:, 0]
        seen: NDArray[np.bool_] = side > offset[sector]
        return seen

    @cached_property
    def _lines(self) -> tuple[Array, Array, Array]:
        """Lines along the bounding edges: their extent by axis, and how far off the place is."""
        run_x, run_y = np.ascontiguousarray(self.run.T)
        return run_x, run_y, _cross(self.run, self.start)


class Sight:
    """Lines of sight inside one polygon with holes.

    Around each viewpoint the corners of the polygon cut the full turn into sectors; inside a
    sector the nearest wall is one and the same edge, so a place is seen when it lies on the
    viewpoint's side of that edge.
    """

    def __init__(self, polygon: Polygon) -> None:
        standing_back = orient(polygon.buffer(SKIN_M, join_style="mitre"))
        rings = [standing_back.exterior, *standing_back.interiors]
        coords = [np.asarray(ring.coords, dtype=float)[:, :2] for ring in rings]
        self._start = np.concatenate([ring[:-1] for ring in coords])
        self._run = np.concatenate([np.diff(ring, axis=0) for ring in coords])
        sizes = np.array([len(ring) - 1 for ring in coords])
        self._next = np.arange(sizes.sum()) + 1
        self._next[np.cumsum(sizes) - 1] = np.cumsum(sizes) - sizes

        self._views: dict[bytes, View] = {}

    def sees(self, viewpoint: Array, places: Array) -> NDArray[np.bool_]:
        """Tell which places (m, 2) are seen from a viewpoint (2,) strictly inside the walls."""
        return self.view(viewpoint).sees(places)

    def view(self, viewpoint: Array) -> View:
        """Return what bounds the view from a place (2,); kept for the next time it is asked."""
        key = viewpoint.tobytes()
        view = self._views.get(key)
        if view is None:
            start = self._start - viewpoint
            begin = _turn(start)
            turns = np.sort(begin)
            nearest = self._nearest_edges(start, begin, turns)
            view = View(viewpoint.copy(), turns, start[nearest], self._run[nearest])
            if len(self._views) >= MOST_VIEWS:
                self._views = {}
            self._views[key] = view
        return view

    def _nearest_edges(self, start: Array, begin: Array, turns: Array) -> NDArray[np.intp]:
        """Index of the nearest edge in each sector; sector k runs from turn k to turn k + 1.

        The floor lies left of its edges, so only edges that turn counter-clockwise about the
        viewpoint face it, and only in the sectors between their two ends.
        """
        count = turns.size
        facing = np.flatnonzero(_cross(start, self._run) > 0)
        first = np.searchsorted(turns, begin[facing])
        last = np.searchsorted(turns, begin[self._next[facing]])
        spans = (last - first) % count
        edge = np.repeat(facing, spans)
        within = np.arange(edge.size) - np.repeat(np.cumsum(spans) - spans, spans)
        sector = (np.repeat(first, spans) + within) % count
        ray = _direction((turns + np.append(turns[1:], turns[0] + 4.0)) / 2)[sector]
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = _cross(start[edge], self._run[edge]) / _cross(ray, self._run[edge])
        reach[~(reach > 0)] = np.inf
        order = np.lexsort((-reach, sector))
        nearest = np.zeros(count, dtype=np.intp)
        nearest[sector[order]] = edge[order]
        return nearest


@dataclass(frozen=True)
class Bends:
    """Corners a shortest way may bend round: the reflex corners of a floor.

    Attributes
    ----------
    corner, before, after : ndarray, shape (k, 2)
        The corners, and the corners before and after them on their ring [m].
    """

    corner: Array
    before: Array
    after: Array

    def taut(self, index: int, places: Array) -> NDArray[np.bool_]:
        """Tell from which places (m, 2) a tight string would bend round a corner.

        A string bends there only when it passes both walls of the corner on one side.
        """
        line = self.corner[index] - places
        ahead = _cross(line, self.after[index] - self.corner[index])
        behind = _cross(line, self.before[index] - self.corner[index])
        taut: NDArray[np.bool_] = ahead * behind >= -1e-9
        return taut


def bends(polygon: Polygon) -> Bends:
    """Find the reflex corners of a floor."""
    found: list[Array] = []
    floor = orient(polygon)
    for ring in (floor.exterior, *floor.interiors):
        corner = np.asarray(ring.coords, dtype=float)[:-1, :2]
        before, after = np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0)
        turn = _cross(corner - before, after - corner)
        scale = np.hypot(*(corner - before).T) * np.hypot(*(after - corner).T)
        reflex = turn < -1e-9 * scale
        found.append(np.stack([corner[reflex], before[reflex], after[reflex]]))
    return Bends(*np.concatenate(found, axis=1))


def _cross(first: Array, second: Array) -> Array:
    cross: Array = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    return cross


def _turn(direction: Array) -> Array:
    """Monotone stand-in for the angle of (n, 2) directions, in [-2, 2), cheaper than arctan."""
    x, y = direction[..., 0], direction[..., 1]
    size = np.abs(x) + np.abs(y)
    turn: Array = 1.0 - x / np.where(size > 0, size, 1.0)
    np.negative(turn, out=turn, where=y < 0)
    turn[turn >= 2.0] = -2.0
    return turn


def _direction(turn: Array) -> Array:
    """Directions (n, 2) of the stand-in angles; inverse of ``_turn``."""
    turn = (turn + 2.0) % 4.0 - 2.0
    x = 1.0 - np.abs(turn)
    y = np.where(turn >= 0, 1.0, -1.0) * (1.0 - np.abs(x))
    return np.column_stack([x, y])
