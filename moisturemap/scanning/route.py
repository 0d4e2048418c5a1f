"""The order in which places are walked, and the way from each to the next.

One room is walked after the other, to and fro along its rows. The way never crosses a wall: it
bends round corners and goes from room to room through the doors of the plan (``passages``).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, Point, Polygon

from moisturemap.floorplan import FloorPlan, geodesic_distance
from moisturemap.scanning.passages import Passages, Place

CORNERS = ("bottom-left", "bottom-right", "top-left", "top-right")
"""Corners of the plan a walk may start from, as the plan lies."""

NEAREST = 8
"""Places nearest as the crow flies whose way on foot is looked at (our choice)."""

CLOSING = 5
"""Places of the beginning read once more at the end of the walk, for drift (our choice: one more
than a survey needs for its drift to be told, ``practice.FEWEST_AGAIN``)."""


def corner_of(plan: FloorPlan, name: str) -> Place:
    """Return the corner of the box round a plan [m]."""
    west, south, east, north = plan.bounds
    across, up = name.endswith("right"), name.startswith("top")
    return (east if across else west), (north if up else south)


def in_order(
    plan: FloorPlan, rooms: Sequence[pd.DataFrame], start: Place, repeats: int
) -> pd.DataFrame:
    """Return the places of all rooms in walking order.

    Parameters
    ----------
    plan : FloorPlan
    rooms : sequence of pandas.DataFrame
        Places of one room each: ``label, x, y, purpose, room, row``; rows ascending.
    start : (float, float)
        Where the walk begins [m].
    repeats : int
        Places of the grid to be read a second time: each when the walk comes by again, a row later,
        and a few of the first at the very end, where a drift of the meter shows.
    """
    closing = min(CLOSING, repeats)
    chosen = _chosen_repeats(rooms, repeats - closing)
    passages = Passages(plan)
    grids = [_RoomGrid.of(plan, places) for places in rooms]
    left, here, walked = list(range(len(rooms))), _Stand("", start), []
    while left:
        ways = {index: grids[index].nearest_corner(passages, here) for index in left}
        index = min(left, key=lambda k: ways[k][0])
        walked.append(_with_repeats(grids[index].walked(ways[index][1]), chosen[index]))
        here = _Stand.at(walked[-1].iloc[-1])
        left.remove(index)
    places = pd.concat(walked, ignore_index=True)
    taken = set(places.loc[places["purpose"] == "repeat", ["room", "label"]].agg(tuple, axis=1))
    keys = places[["room", "label"]].agg(tuple, axis=1)
    first = places[(places["purpose"] == "grid") & ~keys.isin(taken)].iloc[:closing]
    return pd.concat([places, first.assign(purpose="repeat")], ignore_index=True)


class _Stand(NamedTuple):
    """Where one stands: a place [m] and its room, "" before the walk begins."""

    room: str
    place: Place

    @classmethod
    def at(cls, row: pd.Series) -> _Stand:
        return cls(str(row["room"]), _place(row))


def _place(row: pd.Series) -> Place:
    return float(row["x"]), float(row["y"])


class _RoomGrid(NamedTuple):
    """The places of a room, its rows parted where something stands between two of a row."""

    room: Polygon
    places: pd.DataFrame
    xy: NDArray[np.float64]
    pieces: list[list[int]]

    @classmethod
    def of(cls, plan: FloorPlan, places: pd.DataFrame) -> _RoomGrid:
        room = plan.room(places["room"].iloc[0]).polygon
        xy, rows = places[["x", "y"]].to_numpy(float), places["row"].to_numpy()
        pieces: list[list[int]] = []
        for k in np.flatnonzero(places["purpose"] == "grid").tolist():
            on = bool(pieces) and pieces[-1][-1] == k - 1 and rows[k] == rows[k - 1]
            if on and room.covers(LineString(xy[k - 1 : k + 1])):
                pieces[-1].append(k)
            else:
                pieces.append([k])
        # a room too narrow for a row is read along its walls alone, from any of its places
        pieces = pieces or [[k] for k in range(len(places))]
        return cls(room, places, xy, pieces)

    def nearest_corner(
        self, passages: Passages, here: _Stand
    ) -> tuple[tuple[float, float, float], int]:
        """Return how far the nearest end of the first or last row is on foot, and which it is.

        A room no doors lead to is farther than any other; the walk begins in the room at hand.
        """
        ends = [k for piece in (self.pieces[0], self.pieces[-1]) for k in (piece[0], piece[-1])]
        there = [_Stand.at(self.places.iloc[k]) for k in ends]
        walk = [passages.length(*here, *one) if here.room else np.inf for one in there]
        straight = np.hypot(*(self.xy[ends] - here.place).T)
        best = int(np.argmin(np.round(walk if np.isfinite(walk).all() else straight, 6)))
        away = round(float(self.room.distance(Point(here.place))), 1)
        return (float(walk[best]), away, float(straight[best])), ends[best]

    def walked(self, begin: int) -> pd.DataFrame:
        """Return the places in walking order: rows to and fro from one on, along the walls last."""
        order = self._rows_from(begin)
        edge = self.places["purpose"].to_numpy() == "edge"
        edge[order] = False
        return self.places.iloc[order + self._along_the_walls(np.flatnonzero(edge), order[-1])]

    def _rows_from(self, begin: int) -> list[int]:
        """Walk the pieces of rows, each time on foot to the nearest end of one that is left."""
        left, order, here = list(self.pieces), [], begin
        while left:
            ends = np.array([k for piece in left for k in (piece[0], piece[-1])])
            straight = np.hypot(*(self.xy[ends] - self.xy[here]).T)
            near = np.argsort(np.round(straight, 6), kind="stable")[:NEAREST]
            walk = self._on_foot(here, ends[near])
            index = int(near[int(np.argmin(np.round(walk, 6)))])
            piece = left.pop(index // 2)
            order += piece if index % 2 == 0 else piece[::-1]
            here = order[-1]
        return order

    def _along_the_walls(self, edge: NDArray[np.intp], here: int) -> list[int]:
        """Walk the places along the walls, each time on foot to the nearest one left."""
        left, order = edge, []
        while left.size:
            straight = np.hypot(*(self.xy[left] - self.xy[here]).T)
            near = np.argsort(straight, kind="stable")[:NEAREST]
            index = near[int(np.argmin(self._on_foot(here, left[near])))]
            here = int(left[index])
            order.append(here)
            left = np.delete(left, index)
        return order

    def _on_foot(self, start: int, ends: NDArray[np.intp]) -> NDArray[np.float64]:
        lengths: NDArray[np.float64] = geodesic_distance(
            self.room, self.xy[start][None], self.xy[ends]
        )[0]
        return lengths


def _chosen_repeats(rooms: Sequence[pd.DataFrame], count: int) -> list[set[str]]:
    """Return the labels to read again, by room, spread evenly over all rooms' grids."""
    grids = [(i, label) for i, one in enumerate(rooms) for label in _grid_labels(one)]
    at = np.linspace(0, len(grids) - 1, min(count, len(grids))).round().astype(int)
    chosen: list[set[str]] = [set() for _ in rooms]
    for one in np.unique(at) if count else []:
        room, label = grids[one]
        chosen[room].add(label)
    return chosen


