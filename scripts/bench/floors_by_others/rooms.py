"""Rooms to scan: rectangles, L, U, and two rooms with a door."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

DOOR = 0.9  # m, clear width


@dataclass(frozen=True)
class Rooms:
    """Room polygons, the slab under them (with doorways), door lines and wall lines, metres."""

    polygons: tuple[Polygon, ...]
    slab: shapely.Geometry
    doors: tuple[LineString, ...]
    walls: tuple[LineString, ...]
    shape: str


def make_rooms(rng: np.random.Generator, area: float) -> Rooms:
    """Rooms of about ``area`` m2."""
    shape = rng.choice(["rectangle", "L", "U", "two rooms"], p=[0.45, 0.25, 0.1, 0.2])
    aspect = rng.uniform(1.0, 2.4)
    filled = {"rectangle": 1.0, "L": 0.78, "U": 0.8, "two rooms": 1.0}[shape]
    depth = np.sqrt(area / filled / aspect)
    width = round(depth * aspect, 1)
    depth = round(depth, 1)
    inner: tuple[LineString, ...] = ()
    if shape == "two rooms":
        polygons, slab, inner = _two_rooms(rng, width, depth)
    else:
        polygons = (_one_room(rng, shape, width, depth),)
        slab = polygons[0]
    walls = tuple(wall for room in polygons for wall in _edges(room))
    doors = (*inner, _outer_door(rng, walls))
    return Rooms(polygons=polygons, slab=slab, doors=doors, walls=walls, shape=str(shape))


def _one_room(rng: np.random.Generator, shape: str, width: float, depth: float) -> Polygon:
    whole = box(0, 0, width, depth)
    if shape == "L":
        cut_x = round(width * rng.uniform(0.4, 0.6), 1)
        cut_y = round(depth * rng.uniform(0.4, 0.6), 1)
        return whole.difference(box(width - cut_x, depth - cut_y, width + 1, depth + 1))
    if shape == "U":
        left = round(width * rng.uniform(0.3, 0.4), 1)
        right = round(width * rng.uniform(0.6, 0.7), 1)
        low = round(depth * rng.uniform(0.35, 0.5), 1)
        return whole.difference(box(left, low, right, depth + 1))
    return whole


def _two_rooms(
    rng: np.random.Generator, width: float, depth: float
) -> tuple[tuple[Polygon, ...], shapely.Geometry, tuple[LineString, ...]]:
    thick = float(rng.choice([0.12, 0.2]))
    at = round(width * rng.uniform(0.35, 0.6), 1)
    first, second = box(0, 0, at, depth), box(at + thick, 0, width + thick, depth)
    low = rng.uniform(0.1, max(depth - DOOR - 0.1, 0.15))
    passage = box(at - 0.01, low, at + thick + 0.01, low + DOOR)
    slab = shapely.union_all([first, second, passage])
    threshold = LineString([(at + thick / 2, low), (at + thick / 2, low + DOOR)])
    return (first, second), slab, (threshold,)


def _edges(room: Polygon) -> list[LineString]:
    corners = list(shapely.normalize(room).exterior.coords)
    edges = [LineString(pair) for pair in pairwise(corners)]
    return [edge for edge in edges if edge.length > 1e-6]


def _outer_door(rng: np.random.Generator, walls: tuple[LineString, ...]) -> LineString:
    wall = max(walls, key=lambda w: w.length * rng.uniform(0.5, 1.0))
    start = rng.uniform(0.0, max(wall.length - DOOR, 0.0))
    return LineString([wall.interpolate(start), wall.interpolate(start + DOOR)])
