"""What a hole must keep clear of, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import unary_union
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.drilling.drawn_services import between_ends
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import FloorPlan, PlanLine

SETTING_OUT_M = 0.02
"""A hole drilled where the tape says lies within this of the planned place [m]."""

MESH_SHARE = 0.5
"""A flagged mesh under more than this share of a room cannot be kept clear of there."""

END_M, ON_M = 0.3, 3.0
"""A service drawn to this far from a wall or another line ends there; else it goes on, and holes
keep clear of its straight course so far [m]; our choice."""

TOUCHES_M = 1e-6
"""Rounding of a cut [m]."""

KNOWN_SERVICE_M = 0.3
"""Kept from services the plan draws, whatever clearance is asked for; nearer holes are named [m].
No standard gives a number; our choice, the usual clearance of this program. Who knows better
corrects the line of the plan."""

ALONG_M = 0.25
SECOND_NEAREST = 0.7
"""Mean distance to the second nearest node of a square grid, in spacings (by simulation)."""

CLOSE_M, LOOSE_SHARE = 0.6, 0.9
"""Above this spacing [m] this share of the rest is kept more: on invented floors read at 1 m a pipe
was drawn up to 0.36 m beside its course; our choice."""

LINE_WORDS = {
    "known-service": "known service",
    "movement-joint": "movement joint",
    "day-joint": "day joint",
    "keep-clear": "keep-clear area",
}


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something a hole keeps clear of.

    Attributes
    ----------
    name : str
        As a person would call it.
    geometry : shapely geometry
    clearance : float
        Distance to keep from the geometry [m].
    embedded : bool
        Whether it is a service or a thing in the floor, which a drill can hit.
    """

    name: str
    geometry: BaseGeometry
    clearance: float
    embedded: bool = False

    def gap(self, x: float, y: float) -> float:
        """Distance of a place from the geometry [m]."""
        return float(self.geometry.distance(Point(x, y)))


def plan_obstacles(plan: FloorPlan, options: DrillOptions) -> list[Obstacle]:
    """Return walls, columns, joints, known services and keep-clear areas."""
    found = [
        Obstacle(f"wall or column of {room.name}", room.polygon.boundary, options.wall_clearance_m)
        for room in plan.rooms
    ]
    found += [
        Obstacle(f"wall {line.name}".strip(), line.geometry, options.wall_clearance_m)
        for line in plan.lines_of("exterior-wall", "interior-wall")
    ]
    for line in plan.lines_of(*LINE_WORDS):
        name = f"{LINE_WORDS[line.kind]} {line.name}".strip()
        if not line.recognised:
            name = f"{line.name}, drawn in the plan"
        keep = options.clearance_m
        if line.kind == "known-service":
            keep = max(keep, KNOWN_SERVICE_M)
        found.append(Obstacle(name, line.geometry, keep, line.kind == "known-service"))
    for service, beyond in beyond_ends(plan):
        name = f"where known service {service} may go on".replace("  ", " ")
        keep = max(options.clearance_m, KNOWN_SERVICE_M)
        found.append(Obstacle(name, beyond, keep, embedded=True))
    for service, way in between_ends(plan):
        name = f"the straight way between the ends of {service or 'known service'}"
        keep = max(options.clearance_m, KNOWN_SERVICE_M)
        found.append(Obstacle(name, way, keep, embedded=True))
    return found


def beyond_ends(plan: FloorPlan) -> list[tuple[str, LineString]]:
    """Return the straight courses beyond the ends of services drawn into the floor and no further.

    Such an end is one that no wall, no other line of the plan and no other part of the same service
    lies near; the course runs on to the next wall, at most ``ON_M``.

    Parameters
    ----------
    plan : FloorPlan

    Returns
    -------
    list of (str, LineString)
        Name of the service, and the course from its end on [m].
    """
    parts = [
        (line, part)
        for line in plan.lines
        for part in shapely.get_parts(
            shapely.line_merge(line.geometry) if _is_line(line) else line.geometry
        )
    ]
    found = []
    for k, (line, part) in enumerate(parts):
        if line.kind != "known-service" or part.geom_type != "LineString" or part.is_ring:
            continue
        others = [other for i, (_, other) in enumerate(parts) if i != k]
        corners = shapely.get_coordinates(part)
        for end, inner in ((corners[0], corners[1]), (corners[-1], corners[-2])):
            room = plan.room_at(*map(float, end))
            bounds = [] if room is None else [room.polygon.boundary, *others]
            if room is None or min(one.distance(Point(end)) for one in bounds) <= END_M:
                continue
            way = (end - inner) / np.hypot(*(end - inner))
            course = LineString([end, end + ON_M * way]).intersection(room.polygon)
            pieces = shapely.get_parts(course)
            found += [(line.name, one) for one in pieces if one.distance(Point(end)) < TOUCHES_M]
    return found


