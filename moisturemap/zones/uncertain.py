"""Conditional draws where it matters: the cells that are neither surely wet nor surely dry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from moisturemap.mapping import MoistureSurface
from moisturemap.zones.excursion import excursion_function, joint_threshold
from moisturemap.zones.options import ZoneOptions
from moisturemap.zones.thinning import block_side, thin

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

CERTAIN = 4.0
"""Beyond this many sd from the level a cell counts as decided (one-sided probability 3e-5)."""


def score(surface: MoistureSurface, level: float) -> Array:
    """Return (mean - level) / sd on the map, shape (ny, nx); NaN off the map.

    A smooth quantity to contour: its level sets are those of the probability of being wet.
    """
    mean = surface.levelled_mean
    sd = surface.sd
    known = np.isfinite(mean)
    if not known.any():
        return np.full_like(mean, np.nan)
    floor = 1e-6 * max(float(np.abs(mean[known] - level).max()), 1e-12)
    return np.asarray((mean - level) / np.maximum(sd, floor))


@dataclass(frozen=True, slots=True)
class UncertainPlaces:
    """Places that stand for blocks of undecided cells.

    Attributes
    ----------
    row, column : ndarray of int, shape (m,)
        The cell each place is the centre of.
    weight : ndarray, shape (m,)
        Undecided cells it stands for.
    score : ndarray, shape (m,)
    draws : ndarray, shape (count, m)
        Joint conditional draws of the surface.
    """

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    weight: Array
    score: Array
    draws: Array


def uncertain_places(surface: MoistureSurface, z: Array, options: ZoneOptions) -> UncertainPlaces:
    """Thin the undecided cells to affordable places and draw the surface there.

    Parameters
    ----------
    surface : MoistureSurface
    z : ndarray, shape (ny, nx)
        From :func:`score`.
    options : ZoneOptions
    """
    undecided = np.abs(z) < CERTAIN
    side = block_side(undecided, options.places)
    rows, columns, weights, draws = [], [], [], []
    for index, domain in enumerate(surface.domains):
        here = undecided & (surface.grid.domain == index)
        if domain.key not in surface.fields or not here.any():
            continue
        row, column, weight = thin(here, side)
        places = np.column_stack([surface.grid.x[column], surface.grid.y[row]])
        field = surface.fields[domain.key]
        draws.append(field.draws(places, options.draws, options.seed + index))
        rows.append(row)
        columns.append(column)
        weights.append(weight)
    if not rows:
        empty = np.empty(0, dtype=np.intp)
        return UncertainPlaces(empty, empty, np.empty(0), np.empty(0), np.empty((options.draws, 0)))
    row, column = np.concatenate(rows), np.concatenate(columns)
    return UncertainPlaces(
        row, column, np.concatenate(weights), z[row, column], np.concatenate(draws, axis=1)
    )


def thresholds(places: UncertainPlaces, level: float, confidence: float) -> tuple[float, float]:
    """Return the scores that bound the surely wet set (from below) and the dry (from above).

    Cells beyond ``CERTAIN`` belong to their set in any case.
    """
    if not places.row.size:
        return 0.0, 0.0
    p_wet = ndtr(places.score)
    p_dry = ndtr(-places.score)
    wet = excursion_function(places.draws, level, p_wet)
    dry = excursion_function(places.draws, level, p_dry, above=False)
    lowest_wet = joint_threshold(wet, p_wet, confidence)
    lowest_dry = joint_threshold(dry, p_dry, confidence)
    sure = places.score[p_wet >= lowest_wet].min() if np.isfinite(lowest_wet) else CERTAIN
    surely_dry = places.score[p_dry >= lowest_dry].max() if np.isfinite(lowest_dry) else -CERTAIN
    return float(sure), float(surely_dry)
