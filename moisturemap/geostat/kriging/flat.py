"""A floor whose readings show no pattern.

Method: docs/method/kriging.md, "No pattern".
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.geostat.covariance.model import PRACTICAL, Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.observations import checked_points, pool, spacing_of
from moisturemap.geostat.simulation import simulate

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None


class FlatKriging:
    """The drift alone, by generalised least squares, and what the readings are too far apart for.

    Parameters
    ----------
    points, values, model, noise_sd, drift
        As for :class:`Kriging`; the field variance of the model is not used.
    unresolved : float
        Variance of the floor on a scale shorter than the spacing [value units squared]. It is part
        of the model's nugget as far as readings go, and part of the surface as far as the map goes.
    """

    def __init__(
        self,
        points: ArrayLike,
        values: ArrayLike,
        model: Covariance,
        noise_sd: ArrayLike | None = None,
        *,
        drift: Drift = constant,
        unresolved: float = 0.0,
    ) -> None:
        self.model = model
        self.drift = drift
        self.unresolved = unresolved
        self.observations = pool(points, values, noise_sd)
        self._noise = self.observations.noise_with(model.nugget)
        self._columns = drift(self.observations.points)
        weighted = self._columns / self._noise[:, None]
        self._spread = np.linalg.pinv(weighted.T @ self._columns)
        self._solver = self._spread @ weighted.T
        self.coefficients: Array = self._solver @ self.observations.values

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and standard deviation of the noise-free field at cells (m, d): each (m,)."""
        columns = self.drift(checked_points(cells, "cells"))
        return columns @ self.coefficients, np.sqrt(self._variance(columns) + self.unresolved)

    def deviations(self, cells: ArrayLike, progress: Progress = None) -> Array:
        """Return the standard deviation of the noise-free field at cells (m, d): (m,)."""
        return self.predict(cells)[1]

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and standard deviation of a new reading: the mean plus nugget and noise."""
        columns = self.drift(checked_points(cells, "cells"))
        variance = self._variance(columns) + self.model.nugget + noise_sd**2
        return columns @ self.coefficients, np.sqrt(variance)

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and its sd by pooled place, predicted from the others (closed form)."""
        leverage = self._variance(self._columns) / self._noise
        left = np.maximum(1.0 - leverage, 1e-12)
        residual = (self.observations.values - self._columns @ self.coefficients) / left
        return residual, np.sqrt(self._noise / left)

    def means(self, cells: Array, values: Array) -> Array:
        """Means (m, r) of other values (n, r) at the same pooled places."""
        return np.asarray(self.drift(cells) @ (self._solver @ values))

    def draws(self, cells: ArrayLike, count: int, seed: int) -> Array:
        """Draws of the mean and of a variation too short to be mapped: (count, m)."""
        places = checked_points(cells, "cells")
        columns = self.drift(places)
        root = np.linalg.cholesky(
            self._spread + 1e-12 * np.trace(self._spread) * np.eye(len(self._spread))
        )
        normal = np.random.default_rng(seed).standard_normal((count, len(root)))
        drawn = columns @ self.coefficients + normal @ (columns @ root).T
        if self.unresolved > 0.0:
            length = spacing_of(self.observations.points) / PRACTICAL["exponential"]
            fine = Covariance("exponential", self.unresolved, length)
            drawn = drawn + simulate(places, fine, count, seed + 1)
        return np.asarray(drawn)

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells, and its standard deviation.

        Variation shorter than the spacing averages out over a block.
        """
        columns = self.drift(checked_points(cells, "cells"))
        mean = np.average(columns, axis=0, weights=None if weights is None else np.asarray(weights))
        variance = float(mean @ self._spread @ mean)
        return float(mean @ self.coefficients), float(np.sqrt(max(variance, 0.0)))

    def _variance(self, columns: Array) -> Array:
        """Variance of the estimated drift."""
        return np.asarray(np.einsum("ij,jk,ik->i", columns, self._spread, columns))
