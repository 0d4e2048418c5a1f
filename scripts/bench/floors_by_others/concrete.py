"""The slab's own moisture before any water came: trend, pours, edges, texture of many scales."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString

from .raster import CELL, Raster, random_field
from .rooms import Rooms


@dataclass(frozen=True)
class Concrete:
    """Deviation (ny, nx) of the reading from the dry level, part of scale, and its texture sd."""

    field: np.ndarray
    texture: float
    day_joint: LineString | None


def draw_concrete(rng: np.random.Generator, raster: Raster, rooms: Rooms) -> Concrete:
    """Texture of 1-4% of scale with what moves the mean across a real slab."""
    texture = float(np.exp(rng.uniform(np.log(0.01), np.log(0.04))))
    field = texture * _texture(rng, raster)
    field += _trend(rng, raster)
    field += _edges(rng, raster, rooms)
    joint = None
    if rng.random() < 0.35:
        joint, step = _day_joint(rng, raster, rooms)
        field += step
    if rng.random() < 0.3:
        field += _thickness(rng, raster)
    if len(rooms.polygons) > 1:  # rooms cured under another cover
        second = shapely.contains_xy(rooms.polygons[1].buffer(0.1), *raster.mesh())
        field += np.where(second, rng.normal(0, 0.02), 0.0)
    return Concrete(field=field, texture=texture, day_joint=joint)


def _texture(rng: np.random.Generator, raster: Raster) -> np.ndarray:
    """Three octaves, stronger in some parts of the floor than in others; sd 1 over the floor."""
    parts = rng.dirichlet([2.0, 3.0, 3.0])
    lengths = (0.05, rng.uniform(0.25, 0.6), rng.uniform(0.9, 2.2))
    field = sum(
        np.sqrt(part) * random_field(rng, raster.shape, length)
        for part, length in zip(parts, lengths, strict=True)
    )
    field = field * np.exp(rng.uniform(0.0, 0.4) * random_field(rng, raster.shape, 2.0))
    return field / field[raster.inside].std()


def _trend(rng: np.random.Generator, raster: Raster) -> np.ndarray:
    """Plane across the floor, 0 to 5% of scale from end to end."""
    x, y = raster.mesh()
    turn = rng.uniform(0, 2 * np.pi)
    along = x * np.cos(turn) + y * np.sin(turn)
    along = (along - along[raster.inside].mean()) / np.ptp(along[raster.inside])
    return rng.uniform(0, 0.05) * along


def _edges(rng: np.random.Generator, raster: Raster, rooms: Rooms) -> np.ndarray:
    """Strip at the walls, drier (draught) or damper (cold edge), e-fold 0.2-0.6 m."""
    edge = shapely.boundary(rooms.slab)
    x, y = raster.mesh()
    distance = shapely.distance(edge, shapely.points(x[raster.inside], y[raster.inside]))
    field = np.zeros(raster.shape)
    field[raster.inside] = rng.normal(0, 0.012) * np.exp(-distance / rng.uniform(0.2, 0.6))
    return field


def _day_joint(
    rng: np.random.Generator, raster: Raster, rooms: Rooms
) -> tuple[LineString, np.ndarray]:
    """Two pours of another age: a step of up to 5% of scale, sharp within a cell or two."""
    x, y = raster.mesh()
    x0, y0, x1, y1 = rooms.slab.bounds
    step = rng.choice([-1, 1]) * rng.uniform(0.01, 0.05)
    if rng.random() < 0.5:
        at = rng.uniform(0.25, 0.75) * (x1 - x0) + x0
        line, side = LineString([(at, y0), (at, y1)]), x - at
    else:
        at = rng.uniform(0.25, 0.75) * (y1 - y0) + y0
        line, side = LineString([(x0, at), (x1, at)]), y - at
    return line, step * 0.5 * np.tanh(side / (1.5 * CELL))


def _thickness(rng: np.random.Generator, raster: Raster) -> np.ndarray:
    """Screed laid to a fall or over a haunch: a thicker part dries later."""
    x, y = raster.mesh()
    turn = rng.uniform(0, 2 * np.pi)
    along = x * np.cos(turn) + y * np.sin(turn)
    at = rng.choice(along[raster.inside])
    return (
        rng.choice([-1, 1])
        * rng.uniform(0.01, 0.04)
        / (1 + np.exp(-(along - at) / rng.uniform(0.15, 0.8)))
    )
