"""Restricted likelihood of a covariance model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack

from moisturemap.geostat.covariance import Covariance

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Restricted:
    """Pieces of a restricted likelihood.

    Attributes
    ----------
    value : float
        Restricted log likelihood.
    gradient : ndarray, shape (3,)
        By log variance, log length, log nugget.
    """

    value: float
    gradient: Array


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
    value, _ = _solve(matrix, values, columns, inverse=False)
    return value


def likelihood_and_gradient(
    distance: Array, values: Array, model: Covariance, noise: tuple[Array, Array], drift: Array
) -> Restricted:
    """Restricted log likelihood and its gradient in log variance, log length, log nugget.

    Parameters
    ----------
    distance : ndarray, shape (n, n)
        Distances between the (isotropic) points [m].
    noise : (ndarray, ndarray), each shape (n,)
        Known noise variance, and the share of the nugget each value carries (1/repeats).
    """
    known, share = noise
    field = model.variance * model.correlation(distance)
    matrix = field.copy()
    matrix[np.diag_indices_from(matrix)] += known + model.nugget * share
    value, weight = _solve(matrix, values, drift, inverse=True)
    slope = model.variance * length_slope(model, distance)
    gradient = -0.5 * np.array([
        np.vdot(weight, field),
        np.vdot(weight, slope),
        float(np.diagonal(weight) @ share) * model.nugget,
    ])  # fmt: skip
    return Restricted(value, gradient)


def length_slope(model: Covariance, distance: Array) -> Array:
    """Return the derivative of the correlation by log length."""
    h = distance / model.length
    if model.kind == "exponential":
        return np.asarray(h * np.exp(-h))
    if model.kind == "matern32":
        s = np.sqrt(3.0) * h
        return np.asarray(s * s * np.exp(-s))
    if model.kind == "matern52":
        s = np.sqrt(5.0) * h
        return np.asarray(s * s * (1.0 + s) / 3.0 * np.exp(-s))
    h = np.minimum(h, 1.0)
    return np.asarray(1.5 * h - 1.5 * h**3)


def _solve(matrix: Array, values: Array, drift: Array, *, inverse: bool) -> tuple[float, Array]:
    """Return the restricted log likelihood and P - a a' (empty without ``inverse``)."""
    factor, info = lapack.dpotrf(matrix, lower=1, clean=1)
    if info != 0:
        return -np.inf, np.zeros_like(matrix)
    half, _ = lapack.dtrtrs(factor, np.column_stack([drift, values]), lower=1)
    columns, target = half[:, :-1], half[:, -1]
    normal = np.linalg.cholesky(columns.T @ columns)
    projected = np.linalg.solve(normal, columns.T @ target)
    fit = target @ target - projected @ projected
    freedom = len(values) - drift.shape[1]
    value = (
        -np.log(np.diagonal(factor)).sum()
        - np.log(np.diagonal(normal)).sum()
        - 0.5 * fit
        - 0.5 * freedom * np.log(2.0 * np.pi)
    )
    if not inverse:
        return float(value), np.empty((0, 0))
    weight, _ = lapack.dpotri(factor, lower=1)
    weight = np.tril(weight) + np.tril(weight, -1).T
    spread = np.linalg.solve(normal, lapack.dtrtrs(factor, columns, lower=1, trans=1)[0].T)
    residual = lapack.dtrtrs(factor, target - columns @ np.linalg.solve(normal.T, projected),
                             lower=1, trans=1)[0]  # fmt: skip
    weight -= spread.T @ spread
    weight -= np.outer(residual, residual)
    return float(value), weight
