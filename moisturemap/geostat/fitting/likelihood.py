"""Restricted likelihood of a covariance model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack

from moisturemap.geostat.covariance.model import Covariance

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Block:
    """Readings whose joint likelihood is used.

    Attributes
    ----------
    distance : ndarray, shape (n, n)
        Distances in coordinates in which the field is isotropic [m].
    values : ndarray, shape (n,)
    noise : ndarray, shape (n,)
        Known noise variance.
    share : ndarray, shape (n,)
        Share of the nugget each value carries (1/repeats).
    drift : ndarray, shape (n, p)
    """

    distance: Array
    values: Array
    noise: Array
    share: Array
    drift: Array

    def likelihood(self, model: Covariance) -> tuple[float, Array]:
        """Restricted log likelihood and its gradient in log variance, length and nugget."""
        field, slope = model.with_slope(self.distance)
        field *= model.variance
        slope *= model.variance
        matrix = field.copy()
        matrix.ravel()[:: len(matrix) + 1] += self.noise + model.nugget * self.share
        solved = _Solved.of(matrix, self.values, self.drift)
        if solved is None:
            return -np.inf, np.zeros(3)
        inverse, _ = lapack.dpotri(solved.factor, lower=1, overwrite_c=1)
        spread, residual = solved.spread, solved.residual
        diagonal = np.diagonal(inverse)
        vectors = np.vstack([spread, residual])
        by_nugget = float((diagonal - (vectors**2).sum(axis=0)) @ self.share) * model.nugget

        def trace(change: Array) -> float:
            quadratic = float(np.vdot(vectors @ change, vectors))
            twice = 2.0 * float(np.vdot(inverse.T, change))
            return twice - float(diagonal @ np.diagonal(change)) - quadratic

        return solved.value, -0.5 * np.array([trace(field), trace(slope), by_nugget])


@dataclass(frozen=True)
class _Solved:
    """Generalised least squares of one system.

    ``spread`` (p, n) and ``residual`` (n,) are K^-1F against the root of F'K^-1F, and K^-1 r.
    """

    value: float
    factor: Array
    spread: Array
    residual: Array

    @classmethod
    def of(cls, matrix: Array, values: Array, drift: Array) -> _Solved | None:
        """Solve, or return None when the matrix is not positive definite."""
        factor, info = lapack.dpotrf(matrix.T, lower=1, clean=1, overwrite_a=1)
        if info != 0:
            return None
        half, _ = lapack.dtrtrs(factor, np.column_stack([drift, values]), lower=1)
        columns, target = half[:, :-1], half[:, -1]
        normal = np.linalg.cholesky(columns.T @ columns)
        projected = np.linalg.solve(normal, columns.T @ target)
        left = target - columns @ np.linalg.solve(normal.T, projected)
        freedom = len(values) - drift.shape[1]
        value = (
            -np.log(np.diagonal(factor)).sum()
            - np.log(np.diagonal(normal)).sum()
            - 0.5 * float(left @ left)
            - 0.5 * freedom * np.log(2.0 * np.pi)
        )
        back = lapack.dtrtrs(factor, np.column_stack([columns, left]), lower=1, trans=1)[0]
        return cls(float(value), factor, np.linalg.solve(normal, back[:, :-1].T), back[:, -1])


def restricted_log_likelihood(
    points: Array,
    values: Array,
    model: Covariance,
    noise: Array | None = None,
    drift: Array | None = None,
) -> float:
    """Restricted log likelihood (REML) of a covariance with drift estimated.

    -log L = 1/2 log|K| + 1/2 log|F'K^-1F| + 1/2 r'K^-1r + (n-p)/2 log 2 pi with r the generalised
    least squares residuals (Patterson and Thompson, Biometrika 58 (1971) 545; Kitanidis, Water
    Resour. Res. 19 (1983) 909; without the constant 1/2 log|F'F| some programs add).

    Parameters
    ----------
    points : ndarray, shape (n, d)
    values : ndarray, shape (n,)
    model : Covariance
    noise : ndarray, shape (n,), optional
        Noise variance of each value; ``model.nugget`` for each when not given.
    drift : ndarray, shape (n, p), optional
        Drift columns; a constant when not given.
    """
    variance = np.full(len(points), model.nugget) if noise is None else noise
    matrix = model.between(points, points)
    matrix[np.diag_indices_from(matrix)] += variance
    columns = np.ones((len(points), 1)) if drift is None else drift
    solved = _Solved.of(matrix, values, columns)
    return -np.inf if solved is None else solved.value
