"""Locations: distinct places read, their repeats pooled, and what the repeats tell of the noise."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

SAME_PLACE_M = 0.001
"""Readings this close are at one place: coordinates are compared to the millimetre [m]."""

MOST_DECIMALS = 4
"""Values with more decimals than this are taken as continuous."""


def place_index(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the number of each distinct place in order of first appearance, shape (n,)."""
    column, _ = pd.factorize(np.round(x / SAME_PLACE_M))
    row, _ = pd.factorize(np.round(y / SAME_PLACE_M))
    index, _ = pd.factorize(column.astype(np.int64) * (len(row) + 1) + row)
    return index.astype(np.intp)


def pool_locations(used: pd.DataFrame) -> pd.DataFrame:
    """Pool the used readings of each location.

    Parameters
    ----------
    used : pandas.DataFrame
        Columns ``location, x, y, value, censored, room, domain``; no NaN value.

    Returns
    -------
    pandas.DataFrame
        ``location, x, y, value, n, censored, room, domain``. A location with one censored repeat is
        censored: its mean is then a bound ("above") and not a value.
    """
    number, first, place = np.unique(
        used["location"].to_numpy(dtype=int), return_index=True, return_inverse=True
    )
    count = np.bincount(place, minlength=len(number))
    censored = used["censored"].to_numpy(dtype=object)
    above, below = (
        np.bincount(place[censored == end], minlength=len(number)) > 0 for end in ("above", "below")
    )
    value = np.bincount(place, weights=used["value"].to_numpy(float), minlength=len(number))
    leading = used[["x", "y", "room", "domain"]].iloc[first].reset_index(drop=True)
    return pd.DataFrame(
        {
            "location": number,
            "x": leading["x"],
            "y": leading["y"],
            "value": value / np.maximum(count, 1),
            "n": count,
            "censored": np.where(above, "above", np.where(below, "below", "")),
            "room": leading["room"],
            "domain": leading["domain"],
        }
    )


def repeat_noise(used: pd.DataFrame) -> tuple[float | None, int]:
    """Return sd of one reading and its degrees of freedom from repeats that are not censored.

    The variances within the locations are pooled by their degrees of freedom,
    ``s^2 = sum (v - mean)^2 / sum (n - 1)`` (for pairs, ``sum d^2 / 2m``; ISO 5725-2:2019, 7.4).
    """
    plain = used["censored"].to_numpy(dtype=object) == ""
    value = used["value"].to_numpy(dtype=float)[plain]
    number, place = np.unique(used["location"].to_numpy(dtype=int)[plain], return_inverse=True)
    freedom = len(value) - len(number)
    if freedom < 1:
        return None, 0
    mean = np.bincount(place, weights=value) / np.bincount(place)
    return math.sqrt(float(((value - mean[place]) ** 2).sum()) / freedom), int(freedom)


def scale_step(values: NDArray[np.float64]) -> float:
    """Return the step of the scale the values lie on: the largest that fits all; 0 when none does.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings in their own unit, NaN not allowed.
    """
    distinct = np.unique(values)
    if distinct.size < 2:
        return 0.0
    for decimals in range(MOST_DECIMALS + 1):
        scaled = distinct * 10**decimals
        whole = np.round(scaled)
        if np.allclose(scaled, whole, rtol=0, atol=1e-6):
            steps = np.diff(whole.astype(np.int64))
            return float(np.gcd.reduce(steps) / 10**decimals)
    return 0.0
