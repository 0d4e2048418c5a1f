"""The kriged field of one domain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat import (
    BlendedKriging,
    Covariance,
    CovarianceFit,
    CrossValidation,
    ValueScale,
)
from moisturemap.mapping.floor_embedding import FloorEmbedding

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

AVERAGE_DRAWS = 400


@dataclass(frozen=True)
class KrigedField:
    """Kriged field of a domain at places of the plan; a ``DomainField``.

    Attributes
    ----------
    kriging : BlendedKriging
        In kriging coordinates and units.
    fit : CovarianceFit
    embedding : FloorEmbedding
        Plan places to kriging coordinates.
    scale : ValueScale
        Reading units to kriged units.
    check : CrossValidation
        Leave-one-out in kriged units, by location.
    locations : ndarray of int
        Numbers of the locations it was kriged from, as in ``CleanReadings.locations``.
    points : ndarray, shape (n, 2)
        Their places [m].
    censored : ndarray of bool, shape (n,)
        Which of them are at full scale or below it.
    block_check : CrossValidation or None
        Blocks of locations left out, in kriged units; None where there are too few or too many.
    """

    kriging: BlendedKriging
    fit: CovarianceFit
    embedding: FloorEmbedding
    scale: ValueScale
    check: CrossValidation
    locations: NDArray[np.intp]
    points: Array
    censored: NDArray[np.bool_]
    block_check: CrossValidation | None = None

    @property
    def covariance(self) -> Covariance:
        """The most likely covariance, in kriged units."""
        return self.fit.model

    def predict(self, points: Array, progress: Progress = None) -> tuple[Array, Array]:
        """Median and sd of the noise-free surface at plan places (m, 2) [m].

        On a stretched scale the sd is half the width of the central 68 % interval.
        """
        mean, sd = self.kriging.predict(self.embedding.coordinates(points), progress)
        return self.scale.back_interval(mean, sd)

    def predict_reading(self, points: Array, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Median and sd of a new reading at plan places: the surface plus nugget and noise.

        ``noise_sd`` is the repeat noise in reading units, where it is known and not in the nugget.
        """
        places = self.embedding.coordinates(points)
        if self.scale.is_identity:
            return self.kriging.predict_reading(places, noise_sd)
        centre, _ = self.kriging.predict(places)
        slope = float(np.median(self.scale.slope(self.scale.back(centre))))
        mean, sd = self.kriging.predict_reading(places, noise_sd * slope)
        return self.scale.back_interval(mean, sd)

    def draws(self, points: Array, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free surface at plan places: (count, m)."""
        return self.scale.back(self.kriging.draws(self.embedding.coordinates(points), count, seed))

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over places (m, 2) and its sd."""
        if self.scale.is_identity:
            return self.kriging.average(self.embedding.coordinates(points))
        chosen = points[:: len(points) // 2000 + 1]
        means = self.draws(chosen, AVERAGE_DRAWS, 0).mean(axis=1)
        return float(means.mean()), float(means.std(ddof=1))
