"""Rank correlation with an exact p."""

from __future__ import annotations

from functools import cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EXACT_TO = 9
"""Pairs up to which every order is counted; beyond, Student's approximation is good."""


def rank_correlation(x: Array, y: Array) -> tuple[float, float]:
    """Spearman's rho and its one-sided p for a rising relation.

    Every order of the ranks counts as equally likely (exact, ties kept). With 3 pairs the smallest
    p is 1/6: never significant.

    Parameters
    ----------
    x : ndarray
        Shape (n,).
    y : ndarray
        Shape (n,).

    Returns
    -------
    tuple of float
        Rho and p.

    References
    ----------
    C. Spearman (1904); exact null distribution by counting orders, as in E. G. Olds, Ann. Math.
    Statist. 9 (1938) 133.

    Examples
    --------
    >>> rank_correlation(np.arange(4.0), np.arange(4.0))
    (1.0, 0.041666666666666664)
    """
    if x.size < 2 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return float("nan"), 1.0
    from scipy.stats import rankdata, spearmanr  # half a second to load

    one, other = rankdata(x), rankdata(y)
    one, other = one - one.mean(), other - other.mean()
    scale = np.sqrt((one @ one) * (other @ other))
    rho = float(one @ other / scale)
    if x.size > EXACT_TO:
        return rho, float(spearmanr(x, y, alternative="greater").pvalue)
    every = other[_orders(x.size)] @ one
    return round(rho, 12), float((every >= one @ other - 1e-9).mean())


@cache
def _orders(count: int) -> NDArray[np.int8]:
    return np.array(list(permutations(range(count))), dtype=np.int8)
