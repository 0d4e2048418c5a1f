"""What is known of a covariance before the readings are looked at.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from moisturemap.geostat.covariance.model import PRACTICAL
from moisturemap.geostat.fitting.earlier import EarlierFloors
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.observations import Observations, diameter_of, spacing_of

Array = NDArray[np.float64]

RANGE_SD, VARIANCE_SD, NUGGET_SD = 1.0, 1.0, 1.5
NUGGET_SHARE = 0.03
"""Weak priors: log-normal sd of practical range, field variance and nugget; expected nugget in
shares of the readings' variance. Our choice; coverage on invented floors set them: a nugget of a
tenth held 3 points less on rough floors of 30 readings, and the error of the map is the same."""

LEAST_SPACINGS = 1.5
"""Shortest practical range in spacings that is drawn as a pattern. Below, field and nugget cannot
be told apart, and noise would be drawn. Our choice, set on pure noise against invented floors."""

KIND_ODDS = {"exponential": 2.0, "spherical": 1.0, "matern32": 1.0, "matern52": 1.0}
"""Odds of the kinds beforehand: a rough field taken for a smooth one makes the interval too narrow,
the reverse only a little too wide, so the roughest gets the benefit of the doubt. Our choice:
lifts coverage on exponential floors of 225 readings from 88 to 89% and lowers no other."""

FLAT_CHANCE = 0.1
"""Chance beforehand that a floor shows no pattern at all. Our choice."""

KNOWN_CHANCE, KNOWN_EXCESS, KNOWN_SD = 0.7, 1.1, 0.15
"""Chance that repeats tell all the noise there is, its usual excess over theirs, and the log sd of
that when the repeats are many. Our choice: texture too fine to map adds to what repeats show."""


@dataclass(frozen=True)
class Prior:
    """Log-normal priors of practical range, field variance and noise, and bounds.

    Attributes
    ----------
    scale : float
        Variance of the readings [value units squared].
    shortest, longest : float
        Bounds of the practical range [m].
    length_bounds : (float, float) or None
        Bounds of the length itself [m], in place of those of the practical range.
    floor : float
        Least nugget variance.
    known : float
        Mean known noise variance of a (pooled) reading.
    known_sd : float
        Log sd of that.
    share : float
        Mean share of a nugget that a pooled reading carries.
    scatter : (float, float)
        Sum of squares of repeats about their places, and its degrees of freedom.
    hidden : bool
        Whether a field may vary on a scale too short to be seen.
    active : bool
        False for bounds alone.
    earlier : EarlierFloors or None
        What earlier floors lead to expect; None for the weak priors alone.
    """

    scale: float
    shortest: float
    longest: float
    length_bounds: tuple[float, float] | None
    floor: float
    known: float
    known_sd: float
    share: float
    scatter: tuple[float, float]
    hidden: bool
    active: bool
    earlier: EarlierFloors | None = None

    @property
    def nugget(self) -> float:
        """Nugget expected beforehand."""
        if self.known > 0.0:
            return max(self.floor, (KNOWN_EXCESS - 1.0) * self.known)
        return max(self.floor, NUGGET_SHARE * self.scale)

    def ranges(self, kind: str) -> tuple[float, float]:
        """Bounds of the log practical range."""
        if self.length_bounds is None:
            low, high = self.shortest, self.longest
        else:
            low, high = (PRACTICAL[kind] * length for length in self.length_bounds)
        return float(np.log(low)), float(np.log(high))

    def nugget_of(self, noise: Array) -> Array:
        """Nugget behind a mean noise variance of the pooled readings."""
        return np.maximum((noise - self.known) / self.share, self.floor)

    @property
    def _middle(self) -> float:
        """Log practical range expected beforehand: between the spacing and the extent."""
        return float(0.5 * np.log(self.shortest / LEAST_SPACINGS * self.longest))

    def log_range(self, log_range: Array) -> Array:
        """Log density of the log practical range."""
        if not self.active:
            return np.zeros_like(log_range)
        if self.earlier is None:
            return _normal(log_range, self._middle, RANGE_SD)
        usual = (self._middle, RANGE_SD)
        return self.earlier.log_density(log_range, self.earlier.log_range, usual)

    @property
    def chance_too_short(self) -> float:
        """Probability beforehand of a range below ``shortest``, which readings cannot show."""
        if not self.hidden:
            return 1e-12
        least = float(np.log(self.shortest))
        if self.earlier is None:
            return float(ndtr((least - self._middle) / RANGE_SD))
        usual = (self._middle, RANGE_SD)
        return self.earlier.chance_below(least, self.earlier.log_range, usual)

    def log_variance(self, variance: Array) -> Array:
        """Log density of the log field variance."""
        if not self.active:
            return np.zeros_like(variance)
        return _normal(np.log(variance), np.log(self.scale), VARIANCE_SD)

    def log_noise(self, noise: Array) -> Array:
        """Log density of the log mean noise variance; repeats at one place have their say in it."""
        squares, freedom = self.scatter
        nugget = self.nugget_of(noise)
        single = np.maximum(nugget + self.known / self.share, 1e-300)
        found = -0.5 * freedom * np.log(single) - 0.5 * squares / single
        if not self.active:
            return np.asarray(found)
        least = self.known + self.floor * self.share
        short = np.minimum(np.log(noise / max(least, 1e-300)), 0.0)
        found = found - 0.5 * (short / KNOWN_SD) ** 2
        usual = self._log_usual(noise, float(np.log(max(least, NUGGET_SHARE * self.scale))))
        if self.known <= 0.0:
            return np.asarray(found + usual)
        pinned = _normal(np.log(noise), np.log(KNOWN_EXCESS * self.known), self.known_sd)
        both = np.logaddexp(np.log(KNOWN_CHANCE) + pinned, np.log(1.0 - KNOWN_CHANCE) + usual)
        return np.asarray(found + both)

    def _log_usual(self, noise: Array, centre: float) -> Array:
        """Log density of the log mean noise variance where repeats do not tell it."""
        if self.earlier is None:
            return _normal(np.log(noise), centre, NUGGET_SD)
        # earlier floors tell the noise of one reading; pooled ones carry a share of it
        single, usual = np.log(noise / self.share), (centre - float(np.log(self.share)), NUGGET_SD)
        return self.earlier.log_density(single, self.earlier.log_noise, usual)


def prior_for(data: Observations, options: FitOptions) -> Prior:
    """Weak priors from the layout of the readings and their spread."""
    spacing = spacing_of(data.points)
    centre = float(data.values.mean())
    rounding = (1e-12 * max(abs(centre), 1e-6)) ** 2
    scale = max(float(data.values.var(ddof=1)), options.nugget_floor, rounding)
    shortest = LEAST_SPACINGS * spacing
    pairs = options.repeat_pairs
    return Prior(
        scale=scale,
        shortest=shortest,
        longest=max(diameter_of(data.points), 2.0 * shortest),
        length_bounds=options.length_bounds,
        floor=max(options.nugget_floor, 1e-6 * scale),
        known=float(data.noise.mean()),
        known_sd=KNOWN_SD if pairs is None else float(np.hypot(KNOWN_SD, np.sqrt(2.0 / pairs))),
        share=float((1.0 / data.repeats).mean()),
        scatter=data.scatter,
        hidden=options.hidden,
        active=options.priors,
        earlier=options.earlier,
    )


def _normal(value: Array | float, centre: float, sd: float) -> Array:
    """Log density of a normal variable."""
    return np.asarray(-0.5 * ((value - centre) / sd) ** 2 - np.log(sd * np.sqrt(2.0 * np.pi)))