def _grid_labels(places: pd.DataFrame) -> list[str]:
    return [str(one) for one in places.loc[places["purpose"] == "grid", "label"]]


def _with_repeats(places: pd.DataFrame, labels: set[str]) -> pd.DataFrame:
    """Put the second reading of chosen places where the walk comes by on the next row."""
    if not labels:
        return places
    xy = places[["x", "y"]].to_numpy(float)
    rows = places["row"].to_numpy()
    after: dict[int, list[int]] = {}
    wanted = places["label"].isin(labels) & (places["purpose"] == "grid")
    for stop in np.flatnonzero(wanted).tolist():
        after.setdefault(_passing(xy, rows, stop), []).append(stop)
    order: list[tuple[int, bool]] = []
    for index in range(len(places)):
        order.append((index, False))
        order += [(one, True) for one in after.get(index, ())]
    walked = places.iloc[[index for index, _ in order]].reset_index(drop=True)
    walked.loc[[again for _, again in order], "purpose"] = "repeat"
    return walked


def _passing(xy: NDArray[np.float64], rows: NDArray[np.object_], index: int) -> int:
    """Return the later stop, on another row, from which a place is nearest; else the last stop."""
    later = np.arange(index + 1, len(xy))
    later = later[rows[later] != rows[index]]
    if not later.size:
        return len(xy) - 1
    away = np.hypot(*(xy[later] - xy[index]).T)
    return int(later[int(np.argmin(away))])


def way_of(
    plan: FloorPlan, places: pd.DataFrame
) -> tuple[MultiLineString, tuple[tuple[str, str], ...]]:
    """Return the way from place to place [m] and the rooms between which no doors lead.

    Between those the plan does not tell how one gets there: nothing is drawn.
    """
    passages = Passages(plan)
    pieces: list[LineString] = []
    apart: dict[tuple[str, str], None] = {}
    for (_, one), (_, other) in pairwise(places.iterrows()):
        here, next_one = _Stand.at(one), _Stand.at(other)
        leg = passages.way(*here, *next_one)
        if leg is None:
            apart[here.room, next_one.room] = None
        elif leg.length > 0:
            pieces.append(leg)
    return MultiLineString(pieces), tuple(apart)
