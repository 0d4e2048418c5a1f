"""The kriged field of one domain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat import (
    BlendedKriging,
    Covariance,
    CovarianceFit,
    CrossValidation,
    Kriging,
    ValueScale,
    leave_blocks_out,
    spacing_of,
)
from moisturemap.mapping.floor_embedding import FloorEmbedding

Array = NDArray[np.float64]
Pair = tuple[Array, Array]
Progress = Callable[[str, float], None] | None

AVERAGE_DRAWS = 400

BLOCK_CHECK = (40, 1000)
"""Fewest and most locations whose map is also checked by leaving blocks out."""


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
    locations : ndarray of int
        Numbers of the locations it was kriged from, as in ``CleanReadings.locations``.
    points : ndarray, shape (n, 2)
        Their places [m].
    censored : ndarray of bool, shape (n,)
        Which of them are at full scale or below it.
    """

    kriging: BlendedKriging
    fit: CovarianceFit
    embedding: FloorEmbedding
    scale: ValueScale
    locations: NDArray[np.intp]
    points: Array
    censored: NDArray[np.bool_]

    @cached_property
    def check(self) -> CrossValidation:
        """Leave-one-out in kriged units, by location; NaN where a reading is censored."""
        residual, sd = self.kriging.leave_one_out()
        return CrossValidation(np.where(self.censored, np.nan, residual), sd)

    @cached_property
    def block_check(self) -> CrossValidation | None:
        """Blocks of locations left out, by the heaviest part; None where that says little."""
        fewest, most = BLOCK_CHECK
        if not fewest <= len(self.points) <= most:
            return None
        heaviest = self.kriging.parts[int(np.argmax(self.kriging.weights))]
        if not isinstance(heaviest, Kriging):
            return None
        found = leave_blocks_out(heaviest, 3.0 * spacing_of(heaviest.observations.points))
        return CrossValidation(np.where(self.censored, np.nan, found.residual), found.sd)

    @property
    def covariance(self) -> Covariance:
        """The most likely covariance, in kriged units."""
        return self.fit.model

    def predict(self, points: Array, progress: Progress = None) -> tuple[Array, Array]:
        """Median and sd of the noise-free surface at plan places (m, 2) [m].

        On a stretched scale the sd is half the width of the central 68% interval.
        """
        mean, sd = self.kriging.predict(self.embedding.coordinates(points), progress)
        return self.scale.back_interval(mean, sd)

    def without(self, gone: NDArray[np.intp], points: Array, known: Pair) -> Pair | None:
        """Mean and sd at plan places (m, 2) [m] had some locations not been read; or None.

        None where kriging again is quicker, or on a stretched scale.

        Parameters
        ----------
        gone : ndarray of int
            Numbers of the locations.
        known : tuple of ndarray, shape (m,)
            Mean and sd at the places as they are.
        """
        if not self.scale.is_identity or len(self.kriging.observations.points) != len(self.points):
            return None
        which = np.flatnonzero(np.isin(self.locations, gone))
        return self.kriging.without(which, self.embedding.coordinates(points), known)

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

    def draws(self, points: Array, count: int, seed: int, *, nearest: int | None = None) -> Array:
        """Conditional draws of the noise-free surface at plan places: (count, m).

        From so many readings nearest to each place, where readings are many.
        """
        places = self.embedding.coordinates(points)
        return self.scale.back(self.kriging.draws(places, count, seed, nearest=nearest))

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over places (m, 2) and its sd."""
        if self.scale.is_identity:
            return self.kriging.average(self.embedding.coordinates(points))
        chosen = points[:: len(points) // 2000 + 1]
        means = self.draws(chosen, AVERAGE_DRAWS, 0).mean(axis=1)
        return float(means.mean()), float(means.std(ddof=1))
