"""Covariance models of a moisture field.

Method: docs/method/kriging.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial.distance import cdist

from moisturemap.checked import NOT_NEGATIVE, POSITIVE, Rule, checked, one_of

Array = NDArray[np.float64]

KINDS = ("exponential", "matern32", "matern52", "spherical")

SPELT = {"matern32": "Matérn 3/2", "matern52": "Matérn 5/2"}
"""What a reader calls a kind, where it is not called by its own word."""

PRACTICAL = {"exponential": 2.9957, "matern32": 2.7389, "matern52": 2.6469, "spherical": 0.8114}
"""Distance at which the correlation has fallen to 0.05, in lengths (solved numerically)."""

FALL = {"exponential": -1.0, "matern32": -np.sqrt(3.0), "matern52": -np.sqrt(5.0)}
"""Rate of the exponential in each kind, per length."""

RATIO = Rule(lambda value: bool(0.0 < value <= 1.0), "more than 0, up to 1")


@dataclass(frozen=True, slots=True)
@checked
class Covariance:
    """A stationary covariance with a nugget that is kept apart.

    Attributes
    ----------
    kind : str
        One of ``KINDS``.
    variance : float
        Variance of the continuous field (partial sill), 0 or more [value units squared].
    length : float
        Length parameter, more than 0 [m]: C(h) = variance * exp(-h/length) for ``exponential``;
        (1 + s) exp(-s) with s = sqrt(3) h/length for ``matern32``; (1 + s + s^2/3) exp(-s) with
        s = sqrt(5) h/length for ``matern52`` (Rasmussen and Williams, Gaussian Processes for
        Machine Learning, 2006, equation 4.17); 1 - 1.5 h/length + 0.5 (h/length)^3, zero beyond
        ``length``, for ``spherical`` (Chiles and Delfiner, Geostatistics, 2012, table 2.1; valid
        in up to three dimensions).
    nugget : float
        Variance of one reading about the field: instrument noise and texture too fine to map, 0
        or more [value units squared]. Never part of ``between``.
    anisotropy : float
        Length across the major axis over length along it, 0 < anisotropy <= 1.
    angle_deg : float
        Major axis, counter-clockwise from x [degrees].

    Raises
    ------
    OptionError
        For an unknown kind, and for numbers outside these bounds.
    """

    kind: Annotated[str, one_of(*KINDS)]
    variance: Annotated[float, NOT_NEGATIVE]
    length: Annotated[float, POSITIVE]
    nugget: Annotated[float, NOT_NEGATIVE] = 0.0
    anisotropy: Annotated[float, RATIO] = 1.0
    angle_deg: float = 0.0

    @property
    def practical_range(self) -> float:
        """Distance at which the correlation has fallen to 0.05, along the major axis [m]."""
        return self.length * PRACTICAL[self.kind]

    def correlation(self, distance: ArrayLike) -> Array:
        """Correlation of the field at distances of any shape [m]."""
        return correlation_at(self.kind, np.asarray(distance, dtype=float), self.length)

    def with_slope(self, distance: Array) -> tuple[Array, Array]:
        """Correlation at distances [m] and its derivative by log length."""
        h = np.asarray(distance, dtype=float) / self.length
        if self.kind == "exponential":
            fall = np.exp(-h)
            h *= fall
            return fall, h
        if self.kind == "matern32":
            s = np.sqrt(3.0) * h
            fall = np.exp(-s)
            return (1.0 + s) * fall, s * s * fall
        if self.kind == "matern52":
            s = np.sqrt(5.0) * h
            fall = np.exp(-s)
            return (1.0 + s + s * s / 3.0) * fall, s * s * (1.0 + s) / 3.0 * fall
        h = np.minimum(h, 1.0)
        return 1.0 - 1.5 * h + 0.5 * h**3, 1.5 * (h - h**3)

    def at(self, distance: ArrayLike) -> Array:
        """Covariance of the field at distances of any shape [m]."""
        found = self.correlation(distance)
        found *= self.variance
        return found

    def between(self, one: Array, other: Array) -> Array:
        """Covariance of the field between places, shapes (n, d) and (m, d) [m] to (n, m)."""
        return self.at(cdist(self.isotropic(one), self.isotropic(other)))

    def isotropic(self, points: Array) -> Array:
        """Return coordinates in which the field is isotropic, shape (n, d) [m]."""
        if self.anisotropy == 1.0:
            return points
        return made_isotropic(points, self.anisotropy, self.angle_deg)


def made_isotropic(points: Array, anisotropy: float, angle_deg: float) -> Array:
    """Stretch coordinates (n, 2) [m] across a major axis, so that both ranges are as that along it.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
    anisotropy, angle_deg : float
        As of a :class:`Covariance`.
    """
    angle = np.deg2rad(angle_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.asarray((points @ turn) / np.array([1.0, anisotropy]))


def correlation_at(kind: str, distance: Array, length: ArrayLike) -> Array:
    """Correlation at distances, in as few passes over memory as can be.

    Parameters
    ----------
    kind : str
        One of ``KINDS``.
    distance : ndarray of float
        Distances [m].
    length : float, or array_like that spreads over the distances
        Length parameter [m].
    """
    if kind == "spherical":
        lengths = np.asarray(distance / np.asarray(length))
        np.minimum(lengths, 1.0, out=lengths)
        found = np.asarray(lengths * lengths)
        found -= 3.0
        found *= lengths
        found *= 0.5
        found += 1.0
        return found
    falling = np.asarray(distance * (FALL[kind] / np.asarray(length)))
    if kind == "exponential":
        return np.asarray(np.exp(falling, out=falling))
    fall = np.exp(falling)
    if kind == "matern52":
        polynomial = np.asarray(falling * falling)
        polynomial /= 3.0
        polynomial -= falling
        polynomial += 1.0
    else:
        polynomial = np.asarray(np.subtract(1.0, falling, out=falling))
    polynomial *= fall
    return polynomial
