"""Things under the floor that disturb a scanner: pipes, loops, mesh, plates, boxes, salts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, Point, box
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan
from moisturemap.synthetic.recipe import FloorRecipe

Array = NDArray[np.float64]

SERVICE_KINDS = ("pipe", "loop", "mesh", "plate", "box", "salts")


@dataclass(frozen=True)
class Service:
    """One embedded thing: its reading rises by ``strength`` over it and falls as a Gaussian.

    Attributes
    ----------
    kind : str
        One of ``SERVICE_KINDS``.
    geometry : shapely geometry
        Centre line of pipes, loops and bars; outline of plates, boxes and salts [m].
    strength : float
        Rise of the reading right over it [reading].
    width : float
        Standard deviation of the fall beside it, the footprint as seen from above [m].
    """

    kind: str
    geometry: BaseGeometry
    strength: float
    width: float

    def at(self, points: Array) -> Array:
        """Rise of the reading at places (n, 2) [m]."""
        distance = shapely.distance(shapely.points(np.atleast_2d(points)), self.geometry)
        return np.asarray(self.strength * np.exp(-0.5 * (distance / self.width) ** 2))


def _place(plan: FloorPlan, margin: float, rng: np.random.Generator) -> tuple[float, float]:
    west, south, east, north = plan.bounds
    inner = plan.outline.buffer(-margin)
    while True:
        x, y = float(rng.uniform(west, east)), float(rng.uniform(south, north))
        if inner.covers(Point(x, y)):
            return x, y


def _longest(geometry: BaseGeometry) -> BaseGeometry:
    return max(getattr(geometry, "geoms", [geometry]), key=lambda part: part.length)


def _straight(plan: FloorPlan, rng: np.random.Generator) -> BaseGeometry:
    while True:
        x, y = _place(plan, 0.4, rng)
        angle = rng.choice([0.0, np.pi / 2]) if rng.random() < 0.6 else rng.uniform(0, np.pi)
        reach = 50.0 * np.array([np.cos(angle), np.sin(angle)])
        chord = LineString([(x - reach[0], y - reach[1]), (x + reach[0], y + reach[1])])
        line = _longest(chord.intersection(plan.outline.convex_hull))
        if line.length < 2.5:
            continue
        length = float(rng.uniform(max(2.5, 0.5 * line.length), line.length))
        start = float(rng.uniform(0, line.length - length))
        piece = shapely.ops.substring(line, start, start + length)
        if piece.intersection(plan.outline).length > 2.0:
            return piece


def _bent(plan: FloorPlan, rng: np.random.Generator) -> BaseGeometry:
    while True:
        x, y = _place(plan, 0.5, rng)
        turn = rng.uniform(0, 2 * np.pi) if rng.random() < 0.3 else rng.integers(4) * np.pi / 2
        one = np.array([np.cos(turn), np.sin(turn)])
        other = np.array([-one[1], one[0]])
        ends = [np.array([x, y]) + float(rng.uniform(2.0, 4.0)) * way for way in (one, other)]
        line = LineString([ends[0], (x, y), ends[1]])
        inside = line.intersection(plan.outline.convex_hull)
        if inside.geom_type == "LineString" and inside.length > 3.5:
            return inside


def _loop(plan: FloorPlan, rng: np.random.Generator) -> BaseGeometry:
    room = plan.rooms[int(rng.integers(len(plan.rooms)))].polygon
    west, south, east, north = room.bounds
    pitch = float(rng.choice([0.4, 0.5, 0.6]))
    rows = np.arange(south + 0.4, north - 0.3, pitch)
    places = []
    for count, y in enumerate(rows):
        ends = [(west + 0.3, y), (east - 0.3, y)]
        places += ends if count % 2 == 0 else ends[::-1]
    return LineString(places).intersection(room)


def mesh_bars(plan: FloorPlan, pitch: float, start: tuple[float, float]) -> MultiLineString:
    """Lay bars both ways at a pitch [m] over the bounds of a plan, from a first crossing [m]."""
    west, south, east, north = plan.bounds
    columns = np.arange(west + start[0] % pitch, east, pitch)
    rows = np.arange(south + start[1] % pitch, north, pitch)
    bars = [LineString([(x, south), (x, north)]) for x in columns]
    bars += [LineString([(west, y), (east, y)]) for y in rows]
    return MultiLineString(bars)


def _patch(plan: FloorPlan, low: float, high: float, rng: np.random.Generator) -> BaseGeometry:
    x, y = _place(plan, 0.3, rng)
    half_x, half_y = 0.5 * rng.uniform(low, high, 2)
    return box(x - half_x, y - half_y, x + half_x, y + half_y)


def draw_services(
    plan: FloorPlan, recipe: FloorRecipe, rng: np.random.Generator
) -> tuple[Service, ...]:
    """Draw what is embedded in the floor of a recipe."""

    def strength() -> float:
        return recipe.noise_sd * float(rng.uniform(*recipe.strength))

    width = recipe.footprint
    found = [Service("pipe", _straight(plan, rng), strength(), width) for _ in range(recipe.pipes)]
    found += [
        Service("pipe", _bent(plan, rng), strength(), width) for _ in range(recipe.bent_pipes)
    ]
    found += [Service("loop", _loop(plan, rng), strength(), width) for _ in range(recipe.loops)]
    found += [
        Service("plate", _patch(plan, 0.15, 0.45, rng), strength(), width)
        for _ in range(recipe.plates)
    ]
    found += [
        Service("box", _patch(plan, 0.2, 0.3, rng), 1.5 * strength(), width)
        for _ in range(recipe.boxes)
    ]
    found += [
        Service("salts", _patch(plan, 0.8, 1.6, rng), strength(), 0.4) for _ in range(recipe.salts)
    ]
    if recipe.mesh_pitch > 0:
        bars = mesh_bars(plan, recipe.mesh_pitch, tuple(rng.uniform(0, recipe.mesh_pitch, 2)))
        found.append(Service("mesh", bars, strength(), min(width, 0.3 * recipe.mesh_pitch)))
    return tuple(found)
