"""A compact thing - a plate, a box, a fitting: round as a meter of some footprint sees it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.ridge import REACH

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Disc:
    """A disc [m]: centre, radius, and the sd of the fall beyond its rim."""

    centre: tuple[float, float]
    radius: float
    width: float

    length = float("nan")

    @property
    def extent(self) -> float:
        """Its radius [m]."""
        return self.radius

    def frame(self, points: Array) -> tuple[Array, Array]:
        """Coordinates along x and y from its centre, each (n,) [m]."""
        offset = points - np.asarray(self.centre)
        return offset[:, 0], offset[:, 1]

    def past(self, points: Array) -> Array:
        """How far points (n, 2) lie outside its rim, (n,) [m]."""
        return np.maximum(np.hypot(*self.frame(points)) - self.radius, 0.0)

    def rise(self, points: Array) -> Array:
        """Rise of readings at points (n, 2) for a unit of strength, (n,)."""
        away = self.past(points) / self.width
        return np.where(away <= REACH, np.exp(-0.5 * away**2), 0.0)

    def slope(self, points: Array) -> Array:
        """How fast the rise changes outward at points (n, 2), (n,) [1/m]."""
        return self.rise(points) * self.past(points) / self.width**2
