"""The invented scanner: where it reads, what it shows, and how people mis-key it."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.floorplan import FloorPlan
from moisturemap.synthetic.recipe import FloorRecipe

Array = NDArray[np.float64]

WALL_GAP = 0.1
"""How near to a wall a scanner can be placed [m]."""


def scan_grid(
    plan: FloorPlan, recipe: FloorRecipe, rng: np.random.Generator
) -> tuple[Array, NDArray[np.intp]]:
    """Places read (n, 2) [m] in walking order, and the row of the grid each belongs to."""
    west, south, east, north = plan.bounds
    x = np.arange(west + WALL_GAP, east, recipe.spacing)
    y = np.arange(south + WALL_GAP, north, recipe.spacing)
    nodes, row = np.meshgrid(x, y), np.repeat(np.arange(y.size), x.size)
    places = np.column_stack([nodes[0].ravel(), nodes[1].ravel()])
    inner = shapely.union_all([room.polygon.buffer(-0.05) for room in plan.rooms])
    inside = shapely.covers(inner, shapely.points(places))
    places, row = places[inside], row[inside]
    if recipe.jitter > 0:
        moved = places + recipe.jitter * rng.standard_normal(places.shape)
        kept = shapely.covers(inner, shapely.points(moved))
        places = np.where(kept[:, None], moved, places)
    return np.round(places, 3), row


def with_repeats(count: int, share: float, rng: np.random.Generator) -> NDArray[np.intp]:
    """Index of the place each reading is taken at; some places are read twice."""
    again = np.sort(rng.choice(count, round(share * count), replace=False))
    return np.sort(np.concatenate([np.arange(count), again])).astype(np.intp)


def shift_row(values: Array, row: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.intp]:
    """Key one long row in one place too far along, in place; return the readings it moved."""
    rows, counts = np.unique(row, return_counts=True)
    long = rows[counts >= 0.6 * counts.max()]
    chosen = np.flatnonzero(row == rng.choice(long))
    values[chosen] = np.roll(values[chosen], 1)
    return chosen


def mis_key(
    values: Array, count: int, recipe: FloorRecipe, rng: np.random.Generator
) -> NDArray[np.intp]:
    """Mis-key some values by far, in place; return which."""
    low, high = recipe.scale
    chosen = rng.choice(values.size, min(count, values.size), replace=False).astype(np.intp)
    for one in chosen:
        step = recipe.noise_sd * rng.uniform(10, 20) * rng.choice([-1, 1])
        wrong = values[one] + step
        if not low <= wrong <= high:
            wrong = values[one] - step
        values[one] = np.clip(wrong, low, high)
    return chosen


def show(values: Array, recipe: FloorRecipe) -> tuple[Array, NDArray[np.str_]]:
    """Return what the display shows: rounded and clipped to the scale, with censoring marked."""
    low, high = recipe.scale
    shown = values if recipe.step <= 0 else recipe.step * np.round(values / recipe.step)
    censored = np.where(shown >= high, "above", np.where(shown < low, "below", ""))
    return np.clip(shown, low, high), censored
