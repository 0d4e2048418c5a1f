"""Where a floor varies more than elsewhere, the interval is widened.

Method: docs/method/kriging.md, "Wet patches on a dry floor".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PAIR = 1.6
"""Greatest distance of a pair of neighbours, in typical distances: diagonal ones count."""

REACH = 0.6
"""Sd of the bell in which pairs speak for a place, in typical distances: the front of a wet patch
lies between two readings. Our choice, on floors by other hands: 0.8 holds as much there and widens
more elsewhere."""

NEAREST = 16
"""Pairs looked at around a place: those beyond weigh next to nothing."""

MOST = 40.0
"""Ratio at which the squared difference of a pair is capped: a stray is no front."""

LEAST_SPREAD = 0.2
"""Variance of the local variance below which the floor counts as alike everywhere. Our choice: nine
in ten stationary floors of 100 to 1,000 readings stay below 0.08, nine in ten with wet patches
above 0.5."""

KURTOSIS = 3.0
"""Mean fourth power of a normal variable over its squared variance."""


@dataclass(frozen=True)
class Widening:
    """Local factor of the standard deviation, 1 or more.

    Attributes
    ----------
    middles : ndarray, shape (p, d)
        Middles of the pairs of neighbouring readings [m].
    excess : ndarray, shape (p,)
        Half their squared difference over its expectation, less 1.
    gap : float
        Typical distance between readings [m].
    spread : float
        Variance of the local variance about 1.
    """

    middles: Array
    excess: Array
    gap: float
    spread: float

    @classmethod
    def of(
        cls, places: Array, values: Array, gap: float, expected: Callable[[Index], Array]
    ) -> Widening | None:
        """Learn it from pairs of neighbouring readings, or return None where all differ alike.

        Where the variance of the field is g times the model's, half the squared difference of a
        pair is g times the semivariance on average. That of normal values with one g has a mean
        square of three times its squared mean; what it has beyond tells how much g varies over the
        floor (empirical Bayes).

        Parameters
        ----------
        places : ndarray, shape (n, d)
            Readings [m].
        values : ndarray, shape (n,)
            Without drift; NaN where unknown.
        gap : float
            Typical distance between readings [m].
        expected : callable
            Semivariance of pairs of readings (p, 2), noise included: (p,).
        """
        pairs = cKDTree(places).query_pairs(PAIR * gap, output_type="ndarray")
        half = 0.5 * (values[pairs[:, 0]] - values[pairs[:, 1]]) ** 2
        pairs, half = pairs[np.isfinite(half)], half[np.isfinite(half)]
        if len(pairs) == 0:
            return None
        ratio = np.minimum(half / np.maximum(expected(pairs), 1e-300), MOST)
        spread = float(np.mean(ratio**2) / max(KURTOSIS * np.mean(ratio) ** 2, 1e-300)) - 1.0
        if spread < LEAST_SPREAD:
            return None
        return cls(places[pairs].mean(axis=1), ratio - 1.0, gap, spread)

    @cached_property
    def tree(self) -> cKDTree:
        """Pairs by their middle; a map is asked for one hole after the other."""
        return cKDTree(self.middles)

    def at(self, cells: Array) -> Array:
        """Factor of the standard deviation at cells (m, d): (m,).

        The local variance is the weighted mean of the pairs around (each has a variance of two),
        shrunk towards 1 by its spread over the floor, and never taken below 1: narrowing an
        interval on a few lucky readings would do harm, widening it does not.
        """
        count = min(NEAREST, len(self.middles))
        apart, near = self.tree.query(cells, k=np.arange(1, count + 1))
        weight = 0.5 * np.exp(-0.5 * (apart / (REACH * self.gap)) ** 2)
        pull = (weight * self.excess[near]).sum(axis=1)
        known = weight.sum(axis=1)
        return np.asarray(np.sqrt(np.maximum(1.0 + pull / (1.0 / self.spread + known), 1.0)))
