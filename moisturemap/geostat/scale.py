"""Scales on which readings are kriged: as they are, or stretched at the ends of a bounded scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ValueScale:
    """A monotone change of scale.

    Attributes
    ----------
    low, high : float
        Limits, just outside every value the instrument can show; infinite for the identity.
    """

    low: float = -np.inf
    high: float = np.inf

    @classmethod
    def bounded(cls, scale: tuple[float, float], step: float) -> ValueScale:
        """Logit scale of an instrument, its limits moved out by half a step or half a percent."""
        low, high = scale
        margin = max(0.5 * step, 0.005 * (high - low))
        return cls(low - margin, high + margin)

    @property
    def is_identity(self) -> bool:
        """True when values are taken as they are."""
        return not np.isfinite(self.high - self.low)

    def forward(self, values: Array) -> Array:
        """Turn reading units into kriged units."""
        if self.is_identity:
            return values
        return np.asarray(logit(np.clip((values - self.low) / (self.high - self.low), 0.0, 1.0)))

    def back(self, values: Array) -> Array:
        """Turn kriged units into reading units (medians stay medians)."""
        if self.is_identity:
            return values
        return np.asarray(self.low + (self.high - self.low) * expit(values))

    def slope(self, values: Array) -> Array:
        """Kriged units per reading unit at values in reading units."""
        if self.is_identity:
            return np.ones_like(values)
        share = (values - self.low) / (self.high - self.low)
        return np.asarray(1.0 / ((self.high - self.low) * share * (1.0 - share)))

    def back_interval(self, mean: Array, sd: Array) -> tuple[Array, Array]:
        """Median and half the width of the central 68% interval, in reading units."""
        if self.is_identity:
            return mean, sd
        return self.back(mean), 0.5 * (self.back(mean + sd) - self.back(mean - sd))


IDENTITY = ValueScale()
