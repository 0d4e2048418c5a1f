"""The moisture of an invented floor, known at every place and without noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan
from moisturemap.synthetic.recipe import FloorRecipe

Array = NDArray[np.float64]

WAVES = 600
"""Plane waves that make up the texture."""


@dataclass(frozen=True)
class Texture:
    """A Matern-3/2 field as a sum of plane waves, seen through the scanner's footprint.

    The wave vectors are drawn from the field's spectral density, a bivariate t density with
    3 degrees of freedom and scale 1/length (Rahimi & Recht 2007; Matern's density in Rasmussen &
    Williams 2006, eq. 4.15). A Gaussian footprint of sd s damps a wave k by exp(-|k|^2 s^2/2).
    """

    waves: Array
    phases: Array
    amplitudes: Array

    @classmethod
    def draw(cls, recipe: FloorRecipe, rng: np.random.Generator) -> Texture:
        """Draw the texture of a recipe."""
        waves = rng.standard_normal((WAVES, 2)) / recipe.texture_length
        waves *= np.sqrt(3.0 / rng.chisquare(3.0, (WAVES, 1)))
        damped = np.exp(-0.5 * (waves**2).sum(axis=1) * recipe.footprint**2)
        amplitudes = recipe.texture_sd * np.sqrt(2.0 / WAVES) * damped
        return cls(waves, rng.uniform(0, 2 * np.pi, WAVES), amplitudes)

    def at(self, points: Array) -> Array:
        """Texture [reading] at places (n, 2) [m]."""
        found = np.empty(len(points))
        for start in range(0, len(points), 4096):
            part = slice(start, start + 4096)
            found[part] = np.cos(points[part] @ self.waves.T + self.phases) @ self.amplitudes
        return found


@dataclass(frozen=True)
class Plume:
    """Wet floor round a source: ``rise`` [reading] at the source, falling over ``reach`` [m]."""

    kind: str
    source: BaseGeometry
    rise: float
    reach: float

    def at(self, points: Array) -> Array:
        """Rise above the base [reading] at places (n, 2) [m]."""
        distance = shapely.distance(shapely.points(points), self.source)
        if self.kind == "burst":
            edge = 0.3 * self.reach
            fall = (1 + np.exp(-self.reach / edge)) / (1 + np.exp((distance - self.reach) / edge))
        elif self.kind == "corner":
            fall = np.exp(-(np.hypot(distance, 0.2) - 0.2) / self.reach)
        else:
            fall = np.exp(-0.5 * (distance / self.reach) ** 2)
        return np.asarray(self.rise * fall)


@dataclass(frozen=True)
class MoistureField:
    """Base, trend, texture and plumes; plumes and trend dry, the texture of the material stays."""

    base: float
    trend: tuple[float, float]
    centre: tuple[float, float]
    texture: Texture
    plumes: tuple[Plume, ...]

    def at(self, points: Array, wetness: float = 1.0) -> Array:
        """Noise-free reading at places (n, 2) [m], with the plumes at a share ``wetness``."""
        points = np.atleast_2d(np.asarray(points, dtype=float))
        values = self.base + (points - self.centre) @ np.asarray(self.trend)
        values = values + self.texture.at(points)
        for plume in self.plumes:
            values = values + wetness * plume.at(points)
        return np.asarray(values)


def _wall_piece(plan: FloorPlan, length: float, rng: np.random.Generator) -> LineString:
    ring = plan.outline.convex_hull.exterior
    start = float(rng.uniform(0, ring.length))
    pieces = [ring.interpolate((start + step) % ring.length) for step in np.linspace(0, length, 9)]
    return LineString(pieces)


def _draw_plume(kind: str, plan: FloorPlan, recipe: FloorRecipe, rng: np.random.Generator) -> Plume:
    west, south, east, north = plan.bounds
    rise = recipe.plume_rise * float(rng.uniform(0.8, 1.2))
    if kind == "edge":
        return Plume(
            kind,
            _wall_piece(plan, float(rng.uniform(1.0, 3.0)), rng),
            rise,
            float(rng.uniform(0.6, 1.1)),
        )
    if kind == "corner":
        ring = shapely.get_coordinates(plan.outline.convex_hull)
        corner = Point(ring[rng.integers(len(ring))])
        return Plume(kind, corner, rise, float(rng.uniform(1.0, 1.8)))
    if kind == "joint":
        x = float(rng.uniform(west + 0.3 * (east - west), east - 0.3 * (east - west)))
        joint = LineString([(x, south), (x, north)])
        return Plume(kind, joint, rise, float(rng.uniform(0.5, 0.9)))
    while True:
        place = Point(rng.uniform(west, east), rng.uniform(south, north))
        if plan.outline.covers(place):
            return Plume(kind, place, rise, float(rng.uniform(0.7, 1.4)))


def draw_field(plan: FloorPlan, recipe: FloorRecipe, rng: np.random.Generator) -> MoistureField:
    """Draw the moisture field of a recipe on its plan."""
    west, south, east, north = plan.bounds
    plumes = tuple(_draw_plume(kind, plan, recipe, rng) for kind in recipe.plumes)
    centre = (0.5 * (west + east), 0.5 * (south + north))
    return MoistureField(recipe.base, recipe.trend, centre, Texture.draw(recipe, rng), plumes)
