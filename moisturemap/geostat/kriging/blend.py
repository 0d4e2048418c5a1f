"""Kriging with the uncertainty of the covariance, and of censored readings, in the interval."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.fitting.fit import CovarianceFit
from moisturemap.geostat.kriging.exact import Kriging
from moisturemap.geostat.kriging.flat import FlatKriging
from moisturemap.geostat.kriging.hybrid import HybridKriging
from moisturemap.geostat.kriging.neighbourhood import NeighbourhoodKriging
from moisturemap.geostat.observations import checked_points

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

Part = Kriging | NeighbourhoodKriging | FlatKriging

ENGINES = ("auto", "exact", "tiles")

EXACT_READINGS = 3000
"""Readings up to which ``"auto"`` solves one system of all; beyond, neighbourhoods."""


@dataclass(frozen=True, kw_only=True)
@checked
class BlendOptions:
    """How the parts of a blend are kriged.

    Attributes
    ----------
    engine : str
        ``"exact"``: one system of all readings; ``"tiles"``: neighbourhoods shared by tiles of
        cells; ``"auto"``: exact to 3,000 readings, with standard deviations from neighbourhoods
        when cells are many; tiles beyond.
    drift : callable
    copies : ndarray, shape (n, c), optional
        Filled-in copies of the readings when some are censored (distinct places only).
    """

    engine: str = "auto"
    drift: Drift = constant
    copies: Array | None = None

    def __post_init__(self) -> None:
        if self.engine not in ENGINES:
            raise OptionError("unknown engine", value=self.engine, allowed=", ".join(ENGINES))


class BlendedKriging:
    """A weighted blend of krigings, one for each parameter point of a fit.

    The mean is the weighted mean, the variance the weighted variance within plus the variance
    between (law of total variance), between parameter points and between filled-in copies.

    Parameters
    ----------
    points, values, noise_sd
        As for :class:`Kriging`.
    fit : CovarianceFit
    options : BlendOptions, optional
    """

    def __init__(
        self,
        points: ArrayLike,
        values: ArrayLike,
        fit: CovarianceFit,
        noise_sd: ArrayLike | None = None,
        *,
        options: BlendOptions | None = None,
    ) -> None:
        options = options or BlendOptions()
        self.model: Covariance = fit.model
        self.weights = np.array([weight for weight, _ in fit.posterior])
        copies = options.copies
        numbers = np.asarray(values, dtype=float) if copies is None else copies.mean(axis=1)
        kind = _kind(options.engine, len(numbers))
        patterns = [model for _, model in fit.posterior]
        parts: list[Part] = []
        if fit.chance_of_flat > 0.0:
            flat = patterns.pop()
            parts = [
                FlatKriging(
                    points, numbers, flat, noise_sd, drift=options.drift, unresolved=fit.unresolved
                )
            ]
        self.parts: tuple[Part, ...] = (
            *(kind(points, numbers, model, noise_sd, drift=options.drift) for model in patterns),
            *parts,
        )
        self.observations = self.parts[0].observations
        several = copies is not None and copies.shape[1] > 1
        self._copies = copies if several else None

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and sd of the noise-free field at cells (m, d): each (m,)."""
        places = checked_points(cells, "cells")
        if self._copies is None:
            pairs = [
                part.predict(places, self._share(number, progress))
                for number, part in enumerate(self.parts)
            ]
        else:
            pairs = [
                self._of_copies(part, places, self._share(number, progress))
                for number, part in enumerate(self.parts)
            ]
        return blend(self.weights, pairs)

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and sd of a new reading: the field plus nugget and noise."""
        return blend(self.weights, [part.predict_reading(cells, noise_sd) for part in self.parts])

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and its sd by pooled place, closed form in each part."""
        return blend(self.weights, [part.leave_one_out() for part in self.parts])

    def draws(self, cells: ArrayLike, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free field: (count, m); parts share by weight."""
        shares = np.floor(np.cumsum(self.weights) * count + 0.5).astype(int)
        drawn = [
            self._draws_of(part, checked_points(cells, "cells"), int(number), seed + 7919 * place)
            for place, (part, number) in enumerate(
                zip(self.parts, np.diff(shares, prepend=0), strict=True)
            )
            if number > 0
        ]
        mixed = np.concatenate(drawn)
        return mixed[np.random.default_rng(seed).permutation(len(mixed))]

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells and its sd."""
        places = checked_points(cells, "cells")
        share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=float)
        share = share / share.sum()
        pairs = []
        for part in self.parts:
            mean, sd = part.average(places, share)
            extra = 0.0
            if self._copies is not None:
                extra = float((share @ self._means(part, places)).var(ddof=1))
            pairs.append((np.array([mean]), np.array([np.sqrt(sd**2 + extra)])))
        whole, spread = blend(self.weights, pairs)
        return float(whole[0]), float(spread[0])

    def _share(self, number: int, progress: Progress) -> Progress:
        """Progress of one part within the whole."""
        if progress is None:
            return None
        count = len(self.parts)
        return lambda phrase, done: progress(phrase, (number + done) / count)

    def _means(self, part: Part, places: Array) -> Array:
        """Kriged means (m, c) of every filled-in copy."""
        if self._copies is None:
            return part.means(places, self.observations.values[:, None])
        return part.means(places, self._copies)

    def _of_copies(self, part: Part, places: Array, progress: Progress) -> tuple[Array, Array]:
        """Mean over the copies, and sd within and between them; kriging is linear in its values."""
        means = self._means(part, places)
        sd = part.deviations(places, progress)
        return means.mean(axis=1), np.sqrt(sd**2 + means.var(axis=1, ddof=1))

    def _draws_of(self, part: Part, places: Array, count: int, seed: int) -> Array:
        drawn = part.draws(places, count, seed)
        if self._copies is None:
            return drawn
        means = self._means(part, places)
        chosen = np.random.default_rng([seed, 2]).integers(means.shape[1], size=count)
        return np.asarray(drawn + (means[:, chosen] - means.mean(axis=1, keepdims=True)).T)


def _kind(engine: str, count: int) -> type[Kriging] | type[NeighbourhoodKriging]:
    """Which kriging serves an engine's name and so many readings."""
    if engine == "exact":
        return Kriging
    if engine == "tiles" or count > EXACT_READINGS:
        return NeighbourhoodKriging
    return HybridKriging


def blend(weights: Array, pairs: list[tuple[Array, Array]]) -> tuple[Array, Array]:
    """Mean and sd of a mixture."""
    if len(pairs) == 1:
        return pairs[0]
    means = np.array([mean for mean, _ in pairs])
    spreads = np.array([sd for _, sd in pairs])
    mean = weights @ means
    variance = weights @ (spreads**2 + (means - mean) ** 2)
    return mean, np.sqrt(variance)
