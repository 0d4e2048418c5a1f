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
    groups = used.groupby("location", sort=True)
    locations = groups[["x", "y", "room", "domain"]].first()
    locations["value"] = groups["value"].mean()
    locations["n"] = groups.size()
    above = (used["censored"] == "above").groupby(used["location"]).any()
    below = (used["censored"] == "below").groupby(used["location"]).any()
    locations["censored"] = np.where(above, "above", np.where(below, "below", ""))
    order = ["location", "x", "y", "value", "n", "censored", "room", "domain"]
    return locations.reset_index()[order].astype({"location": int, "n": int})


def repeat_noise(used: pd.DataFrame) -> tuple[float | None, int]:
    """Return sd of one reading and its degrees of freedom from repeats that are not censored.

    The variances within the locations are pooled by their degrees of freedom,
    ``s^2 = sum (v - mean)^2 / sum (n - 1)`` (for pairs, ``sum d^2 / 2m``; ISO 5725-2:2019, 7.4).
    """
    plain = used[used["censored"] == ""]
    groups = plain.groupby("location")["value"]
    residual = plain["value"] - groups.transform("mean")
    freedom = len(plain) - plain["location"].nunique()
    if freedom < 1:
        return None, 0
    return math.sqrt(float((residual**2).sum()) / freedom), int(freedom)


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
