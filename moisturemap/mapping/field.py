"""The kriged field of one domain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat import BlendedKriging, Covariance

Array = NDArray[np.float64]


@dataclass(frozen=True)
class KrigedField:
    """Kriged field of a domain at places of the plan; a ``DomainField``."""

    kriging: BlendedKriging
    covariance: Covariance

    def predict(self, points: Array) -> tuple[Array, Array]:
        """Mean and sd of the noise-free surface at plan places (m, 2) [m]."""
        return self.kriging.predict(points)

    def draws(self, points: Array, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free surface at plan places: (count, m)."""
        return self.kriging.draws(points, count, seed)

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over places (m, 2) and its sd."""
        return self.kriging.average(points)
