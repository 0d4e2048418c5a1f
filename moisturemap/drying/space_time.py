"""Visits read at different places, joined by a space-time covariance.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, lapack, solve_triangular
from scipy.optimize import minimize
from scipy.spatial.distance import cdist

from moisturemap.errors import NotEnoughData
from moisturemap.geostat import Covariance

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

MOST_FITTED = 420
"""Readings the likelihood is computed from; evenly through all of them."""

MOST_KRIGED = 1600
"""Readings that are kriged at once; of more, so many are drawn at random."""

CHUNK = 1024
AVERAGED = 400
"""Most places averaged at once (our choice, for pace)."""


@dataclass(frozen=True, slots=True)
class SpaceTimeModel:
    """Covariance of readings at (place, visit).

    C = shared(h) + [same visit] change(h) + [same reading] nugget. ``shared`` is what a place keeps
    over the visits: texture, metal, the moisture that stays. ``change`` is new on each visit. It is
    the sum of a purely spatial and a separable space-time part, the simplest member of the
    product-sum family (De Cesare, Myers and Posa, Statist. Probab. Lett. 51 (2001) 9).

    Attributes
    ----------
    shared, change : Covariance
        Without nugget.
    nugget : float
        Variance of one reading about the field [reading units squared].
    """

    shared: Covariance
    change: Covariance
    nugget: float

    def between(self, one: Array, visit: Index, other: Array, other_visit: Index) -> Array:
        """Covariance (n, m) of the noise-free field at (place, visit) pairs."""
        distance = cdist(one, other)
        same = visit[:, None] == other_visit[None, :]
        shared = self.shared.variance * self.shared.correlation(distance)
        change = self.change.variance * self.change.correlation(distance)
        return np.asarray(shared + same * change)


def fit_space_time(places: Array, visit: Index, values: Array, step: float) -> SpaceTimeModel:
    """Fit the covariance by restricted likelihood, one unknown mean a visit.

    Parameters
    ----------
    places : ndarray, shape (n, d)
        Kriging coordinates [m].
    visit : ndarray of int, shape (n,)
    values : ndarray, shape (n,)
    step : float
        Step of the display; bounds the nugget from below.
    """
    chosen = np.linspace(0, len(values) - 1, min(len(values), MOST_FITTED)).round().astype(int)
    places, visit, values = places[chosen], visit[chosen], values[chosen]
    columns = (visit[:, None] == np.unique(visit)[None, :]).astype(float)
    centred = values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
    spread = max(float(centred.std()), 1e-6)
    distance = cdist(places, places)
    near = float(np.median(np.where(distance > 0, distance, np.inf).min(axis=1)))
    far = max(float(distance.max()), 4.0 * near)
    floor = max(step**2 / 12.0, 1e-6 * spread**2)

    same = visit[:, None] == visit[None, :]

    def misfit(log: Array) -> tuple[float, Array]:
        # a weak pull to sensible sizes keeps the search off the edges
        away = (log - start) / 2.0
        value, slope = _restricted_log_likelihood(
            _model(log, floor), (distance, same), values, columns
        )
        return 0.5 * float(away @ away) - value, away / 2.0 - slope

    start = np.log([spread**2, 0.2 * far, 0.5 * spread**2, 0.2 * far, 0.1 * spread**2])
    bounds = [
        (np.log(1e-4 * spread**2), np.log(30 * spread**2)),
        (np.log(near), np.log(far)),
        (np.log(1e-4 * spread**2), np.log(30 * spread**2)),
        (np.log(near), np.log(far)),
        (np.log(floor), np.log(4 * spread**2 + floor)),
    ]
    start = np.clip(start, [low for low, _ in bounds], [high for _, high in bounds])
    found = minimize(
        misfit, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 40}
    )
    return _model(found.x, floor)


def _model(log: Array, floor: float) -> SpaceTimeModel:
    sill, length, change, change_length, nugget = np.exp(log)
    return SpaceTimeModel(
        Covariance("matern32", float(sill), float(length)),
        Covariance("matern32", float(change), float(change_length)),
        float(max(nugget, floor)),
    )


def _restricted_log_likelihood(
    model: SpaceTimeModel, pairs: tuple[Array, Mask], values: Array, columns: Array
) -> tuple[float, Array]:
    """Restricted log likelihood and its gradient in the five log parameters.

    ``pairs`` holds the distance of each two readings and whether they are of one visit.
    """
    distance, same = pairs
    parts = []
    for covariance, where in ((model.shared, 1.0), (model.change, same)):
        field, slope = covariance.with_slope(distance)
        parts += [covariance.variance * field * where, covariance.variance * slope * where]
    matrix = parts[0] + parts[2]
    matrix.ravel()[:: len(matrix) + 1] += model.nugget
    try:
        factor = np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        return -1e12, np.zeros(5)
    half = solve_triangular(factor, np.column_stack([columns, values]), lower=True)
    drift, target = half[:, :-1], half[:, -1]
    root = np.linalg.cholesky(drift.T @ drift)
    projected = solve_triangular(root, drift.T, lower=True)
    residual = target - projected.T @ (projected @ target)
    log_det = 2.0 * (np.log(np.diagonal(factor)).sum() + np.log(np.diagonal(root)).sum())
    back = np.vstack([projected, residual])
    vectors = solve_triangular(factor, back.T, lower=True, trans=1).T
    inverse = lapack.dpotri(factor.T, lower=0)[0].T
    inverse = np.tril(inverse) + np.tril(inverse, -1).T
    inverse -= vectors.T @ vectors
    change = [float(np.vdot(inverse, part)) for part in parts]
    slope = -0.5 * np.array([*change, model.nugget * float(np.trace(inverse))])
    return float(-0.5 * (log_det + residual @ residual)), slope


class SpaceTimeKriging:
    """Kriges a weighted sum of visits from readings that stand elsewhere on each visit.

    Parameters
    ----------
    places : ndarray, shape (n, d)
    visit : ndarray of int, shape (n,)
        Index into ``weights``.
    values : ndarray, shape (n,)
    model : SpaceTimeModel
    weights : ndarray, shape (visits,)
        Sum to zero: what a place keeps cancels in the target.
    """

    def __init__(
        self, places: Array, visit: Index, values: Array, model: SpaceTimeModel, weights: Array
    ) -> None:
        if abs(float(weights.sum())) > 1e-9 * np.abs(weights).max():
            message = "the weights of a contrast sum to zero"
            raise NotEnoughData(message)
        if len(values) > MOST_KRIGED:
            rng = np.random.default_rng(MOST_KRIGED)
            chosen = np.sort(rng.choice(len(values), MOST_KRIGED, replace=False))
            places, visit, values = places[chosen], visit[chosen], values[chosen]
        self.places, self.visit, self.weights, self.model = places, visit, weights, model
        matrix = model.between(places, visit, places, visit)
        matrix[np.diag_indices_from(matrix)] += model.nugget
        self._factor = cho_factor(matrix, lower=True, overwrite_a=True)
        columns = (visit[:, None] == np.arange(len(weights))[None, :]).astype(float)
        self._solved = cho_solve(self._factor, columns)
        self._normal = columns.T @ self._solved
        self._means = np.linalg.solve(self._normal, self._solved.T @ values)
        self._dual = cho_solve(self._factor, values - columns @ self._means)

    def predict(self, cells: Array) -> tuple[Array, Array]:
        """Mean and sd of the weighted sum at places (m, d)."""
        mean, sd = np.empty(len(cells)), np.empty(len(cells))
        prior = self.model.change.variance * float(self.weights @ self.weights)
        for begin in range(0, len(cells), CHUNK):
            part = slice(begin, begin + CHUNK)
            cross = self._cross(cells[part])
            mean[part] = cross @ self._dual + self.weights @ self._means
            half = solve_triangular(self._factor[0], cross.T, lower=True)
            gap = self.weights[:, None] - self._solved.T @ cross.T
            variance = prior - (half**2).sum(axis=0)
            variance += (gap * np.linalg.solve(self._normal, gap)).sum(axis=0)
            sd[part] = np.sqrt(np.maximum(variance, 0.0))
        return mean, sd

    def average(self, cells: Array) -> tuple[float, float]:
        """Mean of the weighted sum over places (m, d) and its sd."""
        chosen = np.linspace(0, len(cells) - 1, min(len(cells), AVERAGED)).round().astype(int)
        cells = cells[chosen]
        cross = self._cross(cells).mean(axis=0)
        change = replace(self.model.change)
        within = change.variance * float(change.correlation(cdist(cells, cells)).mean())
        half = solve_triangular(self._factor[0], cross, lower=True)
        gap = self.weights - self._solved.T @ cross
        variance = within * float(self.weights @ self.weights) - float(half @ half)
        variance += float(gap @ np.linalg.solve(self._normal, gap))
        mean = float(cross @ self._dual + self.weights @ self._means)
        return mean, float(np.sqrt(max(variance, 0.0)))

    def _cross(self, cells: Array) -> Array:
        """Covariance (m, n) of the weighted sum at places with the readings."""
        change = self.model.change
        fall = change.variance * change.correlation(cdist(cells, self.places))
        return np.asarray(fall * self.weights[self.visit][None, :])
