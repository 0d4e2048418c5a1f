"""A whole floor, its dry part with it, that falls by one amount between two visits.

Dry floor has little to lose, and less with every week; a fall of the driest readings that the
visits before do not lead to, and that is as large as that of the wettest, is a meter on another
setting or pad as likely as drying. Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]

SAME_PLACE_M = 0.5
"""Readings of two visits this near are of one place [m]; project choice."""

LEAST_PLACES = 12
"""Fewer places common to two visits show no fall of a whole floor; project choice."""

THIRD = 1.0 / 3.0
"""Share of the places, by both visits together, that count as the driest and the wettest."""

COMMON = 0.25
"""From this share of the fall of the wettest third on the driest fell with it: another zero takes
the same from both, another gain less from the driest, patches that dry nothing; project choice."""

AHEAD = 1.5
"""Times the fall per day of the visits before that drying may account for; project choice."""


def common_fall(clean: Sequence[CleanReadings], days: Array, visit: int, least: float) -> float:
    """Return by how much the driest third fell with the rest, beyond what drying led to.

    Parameters
    ----------
    clean : sequence of CleanReadings
        One a visit, in order of time.
    days : ndarray, shape (visits,)
        Since the first visit [days].
    visit : int
        Index of the later of the two visits; at least 2, since one earlier fall must be known.
    least : float
        Falls up to this are drift of the meter [reading units].

    Returns
    -------
    float
        Zero or negative [reading units].
    """
    now = _thirds(clean[visit - 1], clean[visit])
    before = _thirds(clean[visit - 2], clean[visit - 1])
    spans = np.diff(days)[[visit - 2, visit - 1]]
    if now is None or before is None or not np.all(spans > 0):
        return 0.0
    driest, wettest = now
    expected = AHEAD * min(before[0], 0.0) / spans[0] * spans[1]
    fell = driest - expected
    return fell if fell < -least and driest <= COMMON * min(wettest, 0.0) else 0.0


def _thirds(earlier: CleanReadings, later: CleanReadings) -> tuple[float, float] | None:
    """Return the middle change of the driest and of the wettest third of the common places."""
    first, second = earlier.locations, later.locations
    if len(first) < LEAST_PLACES or len(second) < LEAST_PLACES:
        return None
    gap, near = cKDTree(second[["x", "y"]].to_numpy(dtype=float)).query(
        first[["x", "y"]].to_numpy(dtype=float)
    )
    inside = (first["censored"] == "").to_numpy()
    known = inside & (second["censored"] == "").to_numpy()[near] & (gap <= SAME_PLACE_M)
    if known.sum() < LEAST_PLACES:
        return None
    start = first["value"].to_numpy(dtype=float)[known]
    end = second["value"].to_numpy(dtype=float)[near][known]
    # by both visits: the lowest of one alone stand low by noise, too, and come up by themselves
    order, count = np.argsort(start + end, kind="stable"), max(1, int(THIRD * known.sum()))
    driest, wettest = (end - start)[order[:count]], (end - start)[order[-count:]]
    return float(np.median(driest)), float(np.median(wettest))


def change_of_driest(earlier: CleanReadings, later: CleanReadings) -> float | None:
    """Return the middle change of the driest third of the places of two visits.

    Parameters
    ----------
    earlier, later : CleanReadings

    Returns
    -------
    float or None
        [reading units]; None where too few places are common.
    """
    thirds = _thirds(earlier, later)
    return None if thirds is None else thirds[0]
