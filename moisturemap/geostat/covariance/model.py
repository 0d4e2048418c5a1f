"""Covariance models of a moisture field."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

Array = NDArray[np.float64]

KINDS = ("exponential", "matern32", "matern52", "spherical")


@dataclass(frozen=True, slots=True)
class Covariance:
    """A stationary covariance with a nugget that is kept apart.

    Attributes
    ----------
    kind : str
        One of ``KINDS``.
    variance : float
        Variance of the continuous field (partial sill) [value units squared].
    length : float
        Length parameter [m]: C(h) = variance * exp(-h/length) for ``exponential``; (1 + s) exp(-s)
        with s = sqrt(3) h/length for ``matern32``; (1 + s + s^2/3) exp(-s) with s = sqrt(5)
        h/length for ``matern52``; zero beyond ``length`` for ``spherical``.
    nugget : float
        Variance of one reading about the field: instrument noise and texture too fine to map
        [value units squared]. Never part of ``between``.
    anisotropy : float
        Length across the major axis over length along it, 0 < anisotropy <= 1.
    angle_deg : float
        Major axis, counter-clockwise from x [degrees].
    """

    kind: str
    variance: float
    length: float
    nugget: float = 0.0
    anisotropy: float = 1.0
    angle_deg: float = 0.0

    def correlation(self, distance: Array) -> Array:
        """Correlation of the field at distances [m]."""
        h = np.asarray(distance, dtype=float) / self.length
        if self.kind == "exponential":
            return np.asarray(np.exp(-h))
        if self.kind == "matern32":
            s = np.sqrt(3.0) * h
            return np.asarray((1.0 + s) * np.exp(-s))
        if self.kind == "matern52":
            s = np.sqrt(5.0) * h
            return np.asarray((1.0 + s + s * s / 3.0) * np.exp(-s))
        h = np.minimum(h, 1.0)
        return np.asarray(1.0 - 1.5 * h + 0.5 * h**3)

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

    def at(self, distance: Array) -> Array:
        """Covariance of the field at distances [m]; the array of distances is used up."""
        if self.kind == "exponential":
            distance *= -1.0 / self.length
            np.exp(distance, out=distance)
        elif self.kind == "matern32":
            distance *= np.sqrt(3.0) / self.length
            fall = np.exp(-distance)
            distance += 1.0
            distance *= fall
        else:
            distance = self.correlation(distance)
        distance *= self.variance
        return distance

    def between(self, one: Array, other: Array) -> Array:
        """Covariance of the field between places, shapes (n, d) and (m, d) [m] to (n, m)."""
        return self.at(cdist(self.unbent(one), self.unbent(other)))

    def unbent(self, points: Array) -> Array:
        """Return coordinates in which the field is isotropic, shape (n, d) [m]."""
        if self.anisotropy == 1.0:
            return points
        angle = np.deg2rad(self.angle_deg)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        return np.asarray((points @ turn) / np.array([1.0, self.anisotropy]))