def _is_line(line: PlanLine) -> bool:
    return line.geometry.geom_type in ("LineString", "MultiLineString")


def flagged_obstacles(
    table: gpd.GeoDataFrame,
    plan: FloorPlan,
    options: DrillOptions,
    read: NDArray[np.float64] | None = None,
) -> tuple[list[Obstacle], list[str]]:
    """Return flagged things with half their footprint added, and a note on mesh left out.

    A mesh under most of a room would leave no place to drill there; it is said instead.

    Parameters
    ----------
    table : geopandas.GeoDataFrame
        Of what was flagged.
    plan : FloorPlan
    options : DrillOptions
    read : ndarray, shape (n, 2), optional
        Places of the readings [m]: where they stand far apart the place of a thing is loosely
        known, and more is kept.
    """
    found, notes = [], []
    places = np.empty((0, 2)) if read is None else np.unique(read, axis=0)
    tree = None if len(places) < 2 else cKDTree(places)
    for row in table.itertuples():
        width = float(row.width_m) if np.isfinite(row.width_m) else 0.0
        if row.kind == "mesh":
            covered = [
                room.name
                for room in plan.rooms
                if room.polygon.intersection(row.geometry).area > MESH_SHARE * room.polygon.area
            ]
            if covered:
                notes.append(
                    f"Flagged mesh {row.anomaly} lies under most of {', '.join(covered)} and "
                    "cannot be kept clear of there: find the bars with a cover meter before each "
                    "hole."
                )
                continue
            width = 0.0
        reach = options.clearance_m + 0.5 * width + _loosely(row.geometry, tree)
        found.append(Obstacle(f"flagged {row.kind} {row.anomaly}", row.geometry, reach, True))
    return found, notes


def _loosely(geometry: BaseGeometry, tree: cKDTree | None) -> float:
    """Return by how much more a thing may lie beside where the readings near it put it [m]."""
    if tree is None or geometry.is_empty:
        return 0.0
    along = shapely.get_coordinates(shapely.segmentize(geometry, ALONG_M))
    away = np.asarray(tree.query(along, k=2)[0])
    apart = float(np.median(away[:, 1])) / SECOND_NEAREST
    return LOOSE_SHARE * max(0.0, apart - CLOSE_M)


def hole_obstacles(
    places: list[tuple[float, float]], words: str, options: DrillOptions
) -> list[Obstacle]:
    """Return holes at places [m] as obstacles."""
    return [
        Obstacle(f"{words} at x {x:.2f} m, y {y:.2f} m", Point(x, y), options.clearance_m)
        for x, y in places
    ]


def forbidden(obstacles: list[Obstacle]) -> BaseGeometry:
    """Return the floor too near an obstacle, with the setting-out tolerance added."""
    sides = 16
    outward = 1.0 / np.cos(np.pi / (4 * sides))
    return unary_union(
        [
            obstacle.geometry.buffer(
                (obstacle.clearance + SETTING_OUT_M) * outward, quad_segs=sides
            )
            for obstacle in obstacles
        ]
    )


def near_services(plan: FloorPlan, x: float, y: float) -> str:
    """Name the services of a plan that a hole at a place [m] is too near to; "" for none.

    Parameters
    ----------
    plan : FloorPlan
    x, y : float
        [m]
    """
    found = [
        (line.geometry.distance(Point(x, y)), f"known service {line.name}".strip())
        for line in plan.lines_of("known-service")
    ]
    near = [f"{gap:.2f} m from {name}" for gap, name in sorted(found) if gap < KNOWN_SERVICE_M]
    return ", ".join(near)


def clear_of(area: BaseGeometry, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which places (n, 2) lie outside an area."""
    if area.is_empty or not len(points):
        return np.ones(len(points), dtype=bool)
    shapely.prepare(area)
    return np.asarray(~shapely.intersects_xy(area, points[:, 0], points[:, 1]))


def objections(obstacles: list[Obstacle], x: float, y: float) -> list[str]:
    """Return why a hole must not stand at a place [m]; empty when nothing is too near."""
    found = []
    for obstacle in obstacles:
        gap = obstacle.gap(x, y)
        if gap < obstacle.clearance - 1e-9:
            found.append(f"{gap:.2f} m from {obstacle.name}, {obstacle.clearance:.2f} m wanted")
    return found
