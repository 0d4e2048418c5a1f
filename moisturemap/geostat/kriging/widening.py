"""Where a floor varies more than elsewhere, the interval is widened.

Method: docs/method/kriging.md, "Wet patches on a dry floor".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.intp]

REACH = 1.4
"""Sd of the bell in which left-out readings speak for a place, in typical distances. Our choice:
the rim of a wet patch is one or two readings wide."""

NEAREST = 24
"""Left-out readings looked at around a place: those beyond weigh next to nothing."""

PAIRS = (1.3, 2.5)
"""Distances, in typical ones, of the pairs that show whether misses come in clumps. Nearer ones are
correlated in any case: each was predicted from the other."""

MOST = 40.0
"""Squared standardised residual at which a miss is capped: a stray is no rim."""

LEAST_SPREAD = 0.05
"""Variance of the local variance below which the floor counts as alike everywhere."""

LEAST_SHARE = 0.05
"""Least share of the field in the variance of a left-out reading that is divided by."""


@dataclass(frozen=True)
class Widening:
    """Local factor of the standard deviation, 1 or more.

    Attributes
    ----------
    places : ndarray, shape (n, d)
        Places of the left-out readings [m].
    gap : float
        Typical distance between them [m].
    share : ndarray, shape (n,)
        Share of the field in the variance of each left-out reading.
    excess : ndarray, shape (n,)
        Squared standardised residual less 1.
    spread : float
        Variance of the local variance about 1.
    """

    places: Array
    gap: float
    share: Array
    excess: Array
    spread: float

    @classmethod
    def of(
        cls, places: Array, gap: float, left_out: tuple[Array, Array], nugget: float
    ) -> Widening | None:
        """Learn it from left-out readings, or return None where all are missed alike.

        If the variance of the field is g times the model's around a reading, its squared
        standardised residual is 1 + share (g - 1) on average. Whether g differs from place to
        place shows in residuals that are large together (empirical Bayes).

        Parameters
        ----------
        places : ndarray, shape (n, d)
            Readings [m].
        gap : float
            Typical distance between them [m].
        left_out : (ndarray, ndarray)
            Residual of each left-out reading and its sd; NaN where unknown.
        nugget : float
            Nugget of a reading [value units squared].
        """
        residual, sd = left_out
        known = np.isfinite(residual) & np.isfinite(sd)
        places, residual, sd = places[known], residual[known], sd[known]
        excess = np.minimum((residual / sd) ** 2, MOST) - 1.0
        share = np.clip(1.0 - nugget / sd**2, LEAST_SHARE, 1.0)
        pairs = cKDTree(places).query_pairs(PAIRS[1] * gap, output_type="ndarray")
        apart = np.sqrt(((places[pairs[:, 0]] - places[pairs[:, 1]]) ** 2).sum(axis=1))
        pairs = pairs[apart > PAIRS[0] * gap]
        if len(pairs) == 0:
            return None
        together = float(np.mean(excess[pairs[:, 0]] * excess[pairs[:, 1]]))
        spread = together / float(share.mean()) ** 2
        return cls(places, gap, share, excess, spread) if spread > LEAST_SPREAD else None

    def at(self, cells: Array) -> Array:
        """Factor of the standard deviation at cells (m, d): (m,).

        The local variance is estimated by least squares from the residuals around, shrunk towards
        1 by its spread over the floor, and never taken below 1: narrowing an interval on a few
        lucky readings would do harm, widening it does not.
        """
        count = min(NEAREST, len(self.places))
        apart, near = cKDTree(self.places).query(cells, k=np.arange(1, count + 1))
        weight = np.exp(-0.5 * (apart / (REACH * self.gap)) ** 2)
        share = self.share[near]
        pull = 0.5 * (weight * share * self.excess[near]).sum(axis=1)
        known = 0.5 * (weight * share**2).sum(axis=1)
        return np.asarray(np.sqrt(np.maximum(1.0 + pull / (1.0 / self.spread + known), 1.0)))
