"""Straight ridges: segments of found lines, their profile, place and ends."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf

from moisturemap.anomalies.mean import Mean
from moisturemap.anomalies.templates import FOOTPRINT, REACH

Array = NDArray[np.float64]

WIDTHS = (0.4, 0.55, 0.75, 1.0)
"""Widths tried for a ridge [spacings]."""

USUAL_WIDTH, WIDTH_SPREAD = 0.6, 0.5
"""Width a ridge leans to [spacings] and how firmly, as the sd of its logarithm: a thin ridge
between two rows and a broader, weaker one explain the same readings."""

FINE = (0.8, 0.9, 1.0, 1.12, 1.25)
"""Factors tried on the width at last."""

LEAST_RISE = 0.3
"""A stretch of a ridge counts as read where some reading sees this share of its strength."""

STEP_REACH = 12.0
"""How far to either side a step is looked at [spacings]."""

BEYOND = 14
"""How far past its ends a ridge is looked for [spacings]."""


@dataclass(frozen=True)
class Ridge:
    """A straight ridge [m]: centre, direction [rad], length and sd of its profile."""

    centre: tuple[float, float]
    angle: float
    length: float
    width: float

    @property
    def way(self) -> Array:
        """Unit vector along the ridge."""
        return np.array([np.cos(self.angle), np.sin(self.angle)])

    @property
    def ends(self) -> Array:
        """Both ends, shape (2, 2) [m]."""
        half = 0.5 * self.length * self.way
        return np.array([np.asarray(self.centre) - half, np.asarray(self.centre) + half])

    def frame(self, points: Array) -> tuple[Array, Array]:
        """Coordinates along and across the ridge from its centre, each (n,) [m]."""
        offset = points - np.asarray(self.centre)
        way = self.way
        return offset @ way, offset @ np.array([-way[1], way[0]])

    def weights(self, points: Array) -> Array:
        """Rise of readings at points (n, 2) for a unit of strength, (n,)."""
        along, across = self.frame(points)
        past = np.maximum(np.abs(along) - 0.5 * self.length, 0.0)
        distance = np.hypot(past, across)
        weight = np.exp(-0.5 * (distance / self.width) ** 2)
        return np.where(distance <= REACH * self.width, weight, 0.0)

    def steps(self, points: Array, spacing: float) -> Array:
        """Rows (4, n) of sharp steps beside the ridge, as a change of thickness makes them."""
        along, across = self.frame(points)
        near = (np.abs(along) <= 0.5 * self.length) & (np.abs(across) <= STEP_REACH * spacing)
        places = spacing * np.array([-1.0, -0.5, 0.5, 1.0])
        return np.where(near, np.sign(across - places[:, None]), 0.0)

    def rivals(self, points: Array, times: float) -> Array:
        """Broad columns (n, 3) it must stand against: a wide ridge, a slope and a step."""
        along, across = self.frame(points)
        width = times * self.width
        past = np.maximum(np.abs(along) - 0.5 * self.length, 0.0)
        taper = np.exp(-0.5 * (past / self.width) ** 2)
        wide = taper * np.exp(-0.5 * (across / width) ** 2)
        window = taper * np.exp(-0.5 * (across / (2 * width)) ** 2)
        wide[wide < 0.01] = 0.0
        window[window < 0.01] = 0.0
        step = window * erf(across / (0.5 * width))
        return np.column_stack([wide, across / width * wide, step])


def _moved(ridge: Ridge, turn: float, shift: float, width: float) -> Ridge:
    normal = np.array([-ridge.way[1], ridge.way[0]])
    centre = np.asarray(ridge.centre) + shift * normal
    return replace(
        ridge, centre=(float(centre[0]), float(centre[1])), angle=ridge.angle + turn, width=width
    )


def settle(
    ridge: Ridge, mean: Mean, points: Array, widths: tuple[float, ...], usual: float, step: float
) -> Ridge:
    """Turn, shift and widen a ridge to where its score is greatest.

    Parameters
    ----------
    widths : tuple of float
        Widths to try [m].
    usual : float
        Width to lean to where the readings hardly tell [m].
    step : float
        Greatest shift, also of the ends as the ridge turns [m].
    """
    turn = 2.0 * step / max(ridge.length, 4 * ridge.width)
    shares = (-1.0, -0.5, 0.0, 0.5, 1.0)
    tried = [
        _moved(ridge, turn * a, step * b, width) for a in shares for b in shares for width in widths
    ]
    rows = np.array([one.weights(points) for one in tried])
    scores = mean.standardised(rows)
    off = np.log([one.width / usual for one in tried]) / WIDTH_SPREAD
    return tried[int(np.argmax(scores * np.abs(scores) - off**2))]


def ends_of_evidence(ridge: Ridge, mean: Mean, points: Array, spacing: float) -> Ridge:
    """Lengthen or shorten a ridge to the stretch that explains most.

    The stretch of bins one spacing long with the greatest (sum s)^2 / (sum G), the likelihood gain
    of one strength over the whole stretch.
    """
    count = int(np.ceil(ridge.length / spacing)) + 2 * BEYOND
    middles = (np.arange(count) - 0.5 * (count - 1)) * spacing
    along, across = ridge.frame(points)
    profile = np.where(
        np.abs(across) <= REACH * ridge.width, np.exp(-0.5 * (across / ridge.width) ** 2), 0.0
    )
    bins = np.floor((along - middles[0]) / spacing + 0.5).astype(int)
    rows = np.where(bins == np.arange(count)[:, None], profile, 0.0)
    score, gram = mean.partial(rows)
    sums = np.concatenate([[0.0], np.cumsum(score)])
    area = np.zeros((count + 1, count + 1))
    area[1:, 1:] = gram.cumsum(axis=0).cumsum(axis=1)
    low, high = np.triu_indices(count + 1, 1)
    read = np.asarray((rows > LEAST_RISE).any(axis=1))
    bounded = read[low] & read[high - 1]
    low, high = low[bounded], high[bounded]
    if low.size == 0:
        return ridge
    total = sums[high] - sums[low]
    norm = area[high, high] - area[low, high] - area[high, low] + area[low, low]
    gain = np.where((norm > 1e-12) & (total > 0), total**2 / np.maximum(norm, 1e-12), 0.0)
    best = int(np.argmax(gain))
    first, last = middles[low[best]] - 0.5 * spacing, middles[high[best] - 1] + 0.5 * spacing
    centre = np.asarray(ridge.centre) + 0.5 * (first + last) * ridge.way
    return replace(ridge, centre=(float(centre[0]), float(centre[1])), length=float(last - first))


def refine(ridge: Ridge, mean: Mean, points: Array, spacing: float) -> Ridge:
    """Settle a ridge, find its ends, and settle it again more finely."""
    reach = 0.5 * ridge.length + (BEYOND + 2) * spacing
    along, across = ridge.frame(points)
    near = (np.abs(along) <= reach) & (np.abs(across) <= 5 * spacing)
    if near.sum() < 4:
        return ridge
    widths = tuple(width * spacing for width in WIDTHS)
    if 1.3 * spacing < FOOTPRINT:
        widths += (0.75 * FOOTPRINT, FOOTPRINT)
    usual = USUAL_WIDTH * spacing
    ridge = settle(ridge, mean, points, widths, usual, 0.5 * spacing)
    ridge = ends_of_evidence(ridge, mean, points, spacing)
    ridge = settle(ridge, mean, points, widths, usual, 0.25 * spacing)
    ridge = ends_of_evidence(ridge, mean, points, spacing)
    fine = tuple(factor * ridge.width for factor in FINE)
    return settle(ridge, mean, points, fine, usual, 0.1 * spacing)
