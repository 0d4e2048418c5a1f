"""What is known of a covariance before the readings are looked at."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.observations import Observations, spacing_of

Array = NDArray[np.float64]

PRACTICAL = {"exponential": 2.9957, "matern32": 2.7389, "matern52": 2.6468, "spherical": 0.8108}
"""Distance at which the correlation has fallen to 0.05, in lengths."""

RANGE_SD = 1.0
VARIANCE_SD = 1.0
NUGGET_SD = 1.5
NUGGET_SHARE = 0.1
"""Weak priors: log-normal sd of range, field variance and nugget; expected share of the nugget."""


@dataclass(frozen=True)
class Prior:
    """Bounds and log-normal priors of range, field variance and nugget.

    Attributes
    ----------
    centre, scale : float
        Mean and variance of the readings.
    shortest, longest, middle : float
        Bounds and centre of the practical range [m].
    floor : float
        Least nugget variance.
    length_bounds : (float, float) or None
        Bounds of the length itself [m], in place of those of the practical range.
    active : bool
        False for bounds alone.
    """

    centre: float
    scale: float
    shortest: float
    longest: float
    middle: float
    floor: float
    length_bounds: tuple[float, float] | None = None
    active: bool = True

    def bounds(self, kind: str) -> Array:
        """Bounds of log variance, log length, log nugget: (3, 2)."""
        lengths = self.length_bounds or (
            self.shortest / PRACTICAL[kind],
            self.longest / PRACTICAL[kind],
        )
        least = max(self.floor, 1e-6 * self.scale)
        return np.log(
            [
                [1e-4 * self.scale, 100.0 * self.scale],
                lengths,
                [least, max(10.0 * self.scale, 1.0001 * least)],
            ]
        )

    def start(self, kind: str) -> Array:
        """Where a search may start: log variance, log length, log nugget."""
        nugget = max(self.floor, NUGGET_SHARE * self.scale)
        return np.log([0.8 * self.scale, self.middle / PRACTICAL[kind], nugget])

    def penalty(self, model: Covariance) -> tuple[float, Array]:
        """Log density at a covariance and its gradient in log variance, length and nugget."""
        if not self.active:
            return 0.0, np.zeros(3)
        spread = np.array([VARIANCE_SD, RANGE_SD, NUGGET_SD])
        middle = np.log(
            [
                self.scale,
                self.middle / PRACTICAL[model.kind],
                max(self.floor, NUGGET_SHARE * self.scale),
            ]
        )
        away = (np.log([model.variance, model.length, model.nugget]) - middle) / spread
        return float(-0.5 * away @ away), -away / spread

    def log_density(self, model: Covariance) -> float:
        """Log density at a covariance, without its constant."""
        return self.penalty(model)[0]


def prior_for(data: Observations, options: FitOptions) -> Prior:
    """Weak priors from the layout of the readings and their spread."""
    spacing = spacing_of(data.points)
    extent = float(np.ptp(data.points, axis=0).max())
    centre = float(data.values.mean())
    scale = float(data.values.var(ddof=1))
    smallest = (1e-6 * max(abs(centre), 1e-6)) ** 2
    scale = max(scale, options.nugget_floor, smallest)
    longest = max(extent, 2.0 * spacing)
    return Prior(
        centre,
        scale,
        spacing,
        longest,
        float(np.sqrt(spacing * longest)),
        options.nugget_floor,
        options.length_bounds,
        options.priors,
    )


def as_kind(model: Covariance, kind: str) -> Covariance:
    """Return a covariance of another kind with the same practical range."""
    length = model.length * PRACTICAL[model.kind] / PRACTICAL[kind]
    return replace(model, kind=kind, length=length)
