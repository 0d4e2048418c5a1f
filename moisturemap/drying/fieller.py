"""The interval of a ratio of two estimates, which may be open."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RatioInterval:
    """A ratio with its interval.

    Attributes
    ----------
    value : float
        Ratio of the two estimates.
    low, high : float
        Ends of the interval; ``-inf`` or ``inf`` where the data allow no end.
    """

    value: float
    low: float
    high: float

    @property
    def bounded(self) -> bool:
        """True when both ends are finite."""
        return math.isfinite(self.low) and math.isfinite(self.high)


def fieller(numerator: float, denominator: float, covariance: Array, z: float) -> RatioInterval:
    """Return the interval of numerator / denominator.

    All ratios r for which numerator - r denominator is within z of its standard deviation of zero
    (Fieller, J. R. Statist. Soc. B 16 (1954) 175). With a = denominator^2 - z^2 V22 at or below
    zero the denominator may be zero and the interval is not bounded: the side is then closed
    only where the quadratic has a root on the side of the estimate.

    Parameters
    ----------
    numerator, denominator : float
    covariance : array_like, shape (2, 2)
        Of numerator and denominator, in this order.
    z : float
        Normal (or t) quantile.
    """
    v = np.asarray(covariance, dtype=float)
    value = numerator / denominator if denominator else math.inf
    a = denominator**2 - z**2 * v[1, 1]
    b = -2.0 * (numerator * denominator - z**2 * v[0, 1])
    c = numerator**2 - z**2 * v[0, 0]
    root = b * b - 4.0 * a * c
    if a > 0.0:
        half = math.sqrt(max(root, 0.0))
        return RatioInterval(value, float(-b - half) / (2.0 * a), float(-b + half) / (2.0 * a))
    if root <= 0.0 or a == 0.0:
        return RatioInterval(value, -math.inf, math.inf)
    ends = sorted(((-b - math.sqrt(root)) / (2.0 * a), (-b + math.sqrt(root)) / (2.0 * a)))
    if value >= ends[1]:
        return RatioInterval(value, ends[1], math.inf)
    return RatioInterval(value, -math.inf, ends[0])
