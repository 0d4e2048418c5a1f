"""Ranges that differ by direction, only where the readings earn it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.likelihood import restricted_log_likelihood
from moisturemap.geostat.observations import Observations

Array = NDArray[np.float64]

THRESHOLD = 5.991
"""95 % point of chi-squared with two degrees of freedom."""

SAMPLE = 150
WHOLE = 400
ANGLES = tuple(np.arange(0.0, 180.0, 22.5))
RATIOS = (0.75, 0.5)
LEAST_GAIN = 1.0
LEAST_RATIO = 0.1


def earned_anisotropy(data: Observations, drift: Array, model: Covariance) -> tuple[float, float]:
    """Ratio of ranges and direction of the longer one [degrees]; (1, 0) when not earned.

    Geometric anisotropy is accepted when twice the gain in restricted log likelihood exceeds the
    95 % point of chi-squared with two degrees of freedom (Weller and Hoeting, Stat. Sci. 31 (2016)
    305, review such tests). A coarse search on a sample comes first and spares the full one.
    """
    if data.points.shape[1] != 2:
        return 1.0, 0.0
    few = _Subset(data, drift, SAMPLE)
    base = few.likelihood(model)
    tried = {
        (ratio, angle): few.likelihood(_bent(model, ratio, angle))
        for ratio in RATIOS
        for angle in ANGLES
    }
    (ratio, angle), best = max(tried.items(), key=lambda item: item[1])
    if best < base + LEAST_GAIN:
        return 1.0, 0.0
    return _refined(_Subset(data, drift, WHOLE), model, ratio, angle)


class _Subset:
    """A sample of the readings."""

    def __init__(self, data: Observations, drift: Array, count: int) -> None:
        total = len(data.points)
        chosen = np.random.default_rng(11).permutation(total)[:count]
        self._points, self._values = data.points[chosen], data.values[chosen]
        self._drift = drift[chosen]
        self._noise, self._repeats = data.noise[chosen], data.repeats[chosen]

    def likelihood(self, model: Covariance) -> float:
        noise = self._noise + model.nugget / self._repeats
        return restricted_log_likelihood(self._points, self._values, model, noise, self._drift)


def _bent(model: Covariance, ratio: float, angle: float) -> Covariance:
    return replace(
        model, length=model.length / np.sqrt(ratio), anisotropy=ratio, angle_deg=angle % 180.0
    )


def _refined(subset: _Subset, model: Covariance, ratio: float, angle: float) -> tuple[float, float]:
    """Full search from a coarse one; each side gets its best scale, so the test is fair."""

    def stretched(theta: Array) -> float:
        bent_ratio = float(np.clip(np.exp(theta[0]), LEAST_RATIO, 1.0))
        scaled = replace(
            model,
            variance=model.variance * np.exp(theta[2]),
            length=model.length * np.exp(theta[3]),
        )
        return -subset.likelihood(_bent(scaled, bent_ratio, float(np.rad2deg(theta[1]))))

    def plain(theta: Array) -> float:
        return stretched(np.array([0.0, 0.0, *theta]))

    limits = {"maxfev": 120, "xatol": 0.02, "fatol": 0.05}
    equal = minimize(plain, np.zeros(2), method="Nelder-Mead", options=limits)
    first = np.array([np.log(ratio), np.deg2rad(angle), *equal.x])
    best = minimize(stretched, first, method="Nelder-Mead", options=limits)
    if 2.0 * (equal.fun - best.fun) <= THRESHOLD:
        return 1.0, 0.0
    chosen = float(np.clip(np.exp(best.x[0]), LEAST_RATIO, 1.0))
    return chosen, float(np.rad2deg(best.x[1]) % 180.0)
