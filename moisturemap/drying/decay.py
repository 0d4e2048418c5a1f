"""An exponential fall towards a supplied asymptote, and when it meets a target."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri
from scipy.stats import chi2 as chi_squared

from moisturemap.drying.fieller import RatioInterval, fieller
from moisturemap.errors import NotEnoughData, OptionError

Array = NDArray[np.float64]

NODES = np.linspace(-2.5, 2.5, 21)
"""Asymptotes tried, in sd about the one supplied."""

STEPS = 40

MISFIT_LEVEL = 0.05
"""A misfit rarer than this, were the errors as given, widens the intervals."""


@dataclass(frozen=True)
class Decay:
    """L(t) = a + exp(b0 + b1 t), fitted to levels over time.

    Attributes
    ----------
    asymptote : float
        a [reading units], supplied.
    intercept, slope : float
        b0 and b1 [1/day]; the slope is negative where the floor dries.
    covariance : ndarray, shape (2, 2)
        Of b0 and b1.
    chi2 : float
        Misfit, in units of the variances given.
    """

    asymptote: float
    intercept: float
    slope: float
    covariance: Array
    chi2: float

    @property
    def half_life_days(self) -> float:
        """Days in which the excess halves; inf when it does not fall."""
        return math.log(2.0) / -self.slope if self.slope < 0 else math.inf

    def at(self, day: float) -> tuple[float, float]:
        """Level at a day and its sd (linearised)."""
        excess = math.exp(min(self.intercept + self.slope * day, 200.0))
        row = np.array([1.0, day])
        return self.asymptote + excess, excess * math.sqrt(float(row @ self.covariance @ row))

    def met(self, target: float, day: float) -> float:
        """Confidence that the target is met by a day: the test that Fieller's interval inverts."""
        if target <= self.asymptote:
            return 0.0
        row = np.array([1.0, day])
        sd = math.sqrt(max(float(row @ self.covariance @ row), 1e-300))
        gap = math.log(target - self.asymptote) - self.intercept - self.slope * day
        return float(ndtr(gap / sd))

    def met_ever(self, target: float) -> float:
        """Confidence that it is met at any time to come: how sure the slope is negative."""
        if target <= self.asymptote:
            return 0.0
        return float(ndtr(-self.slope / math.sqrt(max(self.covariance[1, 1], 1e-300))))


def fit_decay(days: ArrayLike, levels: ArrayLike, sd: ArrayLike, asymptote: float) -> Decay:
    """Fit an exponential with a supplied asymptote by weighted least squares.

    A Gaussian model with logarithmic link (McCullagh and Nelder, Generalized Linear Models, 2nd
    ed. 1989, ch. 2), so that a level that happens to lie below the asymptote needs no logarithm.

    Parameters
    ----------
    days, levels, sd : array_like, shape (n,)
        Times [days], levels and their standard deviations [reading units].
    asymptote : float

    Raises
    ------
    NotEnoughData
        With fewer than two different times, or when no level lies above the asymptote.
    """
    t, y = np.asarray(days, dtype=float), np.asarray(levels, dtype=float) - asymptote
    sigma = np.maximum(np.asarray(sd, dtype=float), 1e-9)
    if np.unique(t).size < 2:
        message = "a drying rate needs visits at two different times"
        raise NotEnoughData(message)
    if not (y > 0).any():
        message = "no level lies above what the floor dries to"
        raise NotEnoughData(message)
    design = np.column_stack([np.ones_like(t), t])
    weight = np.maximum(y, 0.5 * sigma) / sigma
    start = np.log(np.maximum(y, 0.5 * sigma))
    beta = np.linalg.lstsq(design * weight[:, None], start * weight, rcond=None)[0]
    beta = _descend(design, y, sigma, beta)
    mu = np.exp(np.clip(design @ beta, -50.0, 50.0))
    scaled = design * (mu / sigma)[:, None]
    covariance = np.linalg.pinv(scaled.T @ scaled)
    chi2 = float((((y - mu) / sigma) ** 2).sum())
    return Decay(asymptote, float(beta[0]), float(beta[1]), covariance, chi2)


def _descend(design: Array, y: Array, sigma: Array, beta: Array) -> Array:
    """Gauss-Newton steps, halved until they improve."""

    def misfit(b: Array) -> float:
        return float((((y - np.exp(np.clip(design @ b, -50.0, 50.0))) / sigma) ** 2).sum())

    now = misfit(beta)
    for _ in range(STEPS):
        mu = np.exp(np.clip(design @ beta, -50.0, 50.0))
        scaled = design * (mu / sigma)[:, None]
        step = np.linalg.lstsq(scaled, (y - mu) / sigma, rcond=None)[0]
        size = 1.0
        while size > 1e-4 and misfit(beta + size * step) > now:
            size *= 0.5
        if size <= 1e-4:
            break
        beta = beta + size * step
        last, now = now, misfit(beta)
        if last - now < 1e-10 * max(now, 1.0):
            break
    return beta


