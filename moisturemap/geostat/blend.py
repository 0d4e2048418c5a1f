"""Kriging with the uncertainty of the covariance carried into the interval."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.geostat.covariance import Covariance
from moisturemap.geostat.fit import CovarianceFit
from moisturemap.geostat.kriging import Drift, Kriging, constant

Array = NDArray[np.float64]


class BlendedKriging:
    """A weighted blend of krigings, one for each parameter point of a fit.

    The mean is the weighted mean, the variance the weighted variance within plus the variance
    between (law of total variance).

    Parameters
    ----------
    points, values, noise_sd, drift
        As for :class:`Kriging`.
    fit : CovarianceFit
    """

    def __init__(
        self,
        points: ArrayLike,
        values: ArrayLike,
        fit: CovarianceFit,
        noise_sd: ArrayLike | None = None,
        *,
        drift: Drift = constant,
    ) -> None:
        self.model: Covariance = fit.model
        self.weights = np.array([weight for weight, _ in fit.posterior])
        self.parts = tuple(
            Kriging(points, values, model, noise_sd, drift=drift) for _, model in fit.posterior
        )
        self.observations = self.parts[0].observations

    def predict(self, cells: ArrayLike) -> tuple[Array, Array]:
        """Mean and sd of the noise-free field at cells (m, d): each (m,)."""
        if len(self.parts) == 1:
            return self.parts[0].predict(cells)
        return _blend(self.weights, [part.predict(cells) for part in self.parts])

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and sd of a new reading: the field plus nugget and noise."""
        return _blend(self.weights, [part.predict_reading(cells, noise_sd) for part in self.parts])

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and its sd by pooled place, closed form in each part."""
        return _blend(self.weights, [part.leave_one_out() for part in self.parts])

    def draws(self, cells: ArrayLike, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free field: (count, m); parts share by weight."""
        shares = np.floor(np.cumsum(self.weights) * count + 0.5).astype(int)
        counts = np.diff(shares, prepend=0)
        drawn = [
            part.draws(cells, int(number), seed + 7919 * place)
            for place, (part, number) in enumerate(zip(self.parts, counts, strict=True))
            if number > 0
        ]
        mixed = np.concatenate(drawn)
        return mixed[np.random.default_rng(seed).permutation(len(mixed))]

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells and its sd."""
        pairs = [part.average(cells, weights) for part in self.parts]
        mean, sd = _blend(self.weights, [(np.array([mean]), np.array([sd])) for mean, sd in pairs])
        return float(mean[0]), float(sd[0])


def _blend(weights: Array, pairs: list[tuple[Array, Array]]) -> tuple[Array, Array]:
    """Mean and sd of a mixture."""
    means = np.array([mean for mean, _ in pairs])
    spreads = np.array([sd for _, sd in pairs])
    mean = weights @ means
    variance = weights @ (spreads**2 + (means - mean) ** 2)
    return mean, np.sqrt(variance)
