"""Kriging with the uncertainty of the covariance, and of censored readings, in the interval.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.checked import checked, one_of
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.fitting.fit import CovarianceFit
from moisturemap.geostat.kriging.distances import CellDistances, Distances
from moisturemap.geostat.kriging.exact import BLOCK_CELLS, Kriging, krige_together
from moisturemap.geostat.kriging.flat import FlatKriging
from moisturemap.geostat.kriging.neighbourhood import ALL_READINGS, FEW, NeighbourhoodKriging
from moisturemap.geostat.kriging.shared import SharedTiles, blend
from moisturemap.geostat.kriging.tiles import typical_gap
from moisturemap.geostat.kriging.widening import Widening
from moisturemap.geostat.kriging.workers import work_through
from moisturemap.geostat.observations import Observations, checked_points, even_sample, pool

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Pair = tuple[Array, Array]
Progress = Callable[[str, float], None] | None
Part = Kriging | NeighbourhoodKriging | FlatKriging

ENGINES = ("auto", "exact", "tiles")

EXACT_READINGS = 3000
"""Readings up to which ``"auto"`` takes block means and draws from one system of all, where most
of them lie near."""

WIDENED = (60, 100_000)
"""Fewest and most readings from which local widening is learnt: fewer tell nothing, of more the
parts of the floor are mapped from so near that it hardly matters."""

AT_ONCE = 128
"""Cells whose covariances with the readings are looked at together: what a cache holds."""

LEAST_LEFT = 20
"""Fewest readings left from which a map without others is worked out from that with them."""

ALIKE = 220
"""Readings beyond which draws take one covariance of each kind: on floors of 250 to 1,000 readings
those of one kind differ by 0.4 to 5% of the variance of each (measured)."""

FEWEST, LIGHT = 150, 2e8
"""Readings up to which, and squared readings times cells times parts up to which, ``"auto"`` maps
from one system of all. Our choice: beyond, tiles are quicker and as good."""


@dataclass(frozen=True, kw_only=True)
@checked
class BlendOptions:
    """How the parts of a blend are kriged.

    Attributes
    ----------
    engine : str
        ``"exact"``: one system of all readings; ``"tiles"``: neighbourhoods shared by tiles of
        cells; ``"auto"``: exact where that is quick, tiles elsewhere; draws and block means from
        the readings near to them where they are few, else exact to 3,000 readings.
    drift : callable
    copies : ndarray, shape (n, c), optional
        Filled-in copies of the readings when some are censored (distinct places only).
    widen : bool
        Widen the interval where neighbouring readings differ by more than the covariance says.
    """

    engine: Annotated[str, one_of(*ENGINES)] = "auto"
    drift: Drift = constant
    copies: Array | None = None
    widen: bool = True


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
        self.options = options or BlendOptions()
        self.model: Covariance = fit.model
        self.weights = np.array([weight for weight, _ in fit.posterior])
        copies = self.options.copies
        numbers = np.asarray(values, dtype=float) if copies is None else copies.mean(axis=1)
        self._given = (points, numbers, noise_sd)
        self._models = [model for _, model in fit.posterior]
        self._flat: tuple[Part, ...] = ()
        if fit.chance_of_flat > 0.0:
            self._flat = (self._flat_part(self._models.pop(), fit.unresolved),)
        several = copies is not None and copies.shape[1] > 1
        self._copies = copies if several else None

    @cached_property
    def observations(self) -> Observations:
        """Readings, pooled where they share a place."""
        points, numbers, noise_sd = self._given
        return pool(points, numbers, noise_sd)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Krigings of the parameter points, for draws and block means; in order of the weights."""
        engine, count = self.options.engine, len(self.observations.points)
        if engine == "tiles" or (engine == "auto" and count > EXACT_READINGS):
            return (*self._tiles, *self._flat)
        return (*self._exact, *self._flat)

    def _nearby(self, places: Array, nearest: int | None = None) -> bool:
        """Whether draws and block means at places come from the readings near to them alone."""
        parted = self.options.engine == "auto" and len(self.observations.points) > ALL_READINGS
        if not parted or not self._models or self._copies is not None:
            return False
        lead = self._tiles[int(np.argmax(self.weights[: len(self._models)]))]
        return lead.are_few(lead.around(places, nearest), FEW if nearest is None else 1.0)

    @cached_property
    def _exact(self) -> tuple[Kriging, ...]:
        drift, readings = self.options.drift, self.observations
        apart = Distances(readings.points)
        for model in self._models:
            apart.of(model)  # found once, before several threads ask for them
        made: list[Kriging] = []
        work_through(
            self._models, lambda one: Kriging.over(readings, one, drift, apart), made.append
        )
        return tuple(made)

    @cached_property
    def _tiles(self) -> tuple[NeighbourhoodKriging, ...]:
        drift, readings = self.options.drift, self.observations
        if len(readings.points) > ALL_READINGS:
            return tuple(NeighbourhoodKriging.over(readings, one, drift) for one in self._models)
        return tuple(
            NeighbourhoodKriging.over(readings, one.model, drift, one) for one in self._exact
        )

    def _flat_part(self, model: Covariance, unresolved: float) -> FlatKriging:
        points, numbers, noise_sd = self._given
        drift = self.options.drift
        return FlatKriging(points, numbers, model, noise_sd, drift=drift, unresolved=unresolved)

    @cached_property
    def widening(self) -> Widening | None:
        """Where the interval is wider than the covariance alone makes it; None for nowhere."""
        return self._widening_without(None)

    def _widening_without(self, gone: Index | None) -> Widening | None:
        """Learn it from all readings but some."""
        places, values = self.observations.points, self.observations.values
        fewest, most = WIDENED
        patterned = self.weights[: len(self._models)].sum()
        if not self.options.widen or not fewest <= len(places) <= most or patterned < 0.01:
            return None
        columns = self.options.drift(places)
        values = values - columns @ np.linalg.lstsq(columns, values)[0]
        if self._copies is not None:
            values = np.where(np.ptp(self._copies, axis=1) > 0.0, np.nan, values)
        if gone is not None:
            values = values.copy()
            values[gone] = np.nan
        return Widening.of(places, values, typical_gap(places), self._semivariance)

    def _semivariance(self, pairs: NDArray[np.intp]) -> Array:
        """Semivariance of pairs of readings (p, 2), noise included."""
        apart = self.observations.points[pairs[:, 0]] - self.observations.points[pairs[:, 1]]
        weights = self.weights[: len(self._models)]
        total = np.zeros(len(pairs))
        for weight, model in zip(weights / weights.sum(), self._models, strict=True):
            noise = self.observations.noise_with(model.nugget)[pairs].mean(axis=1)
            distance = np.sqrt((model.isotropic(apart) ** 2).sum(axis=1))
            total += weight * (model.variance - model.at(distance) + noise)
        return total

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and sd of the noise-free field at cells (m, d): each (m,)."""
        places = checked_points(cells, "cells")
        mean, sd = self._predict(places, progress)
        return mean, sd if self.widening is None else sd * self.widening.at(places)

    def _predict(self, places: Array, progress: Progress) -> tuple[Array, Array]:
        """Mean and sd before any local widening."""
        light = self._is_light(len(places))
        if self._copies is None and not light:
            shared, weight = self._shared()
            pairs = [shared.predict(places, progress)]
            pairs += [part.predict(places) for part in self._flat]
            return blend(weight, pairs)
        if self._copies is None:
            pairs = krige_together(self._exact, places, progress)
            pairs += [part.predict(places) for part in self._flat]
        else:
            within = self.parts if light else (*self._tiles, *self._flat)
            pairs = [
                self._of_copies(part, one, places, self._share(number, progress))
                for number, (part, one) in enumerate(zip(self.parts, within, strict=True))
            ]
        return blend(self.weights, pairs)

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and sd of a new reading: the field plus nugget and noise."""
        mean, sd = blend(
            self.weights, [part.predict_reading(cells, noise_sd) for part in self.parts]
        )
        if self.widening is None:
            return mean, sd
        places = checked_points(cells, "cells")
        field = self._predict(places, None)[1]
        return mean, np.sqrt(sd**2 + field**2 * (self.widening.at(places) ** 2 - 1.0))

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and its sd by pooled place, closed form in each part; never widened."""
        return self.left_out

    @cached_property
    def left_out(self) -> tuple[Array, Array]:
        """Residual and its sd by pooled place."""
        count = len(self.observations.points)
        exactly = self.options.engine == "auto" and count <= ALL_READINGS
        if exactly or self._is_light(count):
            return blend(self.weights, [part.leave_one_out() for part in self.parts])
        shared, weight = self._shared()
        flat = [part.leave_one_out() for part in self._flat]
        return blend(weight, [shared.leave_one_out(), *flat])

    def draws(
        self, cells: ArrayLike, count: int, seed: int, *, nearest: int | None = None
    ) -> Array:
        """Conditional draws of the noise-free field: (count, m); parts share by weight.

        Where readings are many, so many of them nearest to each cell are looked at.
        """
        places = checked_points(cells, "cells")
        shares = np.floor(np.cumsum(self._shares_in_draws()) * count + 0.5).astype(int)
        parts = (*self._tiles, *self._flat) if self._nearby(places, nearest) else self.parts
        apart = CellDistances.of(places, self.observations.points)
        drawn = [
            self._draws_of(part, apart, (int(number), seed + 7919 * place), nearest)
            for place, (part, number) in enumerate(
                zip(parts, np.diff(shares, prepend=0), strict=True)
            )
            if number > 0
        ]
        mixed = np.concatenate(drawn)
        if self.widening is not None:
            middle = mixed.mean(axis=0)
            mixed = middle + (mixed - middle) * self.widening.at(places)
        return mixed[np.random.default_rng(seed).permutation(len(mixed))]

    def _shares_in_draws(self) -> Array:
        """Weights of the parts in draws: where readings are many, one stands for those of its kind.

        The one in the middle, in order of the noise ratio.
        """
        if len(self.observations.points) <= ALIKE:
            return self.weights
        kinds: dict[tuple[str, bool], list[int]] = {}
        for place, model in enumerate(self._models):
            kinds.setdefault((model.kind, model.anisotropy == 1.0), []).append(place)
        weights = self.weights.copy()
        for alike in kinds.values():
            weights[alike] = 0.0
            weights[alike[len(alike) // 2]] = self.weights[alike].sum()
        return weights

    def without(self, gone: Index, cells: Array, known: tuple[Array, Array]) -> Pair | None:
        """Mean and sd at cells (m, d) without some readings, from those with them: (m,) each.

        Nothing is factorised anew. None where that cannot be done or would be slower than kriging
        again: with very many readings, few left, censored ones, or where no pattern is likely.

        Parameters
        ----------
        gone : ndarray of int, shape (g,)
            Pooled places.
        known : tuple of ndarray, shape (m,)
            Mean and sd at the cells with all readings.
        """
        count = len(self.observations.points)
        light = len(gone) + LEAST_LEFT <= count <= ALL_READINGS
        if self._copies is not None or self._flat or not light:
            return None
        changes = [part.change_without(gone) for part in self._exact]
        middle, shift, further = np.empty((3, len(changes), len(cells)))
        for start in range(0, len(cells), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            apart = Distances(cells[some], self.observations.points)
            for place, change in enumerate(changes):
                middle[place, some], shift[place, some], further[place, some] = change(apart)
        variance = self.weights @ further + self._between(middle + shift) - self._between(middle)
        after = self._widening_without(gone)
        before = 1.0 if self.widening is None else self.widening.at(cells)
        sd = np.sqrt(np.maximum((known[1] / before) ** 2 + variance, 0.0))
        mean = known[0] + self.weights @ shift
        return mean, sd if after is None else sd * after.at(cells)

    def _between(self, means: Array) -> Array:
        """Variance (m,) between the means of the parts (k, m)."""
        return np.asarray(self.weights @ (means - self.weights @ means) ** 2)

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells and its sd."""
        places = checked_points(cells, "cells")
        share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=float)
        share = share / share.sum()
        sample = places[even_sample(len(places), BLOCK_CELLS)]
        apart = CellDistances.of(sample, self.observations.points)
        pairs = []
        nearby = self._nearby(sample)
        for part in (*self._tiles, *self._flat) if nearby else self.parts:
            if nearby and isinstance(part, NeighbourhoodKriging):
                mean, sd = part.average_nearby(places, share)
            elif isinstance(part, Kriging):
                mean, sd = part.average(places, share, apart)
            else:
                mean, sd = part.average(places, share)
            extra = 0.0
            if self._copies is not None:
                extra = float((share @ self._means(part, places)).var(ddof=1))
            pairs.append((np.array([mean]), np.array([np.sqrt(sd**2 + extra)])))
        whole, spread = blend(self.weights, pairs)
        wider = 1.0 if self.widening is None else float(share @ self.widening.at(places))
        return float(whole[0]), wider * float(spread[0])

    def _is_light(self, cells: int) -> bool:
        """Whether one system of all readings is quick enough, or asked for."""
        if self.options.engine != "auto":
            return self.options.engine == "exact"
        count = len(self.observations.points)
        return count <= FEWEST or count**2 * cells * len(self._models) <= LIGHT

    def _shared(self) -> tuple[SharedTiles, Array]:
        """Tiles of the patterns, and the weights of the patterns together and of no pattern."""
        count = len(self._models)
        patterns = max(float(self.weights[:count].sum()), 1e-300)
        shared = SharedTiles(self._tiles, self.weights[:count] / patterns)
        return shared, np.array([patterns, *self.weights[count:]])

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

    def _of_copies(
        self, part: Part, within: Part, places: Array, progress: Progress
    ) -> tuple[Array, Array]:
        """Mean over the copies, and sd within and between them; kriging is linear in its values."""
        means = self._means(part, places)
        sd = within.deviations(places, progress)
        return means.mean(axis=1), np.sqrt(sd**2 + means.var(axis=1, ddof=1))

    def _draws_of(
        self, part: Part, apart: CellDistances, how: tuple[int, int], nearest: int | None
    ) -> Array:
        places, (count, seed) = apart.among.one, how
        if isinstance(part, Kriging):
            drawn = part.draws(places, count, seed, apart)
        elif isinstance(part, NeighbourhoodKriging):
            drawn = part.draws(places, count, seed, nearest=nearest)
        else:
            drawn = part.draws(places, count, seed)
        if self._copies is None:
            return drawn
        means = self._means(part, places)
        chosen = np.random.default_rng([seed, 2]).integers(means.shape[1], size=count)
        return np.asarray(drawn + (means[:, chosen] - means.mean(axis=1, keepdims=True)).T)
