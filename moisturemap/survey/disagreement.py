"""Repeats at one place that no noise of a meter explains: the higher one is believed."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

FEWEST_PLACES = 12
"""With fewer places nothing is known of how much readings side by side differ (our choice)."""

BESIDE, SHARE, STEPS = 8.0, 0.3, 5.0
"""Repeats disagree when they lie further apart than this many times the median difference between
readings side by side (some five standard deviations of a pair where the floor is calm), than this
share of how far the higher one stands above the median reading, and than so many steps of the
scale. Our choice: a slip of the pen is as high as the wet place it hides, noise is not."""


def contradicted(fit: pd.DataFrame, step: float) -> NDArray[np.bool_]:
    """Mark readings that lie far below a repeat at the same place.

    Which of the two is wrong cannot be told, and to hide a wet place is worse than to show one: the
    higher one stays, and is weighed as a single reading against its neighbours like any other.

    Parameters
    ----------
    fit : pandas.DataFrame
        Columns ``location, x, y, value``; no NaN value.
    step : float
        Step of the scale [reading units].

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    number, place, count = np.unique(
        fit["location"].to_numpy(dtype=int), return_inverse=True, return_counts=True
    )
    if len(number) < FEWEST_PLACES or len(number) == len(fit):
        return np.zeros(len(fit), dtype=bool)
    value = fit["value"].to_numpy(dtype=float)
    order = np.lexsort((value, place))
    last = np.cumsum(count) - 1
    highest = value[order][last][place]
    middle = value[order][[last - count // 2, last - (count - 1) // 2]].mean(axis=0)
    x, y = (fit[name].to_numpy(dtype=float) for name in ("x", "y"))
    places = np.column_stack([x, y])[order[last]]
    nearest = np.asarray(cKDTree(places).query(places, k=2)[1])[:, 1]
    beside = float(np.median(np.abs(middle - middle[nearest])))
    above = np.maximum(highest - np.median(middle), 0.0)
    least = np.maximum(max(BESIDE * beside, STEPS * step), SHARE * above)
    return np.asarray(highest - value > least)
