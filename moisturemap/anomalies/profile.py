"""What one sweep reads across a place: how sharply it rises there, and on which hands it falls.

Method: docs/method/anomalies.md, section 5.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.swept import CROSSES_M

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PEAK_M = 0.35
"""The peak of a sweep lies within this of what it crosses [m]."""

ONE_PLACE_M = 0.15
"""The peaks of two sweeps across a compact thing lie this near [m]: those of sweeps past the middle
of a round wet patch of a radius of 0.25 m and more lie apart (our choice, by geometry)."""

HAND_M, LEAST = 0.65, 2
"""Floor on either hand: so far from the peak [m], the mean of so many lowest readings, without
which a hand was not seen."""


@dataclass(frozen=True, eq=False)
class Profile:
    """A sweep across a place.

    Attributes
    ----------
    peak, way : ndarray, shape (2,)
        Place of the highest reading [m], and the direction of the sweep.
    falls : (float, float)
        How far the floor on either hand lies below the peak [reading]; NaN for a hand not seen.
    width : float
        Full width at half the smaller fall [m]; at least that where a hand was not seen.
    """

    peak: Array
    way: Array
    falls: tuple[float, float]
    width: float

    @property
    def contrast(self) -> float:
        """How far the peak stands over the higher hand seen [reading]."""
        return float(np.nanmin(self.falls))

    @property
    def seen(self) -> bool:
        """Whether it saw the floor on both hands."""
        return bool(np.isfinite(self.falls).all())

    def across(self, other: Array) -> bool:
        """Whether it was walked more across than along a direction (2,)."""
        return bool(abs(self.way @ other) < np.sqrt(0.5))


def profiles_at(points: Array, values: Array, runs: Sequence[Index], place: Array) -> list[Profile]:
    """Return what sweeps read across a place.

    Parameters
    ----------
    points, values : ndarray, shape (n, 2) and (n,)
        All readings [m], [reading].
    runs : sequence of ndarray of int
        The sweeps among them, each in the order it was read.
    place : ndarray, shape (2,)
        [m]
    """
    found = (_profile(points[run], values[run], place) for run in runs)
    return [one for one in found if one is not None]


def _profile(points: Array, values: Array, place: Array) -> Profile | None:
    way = points[-1] - points[0]
    way = way / np.hypot(*way)
    offset = points - place
    along = offset @ way
    aside = np.abs(offset @ np.array([-way[1], way[0]])).min()
    near = np.flatnonzero(np.abs(along) <= PEAK_M)
    if aside > CROSSES_M or not near.size:
        return None
    peak = int(near[values[near].argmax()])
    reach = np.abs(along - along[peak]) <= HAND_M
    hands = values[:peak][reach[:peak]], values[peak + 1 :][reach[peak + 1 :]]
    if max(hand.size for hand in hands) < LEAST:
        return None
    # the two highest together: one reading may be off
    top = float(np.sort(values[max(peak - 1, 0) : peak + 2])[-2:].mean())
    low = [float(np.sort(hand)[:LEAST].mean()) if hand.size >= LEAST else np.nan for hand in hands]
    falls = top - low[0], top - low[1]
    half = top - 0.5 * float(np.nanmin(falls))
    ends = _down(along[peak::-1], values[peak::-1], half), _down(along[peak:], values[peak:], half)
    return Profile(points[peak], way, falls, abs(ends[1] - ends[0]))


def _down(along: Array, values: Array, level: float) -> float:
    """Where readings first fall to a level on the way from a peak, by straight lines [m]."""
    below = np.flatnonzero(values <= level)
    if not below.size or below[0] == 0:
        return float(along[-1] if not below.size else along[0])
    k = int(below[0])
    share = (values[k - 1] - level) / (values[k - 1] - values[k])
    return float(along[k - 1] + share * (along[k] - along[k - 1]))


def crossed_ways(profiles: list[Profile]) -> bool:
    """Whether two of some profiles were walked across each other."""
    return any(one.across(other.way) for one, other in combinations(profiles, 2))


def at_one_place(profiles: list[Profile]) -> bool:
    """Whether two of some profiles, walked across each other, have their peak at one place.

    Two chords of a round patch, each narrower than the patch, do not.
    """
    return any(
        one.across(other.way) and np.hypot(*(one.peak - other.peak)) <= ONE_PLACE_M
        for one, other in combinations(profiles, 2)
    )
