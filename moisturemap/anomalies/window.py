"""The floor about one candidate: its covariance, wet neighbours included, and its likelihood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dtrtrs
from scipy.spatial.distance import cdist
from scipy.special import log_ndtr

from moisturemap.anomalies.calm import CalmFloor, matern
from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]

STRENGTHS = (0.1, 0.3)
"""Sds of the half-normal priors on the strength of a thing [share of the scale] (our choice)."""

NEAR_M, NEAR_SPACINGS = 0.7, 1.1
"""How far wet floor makes its surroundings rough: sd of a Gaussian weight [m], [spacings]."""

WET_SHARES = ((0.6, 1.3), (0.25, 0.6))
"""Shares and lengths [m] of the smooth parts of the roughness of wet floor (our choice)."""

WET_FINE = (0.15, 0.5)
"""Share and length [m] of its rough part, a Matern-3/2."""


def wet_covariance(distance: Array) -> Array:
    """Correlation of wet floor at distances [m]."""
    found = WET_FINE[0] * matern(distance, WET_FINE[1])
    for share, length in WET_SHARES:
        found = found + share * np.exp(-0.5 * (distance / length) ** 2)
    return np.asarray(found)


def _solved(root: Array, columns: Array) -> Array:
    """Solve for columns (m,) or (m, k) with a lower triangle (m, m) of rows next to each other.

    LAPACK's own, for in windows of some hundred readings what wraps it takes longer than it does.
    """
    return np.asarray(dtrtrs(root.T, columns, lower=0, trans=1)[0])


def unknown_level(calm: CalmFloor) -> float:
    """Variance that leaves the level of a window free [reading^2]."""
    return 100.0 * calm.texture + 25.0 * calm.noise


@dataclass(frozen=True)
class Fitted:
    """A factor of a window's covariance and what it makes of the readings.

    Attributes
    ----------
    root : ndarray, shape (m, m)
        Lower Cholesky factor.
    white : ndarray, shape (m,)
        Readings whitened by it.
    log_likelihood : float
        But for a constant.
    """

    root: Array
    white: Array
    log_likelihood: float

    def project(self, columns: Array) -> tuple[Array, Array, Array]:
        """Whitened columns, l'K^-1 l and l'K^-1 z for columns l (m, k): (m, k), (k,), (k,)."""
        white = _solved(self.root, columns)
        return white, (white**2).sum(axis=0) + 1e-12, white.T @ self.white


@dataclass(frozen=True)
class Window:
    """Readings about a candidate.

    Attributes
    ----------
    points, values : ndarray
        Places (m, 2) [m] and readings over the level of dry floor (m,).
    covariance : ndarray, shape (m, m)
        Of calm floor, of the wet floor seen beside the candidate, of other things, of noise.
    """

    points: Array
    values: Array
    covariance: Array

    def fit(self, extra: Array | None = None, diagonal: Array | None = None) -> Fitted:
        """Factorise the covariance with an extra one (m, m) and extra variances (m,)."""
        matrix = self.covariance.copy() if extra is None else self.covariance + extra
        variances = np.einsum("ii->i", matrix)
        variances += 1e-8 * variances.sum() / len(matrix)
        if diagonal is not None:
            variances += diagonal
        root = np.asarray(np.linalg.cholesky(matrix), dtype=float)
        white = _solved(root, self.values)
        value = -0.5 * float(white @ white) - float(np.log(np.diagonal(root)).sum())
        return Fitted(root, white, value)


def window_about(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    index: NDArray[np.intp],
    hidden: NDArray[np.bool_],
    others: list[tuple[Array, float]],
) -> Window:
    """Gather a window.

    Wet floor is rough in proportion to how wet it is: the amplitude of its covariance about a
    place is the mean excess of the readings there over dry floor. The candidate's own readings
    are hidden from that mean, or it would explain itself.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, what is already known to be a thing taken out.
    index : ndarray of int, shape (m,)
        Readings of the window.
    hidden : ndarray of bool, shape (m,)
        Those of the candidate.
    others : list of (ndarray (m,), float)
        Profiles and strengths of other candidates; their strengths are left free.
    """
    points = scene.points[index]
    over = values[index] - calm.base[index]
    distance = cdist(points, points)
    excess = np.maximum(over - 2 * calm.sd, 0.0)
    amplitude = np.zeros(len(index))
    if (~hidden).sum() >= 3:
        reach = max(NEAR_M, NEAR_SPACINGS * scene.spacing)
        weight = np.exp(-0.5 * (distance / reach) ** 2) * ~hidden
        amplitude = weight @ excess / np.maximum(weight.sum(axis=1), 1e-3)
    matrix = calm.between(distance) + unknown_level(calm)
    matrix += np.outer(amplitude, amplitude) * wet_covariance(distance)
    matrix[np.diag_indices_from(matrix)] += calm.noise * scene.share[index]
    for profile, strength in others:
        if profile.max() > 0.05:
            matrix += (2 * strength) ** 2 * np.outer(profile, profile)
            matrix[np.diag_indices_from(matrix)] += (0.15 * strength * profile) ** 2
    return Window(points, over, matrix)


def log_evidence(information: Array, score: Array, span: float) -> Array:
    """Log Bayes factor of a thing of unknown positive strength against none.

    With q = l'K^-1 l, s = l'K^-1 z, strength half-normal with sd A and v = A^2 / (1 + A^2 q):
    -log(1 + A^2 q) / 2 + v s^2 / 2 + log 2 Phi(s sqrt v) (Kass & Raftery 1995), the mean over
    ``STRENGTHS``.
    """
    parts = []
    for share in STRENGTHS:
        prior = (share * span) ** 2
        variance = prior / (1.0 + prior * information)
        part = -0.5 * np.log1p(prior * information) + 0.5 * variance * score**2
        parts.append(part + np.log(2.0) + log_ndtr(score * np.sqrt(variance)))
    return np.asarray(np.logaddexp(*parts) - np.log(2.0))
