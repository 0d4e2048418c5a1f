"""How the scan of one slab goes with its calibrated tests."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import stdtr, stdtrit

from moisturemap.quantities import Quantity

Array = NDArray[np.float64]

PAIR_COLUMNS = ("test", "hole", "room", "x", "y", "scan", "scans", "reach_m", "value")
"""``scan`` is the mean of ``scans`` relative readings, the farthest ``reach_m`` from the hole
[m]; ``value`` is the result of the test."""


SELECTION_PAIRS = (4, 5, 6, 7, 8, 10, 12, 15, 20)
SELECTION_FACTOR = (2.70, 2.05, 1.70, 1.45, 1.35, 1.23, 1.22, 1.15, 1.15)
"""By how much the interval of a new test is widened because it is shown only where the relation was
found good enough: with it 95% hold 95% among the curves that are shown, whatever the true
correlation. Simulated (scripts/bench/relation.py) at a correlation of nought, the worst."""


def selection_factor(pairs: int) -> float:
    """Return the widening for showing a relation only where it looked good; 1.15 beyond 20.

    Parameters
    ----------
    pairs : int
    """
    return float(np.interp(pairs, SELECTION_PAIRS, SELECTION_FACTOR))


@dataclass(frozen=True)
class CalibrationCurve:
    """The relation y = a + b x between scan x and calibrated result y on one slab at one visit.

    It guides; it never makes a floor pass. Where it is not earned, the scan stays relative.

    Attributes
    ----------
    quantity : Quantity
        Of the tests.
    slab : str
        Material and thickness it holds for, in words.
    rooms : tuple of str
    visit : str
    pairs : pandas.DataFrame
        Columns ``PAIR_COLUMNS``.
    intercept, slope : float
        a [unit of the quantity] and b [unit per reading]; NaN with fewer than 4 pairs.
    residual_sd : float
        s, with n - 2 degrees of freedom; NaN with fewer than 4 pairs.
    spearman, rank_p : float
        Rank correlation and its exact one-sided p.
    pearson : float
    attenuation : float
        Share of the spread of the scan means that is not noise of reading; the slope is too flat by
        this factor. NaN where the noise is not known.
    earned : bool
        Whether values may be shown in the unit of the tests.
    reason : str
        Why earned, or why not.
    remarks : tuple of str
    """

    quantity: Quantity
    slab: str
    rooms: tuple[str, ...]
    visit: str
    pairs: pd.DataFrame
    intercept: float
    slope: float
    residual_sd: float
    spearman: float
    rank_p: float
    pearson: float
    attenuation: float
    earned: bool
    reason: str
    remarks: tuple[str, ...] = field(default=())

    @property
    def count(self) -> int:
        """Pairs of scan and test."""
        return len(self.pairs)

    @property
    def scan_range(self) -> tuple[float, float]:
        """Lowest and highest scan mean at a hole; the curve says nothing beyond."""
        if self.pairs.empty:
            return float("nan"), float("nan")
        return float(self.pairs["scan"].min()), float(self.pairs["scan"].max())

    def shown(self, scan: Array) -> NDArray[np.bool_]:
        """Where scan values may be shown in the unit of the tests; elsewhere grey."""
        low, high = self.scan_range
        inside = (np.asarray(scan) >= low) & (np.asarray(scan) <= high)
        return np.asarray(inside & self.earned)

    def predict(self, scan: Array) -> tuple[Array, Array]:
        """Return the result of a new test and its prediction scale, at scan means.

        The scale is s sqrt(1 + 1/n + (x - mean)^2 / Sxx); result +- t(n - 2) times it holds a new
        test with the probability of t, over all relations and not over those that are shown.
        """
        x = np.asarray(scan, dtype=float)
        at = self.pairs["scan"].to_numpy(dtype=float)
        spread = ((at - at.mean()) ** 2).sum()
        scale = np.sqrt(1.0 + 1.0 / at.size + (x - at.mean()) ** 2 / spread)
        return self.intercept + self.slope * x, self.residual_sd * scale

    def interval(self, scan: Array, level: float = 0.95) -> tuple[Array, Array]:
        """Prediction interval of a new test at scan means, wide enough where it is shown."""
        mean, scale = self.predict(scan)
        scale = scale * selection_factor(self.count)
        reach = stdtrit(self.count - 2, 0.5 + level / 2) * scale
        return mean - reach, mean + reach

    def chance_above(self, scan: Array, limit: float) -> Array:
        """Probability that a new test there would exceed a limit."""
        mean, scale = self.predict(scan)
        scale = scale * selection_factor(self.count)
        return np.asarray(stdtr(self.count - 2, (mean - limit) / scale))
