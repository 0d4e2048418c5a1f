"""What earlier floors lead to expect of a covariance.

Method: docs/method/kriging.md, "Earlier floors".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, ndtr, stdtr

from moisturemap.checked import NOT_NEGATIVE, at_least, checked, within

Array = NDArray[np.float64]

MOST_TRUST, HALF_TRUST = 0.85, 3.0
"""Most that can be laid on earlier floors, and floors at which half of that is; the rest stays with
what is expected without them, for a floor unlike those before (Schmidli et al., Biometrics 70
(2014) 1023, from memory). Our choice, set by ``scripts/bench/earlier_floors.py``."""

MEAN_FLOORS, SPREAD_FLOORS = 1.0, 4.0
"""Floors that the usual mean and the usual spread count for among the earlier ones. Our choice."""

DIRECTION_FLOORS = 4.0
"""Floors that the usual chance of a direction counts for. Our choice."""


@dataclass(frozen=True)
@checked
class FloorPattern:
    """What the readings of one earlier floor told of its covariance.

    Attributes
    ----------
    practical_range_m, range_log_sd : float
        Middle of the practical range [m], and sd of its log.
    noise_sd, noise_log_sd : float
        Middle of the sd of one reading about the mapped field [reading], and sd of its log.
    chance_of_direction : float
        Probability that ranges differed by direction.
    """

    practical_range_m: Annotated[float, within(1e-3, 1e4, "m")]
    range_log_sd: Annotated[float, NOT_NEGATIVE]
    noise_sd: Annotated[float, within(1e-9, 1e9, "reading units")]
    noise_log_sd: Annotated[float, NOT_NEGATIVE]
    chance_of_direction: Annotated[float, within(0.0, 1.0)]


@dataclass(frozen=True)
class Spread:
    """A normal variable seen on some floors: its mean and sum of squares about it."""

    mean: float
    squares: float

    @classmethod
    def of(cls, values: Array) -> Spread:
        """Of one value a floor. How well each is known stays in the squares: it widens them."""
        return cls(float(values.mean()), float(((values - values.mean()) ** 2).sum()))


@dataclass(frozen=True)
@checked
class EarlierFloors:
    """What earlier floors lead to expect, where more of them are trusted more.

    Attributes
    ----------
    floors : int
    log_range : Spread
        Log practical range [log m].
    log_noise : Spread
        Log variance of one reading about the field.
    directed : float
        Sum over floors of the chance that ranges differed by direction.
    """

    floors: Annotated[int, at_least(1, "floors")]
    log_range: Spread
    log_noise: Spread
    directed: Annotated[float, NOT_NEGATIVE]

    @classmethod
    def of(cls, patterns: Sequence[FloorPattern]) -> EarlierFloors | None:
        """Gather floors; None of no floor."""
        if not patterns:
            return None
        ranges = np.log([one.practical_range_m for one in patterns])
        noises = 2.0 * np.log([one.noise_sd for one in patterns])
        directed = sum(one.chance_of_direction for one in patterns)
        return cls(len(patterns), Spread.of(ranges), Spread.of(noises), float(directed))

    @property
    def trust(self) -> float:
        """Weight of the earlier floors against what is expected without them."""
        return MOST_TRUST * self.floors / (self.floors + HALF_TRUST)

    def chance_of_direction(self, usual: float) -> float:
        """Chance that ranges differ by direction on a further floor."""
        return (DIRECTION_FLOORS * usual + self.directed) / (DIRECTION_FLOORS + self.floors)

    def log_density(self, value: ArrayLike, seen: Spread, usual: tuple[float, float]) -> Array:
        """Log density of a variable on a further floor.

        Parameters
        ----------
        value : array_like
        seen : Spread
            ``log_range`` or ``log_noise``.
        usual : (float, float)
            Mean and sd of the normal density without earlier floors.
        """
        at = np.asarray(value, dtype=float)
        plain = -0.5 * ((at - usual[0]) / usual[1]) ** 2 - np.log(usual[1] * np.sqrt(2.0 * np.pi))
        freedom, middle, scale = self._further(seen, usual)
        told = _log_student((at - middle) / scale, freedom) - np.log(scale)
        return np.asarray(np.logaddexp(np.log(self.trust) + told, np.log1p(-self.trust) + plain))

    def chance_below(self, value: float, seen: Spread, usual: tuple[float, float]) -> float:
        """Probability that the variable lies below a value on a further floor."""
        freedom, middle, scale = self._further(seen, usual)
        plain = float(ndtr((value - usual[0]) / usual[1]))
        told = float(stdtr(freedom, (value - middle) / scale))
        return float(self.trust * told + (1.0 - self.trust) * plain)

    def _further(self, seen: Spread, usual: tuple[float, float]) -> tuple[float, float, float]:
        """Degrees of freedom, middle and scale of a further floor's value.

        Posterior predictive of a normal variable under its conjugate prior (Gelman et al.,
        Bayesian Data Analysis, 3rd ed. (2013), section 3.3).
        """
        count, usual_mean, usual_sd = self.floors, *usual
        weight, freedom = MEAN_FLOORS + count, SPREAD_FLOORS + count
        middle = (MEAN_FLOORS * usual_mean + count * seen.mean) / weight
        apart = MEAN_FLOORS * count / weight * (seen.mean - usual_mean) ** 2
        variance = (SPREAD_FLOORS * usual_sd**2 + seen.squares + apart) / freedom
        return freedom, middle, float(np.sqrt(variance * (1.0 + 1.0 / weight)))


def _log_student(z: Array, freedom: float) -> Array:
    """Log density of Student's t."""
    whole = gammaln(0.5 * (freedom + 1.0)) - gammaln(0.5 * freedom)
    return np.asarray(
        whole - 0.5 * np.log(freedom * np.pi) - 0.5 * (freedom + 1.0) * np.log1p(z * z / freedom)
    )