def time_to_target(decay: Decay, target: float, level: float = 0.9) -> RatioInterval:
    """Time at which a fitted decay meets a target, with Fieller's interval [days].

    Parameters
    ----------
    decay : Decay
    target : float
        [reading units], above the asymptote.
    level : float
        Probability inside.
    """
    if target <= decay.asymptote:
        message = "a target at or below the asymptote is never met"
        raise OptionError(message, value=target, allowed=f"above {decay.asymptote:g}")
    logged = math.log(target - decay.asymptote)
    v = decay.covariance
    # numerator logged - b0, denominator b1: the sign of the covariance turns
    turned = np.array([[v[0, 0], -v[0, 1]], [-v[0, 1], v[1, 1]]])
    z = float(ndtri(0.5 + level / 2.0))
    return fieller(logged - decay.intercept, decay.slope, turned, z)


@dataclass(frozen=True)
class DecayBlend:
    """Decays for several asymptotes, weighted by how likely each is.

    Attributes
    ----------
    decays : tuple of Decay
    weights : ndarray
        Sum to one: normal prior of the asymptote times the likelihood of the levels.
    """

    decays: tuple[Decay, ...]
    weights: Array

    @property
    def best(self) -> Decay:
        """The decay of greatest weight."""
        return self.decays[int(self.weights.argmax())]

    def met(self, target: float, day: float) -> float:
        """Confidence that the target is met by a day."""
        each = [decay.met(target, day) for decay in self.decays]
        return float(self.weights @ np.array(each))

    def interval(self, target: float, begin: float, level: float = 0.9) -> RatioInterval:
        """Time from a day on until the target is met [days]; ``inf`` where the data set no end.

        With one asymptote the ends are those of Fieller; with several, the confidence that
        Fieller's test gives is averaged over them.
        """
        ever = float(self.weights @ np.array([d.met_ever(target) for d in self.decays]))
        ends = [
            self._when(target, begin, share, ever)
            for share in (0.5, 0.5 - level / 2.0, 0.5 + level / 2.0)
        ]
        return RatioInterval(*ends)

    def _when(self, target: float, begin: float, share: float, ever: float) -> float:
        if self.met(target, begin) >= share:
            return 0.0
        if ever <= share:
            return math.inf
        reach = 1.0
        while self.met(target, begin + reach) < share:
            reach *= 2.0
            if reach > 1e6:
                return math.inf
        return float(brentq(lambda ahead: self.met(target, begin + ahead) - share, 0.0, reach))

    def at(self, day: float) -> tuple[float, float]:
        """Level at a day and its sd."""
        pairs = np.array([decay.at(day) for decay in self.decays])
        mean = float(self.weights @ pairs[:, 0])
        variance = float(self.weights @ (pairs[:, 1] ** 2 + (pairs[:, 0] - mean) ** 2))
        return mean, math.sqrt(variance)


def blend_decays(
    days: ArrayLike, levels: ArrayLike, sd: ArrayLike, asymptote: tuple[float, float]
) -> DecayBlend:
    """Fit decays for an asymptote that is known with an error.

    Parameters
    ----------
    days, levels, sd : array_like, shape (n,)
    asymptote : (float, float)
        What the place dries to, and its standard deviation [reading units].

    Notes
    -----
    With more than two times, a misfit that the errors given do not explain (chi-square beyond its
    95 % point) widens them, by the square root of chi-square over its degrees of freedom.
    """
    centre, spread = asymptote
    nodes = centre + spread * (NODES if spread > 0 else np.zeros(1))
    prior = np.exp(-0.5 * (NODES if spread > 0 else np.zeros(1)) ** 2)
    decays, weights = [], []
    for node, before in zip(nodes, prior, strict=True):
        try:
            decay = fit_decay(days, levels, sd, float(node))
        except NotEnoughData:
            continue
        decays.append(decay)
        weights.append(before * math.exp(-0.5 * min(decay.chi2, 1400.0)))
    if not decays:
        message = "the levels lie at or below what the floor dries to, or at one time only"
        raise NotEnoughData(message)
    weight = np.array(weights)
    if weight.sum() <= 0:
        weight = np.array([1.0 if d.chi2 == min(x.chi2 for x in decays) else 0.0 for d in decays])
    freedom = np.unique(np.asarray(days, dtype=float)).size - 2
    if freedom > 0:
        least = min(decay.chi2 for decay in decays)
        if least > chi_squared.isf(MISFIT_LEVEL, freedom):
            decays = [_widened(decay, least / freedom) for decay in decays]
    return DecayBlend(tuple(decays), weight / weight.sum())


def _widened(decay: Decay, factor: float) -> Decay:
    return Decay(
        decay.asymptote, decay.intercept, decay.slope, decay.covariance * factor, decay.chi2
    )
