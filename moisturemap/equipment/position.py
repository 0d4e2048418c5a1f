"""Where machines may stand.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.machine import Machine
from moisturemap.floorplan import FloorPlan, PlanLine, geodesic_distance, walls

Array = NDArray[np.float64]

FROM_WALL_M = {"dehumidifier": 0.5, "air-mover": 0.3}
"""Least distance from walls and columns [m]; project choice."""

ALONG_WALL_M = 0.45
"""Distance from the wall of an air mover that blows along it [m]."""

WALL_STEP_M = 0.75
MOST_ALONG_WALL = 24
"""Step between places along a wall [m], and most of them along one."""

MOST = {"dehumidifier": 160, "air-mover": 220}
"""Most places looked at, by kind."""

TURNS = 8
"""Directions an air mover away from walls is tried in."""


@dataclass(frozen=True)
class Positions:
    """Places with directions a machine may take.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        [m]
    direction_deg : ndarray, shape (n,)
        Counter-clockwise from x [degrees]; NaN for dehumidifiers.
    """

    points: Array
    direction_deg: Array


def allowed_area(plan: FloorPlan, kind: str) -> BaseGeometry:
    """Return where a machine may stand: clear of walls and of keep-clear areas [m]."""
    rooms = shapely.union_all([room.polygon.buffer(-FROM_WALL_M[kind]) for room in plan.rooms])
    clear = [line.geometry.buffer(0.05) for line in plan.lines_of("keep-clear")]
    return rooms.difference(shapely.union_all(clear)) if clear else rooms


def find_positions(
    plan: FloorPlan, space: BaseGeometry, kind: str, cable_m: float
) -> tuple[Positions, tuple[str, ...]]:
    """Lay out the places a machine of a kind may take, within reach of a power point if any."""
    area = allowed_area(plan, kind)
    points = _grid(area, MOST[kind] if kind == "dehumidifier" else MOST[kind] // 2)
    heading = np.full(len(points), np.nan)
    if kind == "air-mover":
        points, heading = _with_directions(plan, area, points)
    near, notes = _powered(plan, space, points, cable_m)
    return Positions(points[near], heading[near]), notes


def at_machines(machines: tuple[Machine, ...]) -> Positions:
    """Return the positions machines stand at; the direction is NaN where none is known."""
    points = np.array([(one.x, one.y) for one in machines], dtype=float).reshape(-1, 2)
    heading = [math.nan if one.direction_deg is None else one.direction_deg for one in machines]
    return Positions(points, np.array(heading, dtype=float))


def _grid(area: BaseGeometry, most: int) -> Array:
    """Lay a regular grid of at most so many places inside an area."""
    if area.is_empty:
        return np.empty((0, 2))
    west, south, east, north = area.bounds
    step = max(math.sqrt(area.area / most), 0.25)
    while True:
        x = (
            np.arange(west + step / 2, east + 1e-9, step)
            if east - west > step
            else np.array([(west + east) / 2])
        )
        y = (
            np.arange(south + step / 2, north + 1e-9, step)
            if north - south > step
            else np.array([(south + north) / 2])
        )
        places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        places = places[shapely.intersects_xy(area, places[:, 0], places[:, 1])]
        if not len(places):
            spot = area.representative_point()
            return np.array([[spot.x, spot.y]])
        if len(places) <= most:
            return np.asarray(places)
        step *= 1.05


def _with_directions(plan: FloorPlan, area: BaseGeometry, inner: Array) -> tuple[Array, Array]:
    """Add places along walls that blow along them, and turn inner places all ways round."""
    points, headings = [], []
    for room in plan.rooms:
        for wall in walls(room):
            count = max(1, min(round(wall.length / WALL_STEP_M), MOST_ALONG_WALL))
            for share in (np.arange(count) + 0.5) / count:
                start = wall.line.interpolate(float(share), normalized=True)
                (x0, y0), (x1, y1) = wall.line.coords[0], wall.line.coords[-1]
                along = math.atan2(y1 - y0, x1 - x0)
                points.append(
                    (
                        start.x - ALONG_WALL_M * math.sin(along),
                        start.y + ALONG_WALL_M * math.cos(along),
                    )
                )
                headings.append(math.degrees(along) % 360.0)
    edge = np.array(points).reshape(-1, 2)
    kept = shapely.intersects_xy(area, edge[:, 0], edge[:, 1])
    edge, heading = edge[kept], np.array(headings)[kept]
    turns = np.arange(TURNS) * 360.0 / TURNS
    return (
        np.concatenate([edge, edge, np.repeat(inner, TURNS, axis=0)]),
        np.concatenate([heading, (heading + 180.0) % 360.0, np.tile(turns, len(inner))]),
    )


def _powered(
    plan: FloorPlan, space: BaseGeometry, points: Array, cable_m: float
) -> tuple[NDArray[np.bool_], tuple[str, ...]]:
    """Tell which places a cable from a power point reaches on the floor."""
    sockets = plan.lines_of("power-point")
    everywhere = np.ones(len(points), dtype=bool)
    if not sockets or not len(points):
        return everywhere, ()
    outlets = outlets_on(space, sockets)
    distinct, inverse = np.unique(points, axis=0, return_inverse=True)
    way = geodesic_distance(space, outlets, distinct).min(axis=0)[inverse.ravel()]
    near = way <= cable_m
    if not near.any():
        return everywhere, (
            f"No place a machine could stand is within {cable_m:g} m of a power "
            "point: power is left out of account.",
        )
    return near, (
        f"New places for machines lie within {cable_m:g} m of cable from a power point of the "
        "plan, laid round walls and through open doors.",
    )


def outlets_on(space: BaseGeometry, sockets: Sequence[PlanLine]) -> Array:
    """Return where power points give on the floor [m], shape (sockets, 2)."""
    at = np.array([shapely.get_coordinates(one.geometry.centroid)[0] for one in sockets])
    return _onto(space, at)


def _onto(space: BaseGeometry, points: Array) -> Array:
    """Move places off the floor to its nearest point."""
    off = ~shapely.intersects_xy(space, points[:, 0], points[:, 1])
    moved = points.copy()
    if off.any():
        lines = shapely.shortest_line(space, shapely.points(points[off]))
        moved[off] = shapely.get_coordinates(shapely.get_point(lines, 0))
    return moved
