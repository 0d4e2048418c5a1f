"""Uncertainty of a fitted covariance as a handful of weighted parameter points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack
from scipy.spatial.distance import cdist

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.prior import Prior
from moisturemap.geostat.observations import Observations

Array = NDArray[np.float64]
Points = tuple[tuple[float, Covariance], ...]

LENGTHS, RATIOS, SCALES = 9, 7, 7
"""Grid of practical range, nugget to variance ratio, and variance."""


def points_wanted(count: int) -> int:
    """How many parameter points a fit of so many readings carries."""
    if count <= 40:
        return 24
    if count <= 120:
        return 9
    return 4 if count <= 220 else 1


def posterior_points(
    data: Observations,
    drift: Array,
    starts: dict[str, Covariance],
    prior: Prior,
    wanted: int | None,
) -> Points | None:
    """Weighted parameter points, or None when the mode is enough.

    The posterior is summed over a grid of kind, range, nugget ratio and variance (Handcock and
    Stein, Technometrics 35 (1993) 403, integrate the same way) and then drawn by systematic
    resampling into few points of equal weight.
    """
    count = points_wanted(len(data.points)) if wanted is None else wanted
    if count <= 1:
        return None
    candidates: list[Covariance] = []
    weights: list[float] = []
    for kind, mode in starts.items():
        for model, log_density in _grid(kind, mode, data, drift, prior):
            candidates.append(model)
            weights.append(log_density)
    density = np.exp(np.array(weights) - np.max(weights))
    return _resampled(candidates, density / density.sum(), count)


def _resampled(candidates: list[Covariance], density: Array, count: int) -> Points:
    """Few equally weighted points that stand for many weighted ones, in grid order."""
    edges = np.cumsum(density)
    chosen = np.searchsorted(edges, (np.arange(count) + 0.5) / count)
    chosen = np.minimum(chosen, len(candidates) - 1)
    index, times = np.unique(chosen, return_counts=True)
    return tuple((float(n / count), candidates[i]) for i, n in zip(index, times, strict=True))


def _grid(
    kind: str, mode: Covariance, data: Observations, drift: Array, prior: Prior
) -> list[tuple[Covariance, float]]:
    """Parameter points of one kind with their log posterior."""
    bounds = prior.bounds(kind)
    lengths = np.exp(np.linspace(bounds[1, 0], bounds[1, 1], LENGTHS))
    middle = np.clip(np.log(mode.nugget / mode.variance), -5.0, 2.0)
    ratios = np.exp(middle + np.linspace(-3.0, 3.0, RATIOS))
    known = mode.nugget / data.repeats + data.noise
    shares = known / known.mean()
    extra = float(data.noise.mean()) if data.noise.any() else 0.0
    profile = _Profile(cdist(data.points, data.points), data.values - prior.centre, drift, shares)
    found = []
    for length in lengths:
        unit = Covariance(kind, 1.0, float(length)).correlation(profile.distance)
        for ratio in ratios:
            base, misfit, freedom = profile.pieces(unit, float(ratio))
            peak = misfit / freedom
            for step in np.linspace(-2.5, 2.5, SCALES):
                variance = float(
                    np.clip(peak * np.exp(step * np.sqrt(2.0 / freedom)), *np.exp(bounds[0]))
                )
                nugget = max(ratio * variance - extra, np.exp(bounds[2, 0]))
                model = Covariance(kind, variance, float(length), float(nugget))
                value = base - 0.5 * freedom * np.log(variance) - 0.5 * misfit / variance
                found.append((model, value + prior.log_density(model)))
    return found


@dataclass(frozen=True)
class _Profile:
    """Restricted likelihood with the variance kept apart."""

    distance: Array
    values: Array
    drift: Array
    shares: Array

    def pieces(self, unit: Array, ratio: float) -> tuple[float, float, int]:
        """Log determinants, weighted misfit and degrees of freedom at K = unit + ratio * noise."""
        matrix = unit.copy()
        matrix.ravel()[:: len(matrix) + 1] += ratio * self.shares
        factor, _ = lapack.dpotrf(matrix.T, lower=1, clean=1, overwrite_a=1)
        half, _ = lapack.dtrtrs(factor, np.column_stack([self.drift, self.values]), lower=1)
        columns, target = half[:, :-1], half[:, -1]
        normal = np.linalg.cholesky(columns.T @ columns)
        projected = np.linalg.solve(normal, columns.T @ target)
        misfit = max(float(target @ target - projected @ projected), 1e-300)
        base = -np.log(np.diagonal(factor)).sum() - np.log(np.diagonal(normal)).sum()
        return float(base), misfit, len(self.values) - self.drift.shape[1]
