"""Which of many tests count as discoveries."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import OptionError


def discoveries(p_values: ArrayLike, rate: float) -> NDArray[np.bool_]:
    """Tell which tests count, at a false discovery rate.

    The step-up procedure of Benjamini and Hochberg (J. R. Statist. Soc. B 57 (1995) 289): with
    the p-values in order, the largest k with p(k) <= k/m rate; the k smallest count. Holds for
    independent and for positively dependent tests (Benjamini and Yekutieli, Ann. Statist. 29
    (2001) 1165), as neighbouring cells of one map and a common offset are.

    Parameters
    ----------
    p_values : array_like, any shape
        NaN is no test.
    rate : float
        False discovery rate, 0 to 1.

    Returns
    -------
    ndarray of bool, same shape
    """
    if not 0.0 < rate < 1.0:
        message = "a false discovery rate is a share"
        raise OptionError(message, value=rate, allowed="between 0 and 1")
    p = np.asarray(p_values, dtype=float)
    known = p[np.isfinite(p)]
    ordered = np.sort(known)
    limits = rate * np.arange(1, ordered.size + 1) / max(ordered.size, 1)
    below = np.flatnonzero(ordered <= limits)
    if not below.size:
        return np.zeros(p.shape, dtype=bool)
    return np.asarray(p <= ordered[below[-1]])
