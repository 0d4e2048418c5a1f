"""The order in which places are walked, and the way from each to the next.

Inside a room the way never crosses a wall: where the straight line does, it bends round the corner.
From room to room it goes through a door where the plan has one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, Point, Polygon

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.floorplan.geodesic import shortest_path

Place = tuple[float, float]

CORNERS = ("bottom-left", "bottom-right", "top-left", "top-right")
"""Corners of the plan a walk may start from, as the plan lies."""

DOOR_REACH_M = 0.4
"""A door drawn this near to two rooms joins them [m] (our choice: most inner walls are thinner)."""

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
    left, here, walked = list(range(len(rooms))), start, []
    while left:
        ways = [(index, _to_and_fro(rooms[index], here)) for index in left]
        index, places = min(ways, key=lambda way: _gap(plan, here, way[1]))
        walked.append(_with_repeats(places, chosen[index]))
        here = _place(walked[-1].iloc[-1])
        left.remove(index)
    places = pd.concat(walked, ignore_index=True)
    taken = set(places.loc[places["purpose"] == "repeat", ["room", "label"]].agg(tuple, axis=1))
    keys = places[["room", "label"]].agg(tuple, axis=1)
    first = places[(places["purpose"] == "grid") & ~keys.isin(taken)].iloc[:closing]
    return pd.concat([places, first.assign(purpose="repeat")], ignore_index=True)


def _gap(plan: FloorPlan, here: Place, places: pd.DataFrame) -> tuple[float, float]:
    """How far the first place of a room is: rooms at hand first, then the nearer place."""
    room = plan.room(places["room"].iloc[0])
    first = _place(places.iloc[0])
    return round(float(room.polygon.distance(Point(here))), 1), float(np.hypot(*_step(here, first)))


def _place(row: pd.Series) -> Place:
    return float(row["x"]), float(row["y"])


def _step(start: Place, end: Place) -> Place:
    return end[0] - start[0], end[1] - start[1]


def _to_and_fro(places: pd.DataFrame, here: Place) -> pd.DataFrame:
    """Walk the rows of a grid to and fro, beginning at its end nearest to a place; walls last."""
    grid = places[places["purpose"] == "grid"]
    rows = [row for _, row in grid.groupby("row", sort=True)]
    best = None
    for backwards in (False, True):
        for turned in (False, True):
            ordered = rows[::-1] if backwards else rows
            walked = [r.iloc[::-1] if (i % 2 == 0) == turned else r for i, r in enumerate(ordered)]
            way = pd.concat(walked) if walked else grid
            far = np.hypot(*_step(here, _place(way.iloc[0]))) if len(way) else 0.0
            if best is None or far < best[0] - 1e-9:
                best = (far, way)
    assert best is not None
    edge = places[places["purpose"] == "edge"]
    end = _place(best[1].iloc[-1]) if len(best[1]) else here
    return pd.concat([best[1], _along_the_walls(edge, end)], ignore_index=True)


def _along_the_walls(edge: pd.DataFrame, here: Place) -> pd.DataFrame:
    """Walk the places along the walls from the nearest on, each time to the nearest one left."""
    left = edge[["x", "y"]].to_numpy(float)
    order: list[int] = []
    free = np.ones(len(left), dtype=bool)
    place = np.array(here)
    for _ in range(len(left)):
        away = np.where(free, np.hypot(*(left - place).T), np.inf)
        index = int(np.argmin(away))
        free[index] = False
        order.append(index)
        place = left[index]
    return edge.iloc[order]


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


def way_of(plan: FloorPlan, places: pd.DataFrame) -> tuple[MultiLineString, float]:
    """Return the way from place to place and its length [m].

    Pieces between rooms no door joins are counted straight and not drawn: how one gets there is
    not on the plan.
    """
    pieces: list[LineString] = []
    length = 0.0
    doors = [one.geometry for one in plan.lines if one.kind == "door"]
    for (_, one), (_, other) in pairwise(places.iterrows()):
        start, end = _place(one), _place(other)
        if one["room"] == other["room"]:
            leg = _inside(plan.room(one["room"]).polygon, start, end)
        else:
            leg = _through(plan.room(one["room"]), plan.room(other["room"]), doors, start, end)
        length += leg.length if leg else float(np.hypot(*_step(start, end)))
        if leg and leg.length > 0:
            pieces.append(leg)
    return MultiLineString(pieces), length


def _inside(room: Polygon, start: Place, end: Place) -> LineString:
    straight = LineString([start, end])
    if shapely.covers(room, straight):
        return straight
    return shortest_path(room, start, end) or straight


def _through(
    one: Room, other: Room, doors: Sequence[shapely.Geometry], start: Place, end: Place
) -> LineString | None:
    """Return the way through the nearest door that joins two rooms, or None without one."""
    best: LineString | None = None
    for door in doors:
        middle = door.interpolate(0.5, normalized=True)
        if max(one.polygon.distance(middle), other.polygon.distance(middle)) > DOOR_REACH_M:
            continue
        sills = [_on(room.polygon, middle) for room in (one, other)]
        legs = [_inside(one.polygon, start, sills[0]), _inside(other.polygon, sills[1], end)]
        way = LineString([*legs[0].coords, *legs[1].coords])
        best = way if best is None or way.length < best.length else best
    return best


def _on(room: Polygon, middle: Point) -> Place:
    """Return the place of a room nearest to a door."""
    near = shapely.get_point(shapely.shortest_line(room, middle), 0)
    return float(near.x), float(near.y)
