"""Which of many tests count as discoveries.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import OptionError


def discoveries(p_values: ArrayLike, rate: float) -> NDArray[np.bool_]:
    """Tell which tests count, at a false discovery rate.

    Parameters
    ----------
    p_values : array_like, any shape
        NaN is no test.
    rate : float
        False discovery rate, above 0 and below 1.

    Returns
    -------
    ndarray of bool, same shape

    Raises
    ------
    OptionError
        With a rate that is no share.

    Notes
    -----
    The step-up procedure of Benjamini and Hochberg (J. R. Statist. Soc. B 57 (1995) 289). Holds
    for independent and for positively dependent tests (Benjamini and Yekutieli, Ann. Statist. 29
    (2001) 1165), as neighbouring cells of one map and a common offset are.
    """
    if not 0.0 < rate < 1.0:
        message = "a false discovery rate is a share"
        raise OptionError(message, value=rate, allowed="between 0 and 1")
    p = np.asarray(p_values, dtype=float)
    known = np.isfinite(p)
    shown = np.zeros(p.shape, dtype=bool)
    if known.any():
        shown[known] = _adjusted(p[known]) <= rate
    return shown


def _adjusted(p: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the smallest rate at which each test (n,) counts.

    As ``scipy.stats.false_discovery_control``, whose package takes half a second to load.
    """
    order = np.argsort(p)
    share = p[order] * (p.size / np.arange(1, p.size + 1))
    adjusted = np.empty_like(p)
    adjusted[order] = np.minimum.accumulate(share[::-1])[::-1]
    return np.clip(adjusted, 0.0, 1.0)
