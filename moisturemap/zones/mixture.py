"""One normal population or two: the likelihood ratio, for many samples at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SD_RATIO = 4.0
"""Largest ratio of the two standard deviations, without which the likelihood has no maximum
(Hathaway, R. J. (1985), Annals of Statistics 13(2), 795-800); the value is a project choice."""

STARTS = (0.5, 0.75, 0.9)
"""Quantiles at which samples are first split into a lower and an upper part."""

ROUNDS = 60

MOST_LOG_ODDS = 700.0
"""Log odds beyond which a value belongs to one part alone; exp of more overflows."""


@dataclass(frozen=True, slots=True)
class TwoNormals:
    """A two-component normal mixture for each of k samples; lower component first.

    Attributes
    ----------
    weight, mean, sd : ndarray, shape (k, 2)
    ratio : ndarray, shape (k,)
        2 (log likelihood of two components - that of one).
    """

    weight: Array
    mean: Array
    sd: Array
    ratio: Array

    def contrast(self) -> Array:
        """Distance of the means over the sd of the lower component, shape (k,)."""
        return np.asarray((self.mean[:, 1] - self.mean[:, 0]) / self.sd[:, 0])


def fit_two_normals(samples: Array) -> TwoNormals:
    """Fit two normals by expectation-maximisation from several starts; keep the likeliest.

    Parameters
    ----------
    samples : ndarray, shape (k, n)
        k samples of n values, none constant.
    """
    ordered = np.sort(samples, axis=1)
    centre = ordered.mean(axis=1, keepdims=True)
    scale = ordered.std(axis=1, keepdims=True)
    unit = (ordered - centre) / scale
    size = unit.shape[1]
    one = -0.5 * size * (1.0 + np.log(2.0 * np.pi))
    best: tuple[Array, ...] | None = None
    for start in STARTS:
        fitted = _expectation_maximisation(unit, round(start * size))
        if best is None:
            best = fitted
            continue
        better = fitted[3] > best[3]
        best = tuple(
            np.where(better if old.ndim == 1 else better[:, None], new, old)
            for new, old in zip(fitted, best, strict=True)
        )
    assert best is not None
    weight, mean, sd, likelihood = best
    swap = np.argsort(mean, axis=1)
    weight, mean, sd = (np.take_along_axis(part, swap, axis=1) for part in (weight, mean, sd))
    ratio = np.maximum(2.0 * (likelihood - one), 0.0)
    return TwoNormals(weight, mean * scale + centre, sd * scale, ratio)


def _expectation_maximisation(unit: Array, split: int) -> tuple[Array, Array, Array, Array]:
    """Run EM on sorted, standardised samples from a first split into lower and upper part."""
    count, size = unit.shape
    split = min(max(split, 2), size - 2)
    upper = np.zeros((count, size))
    upper[:, split:] = 1.0
    weight, mean, sd = _moments(unit, upper)
    for _ in range(ROUNDS - 1):
        weight, mean, sd = _moments(unit, _share_of_upper(unit, weight, mean, sd))
    density = sum(
        weight[:, [part]]
        / sd[:, [part]]
        * np.exp(-0.5 * ((unit - mean[:, [part]]) / sd[:, [part]]) ** 2)
        for part in (0, 1)
    )
    likelihood = np.log(np.maximum(density, 1e-300)).sum(axis=1)
    return weight, mean, sd, likelihood - 0.5 * size * np.log(2.0 * np.pi)


def _share_of_upper(unit: Array, weight: Array, mean: Array, sd: Array) -> Array:
    """How much of each value belongs to the upper part."""
    # The log of how much likelier the lower part is, is a parabola: one exponential for two.
    bend = -0.5 / sd**2
    at_zero = np.log(weight / sd) + bend * mean**2
    zeroth, first, second = (
        part[:, [0]] - part[:, [1]] for part in (at_zero, -2.0 * bend * mean, bend)
    )
    odds = second * unit
    odds += first
    odds *= unit
    odds += zeroth
    np.exp(np.minimum(odds, MOST_LOG_ODDS, out=odds), out=odds)
    odds += 1.0
    return np.divide(1.0, odds, out=odds)


def _moments(unit: Array, upper: Array) -> tuple[Array, Array, Array]:
    """Weights, means and bounded standard deviations for given memberships.

    The samples are standardised: their sums are 0 and of their squares their number.
    """
    size = unit.shape[1]
    total = np.clip(upper.sum(axis=1), 1e-6, size - 1e-6)
    weighted = upper * unit
    first, second = weighted.sum(axis=1), np.einsum("kn,kn->k", weighted, unit)
    share = np.column_stack([size - total, total])
    mean = np.column_stack([-first, first]) / share
    square = np.column_stack([size - second, second]) / share
    sd = np.sqrt(np.maximum(square - mean**2, 1e-8))
    sd = np.maximum(sd, sd.max(axis=1, keepdims=True) / SD_RATIO)
    return share / size, mean, sd


def crossing(weight: Array, mean: Array, sd: Array) -> float:
    """Value between the two means at which a reading is as likely wet as dry.

    Parameters
    ----------
    weight, mean, sd : ndarray, shape (2,)
        Of the lower and the upper component.
    """
    between = np.linspace(mean[0], mean[1], 2001)
    log_density = (
        np.log(weight[:, None] / sd[:, None])
        - 0.5 * ((between[None, :] - mean[:, None]) / sd[:, None]) ** 2
    )
    upper_wins = log_density[1] >= log_density[0]
    return float(between[np.argmax(upper_wins)]) if upper_wins.any() else float(mean[1])
