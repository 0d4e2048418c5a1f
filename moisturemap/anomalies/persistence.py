"""Whether what was found persists over visits, as embedded things do, or dries like wet floor."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.stats import norm

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.finder import Finds, Scan
from moisturemap.anomalies.mean import Mean
from moisturemap.floorplan import Domain
from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]

SAME_PLACE = 0.25
"""Readings of two visits this near belong together [spacings]."""

LEAST_FALL = 0.25
"""Share of its strength a wet spot is expected to lose where the floor itself tells no more."""

DECISIVE = 3.0
"""Likelihood ratio from which a side is taken."""


def _strength(column: Array, values: Array, finds: Finds, others: Array) -> tuple[float, float]:
    """Strength of a column in the readings of a visit, beside other finds, and its sd."""
    scores = finds.precision.scores(values)
    mean = Mean.of(finds.precision, scores, np.column_stack([column, others]))
    strengths, spread = mean.strengths()
    return float(strengths[0]), float(spread[0])


def likelihood_ratio(change: float, sd: float, fall: float) -> float:
    """How much likelier a change is for something that stays than for something that dries.

    Normal density of the change about 0 over that about ``-fall`` with a spread of 0.4 ``fall``
    for not knowing how fast it dries.
    """
    stays = norm.logpdf(change, 0.0, sd)
    dries = norm.logpdf(change, -fall, np.hypot(sd, 0.4 * fall))
    return float(np.exp(np.clip(stays - dries, -50.0, 50.0)))


def judge_persistence(
    anomaly: Anomaly, scan: Scan, finds: Finds, domain: Domain, earlier: Sequence[CleanReadings]
) -> str:
    """Compare the strength of an anomaly with that on the first earlier visit that read it.

    Returns
    -------
    str
        ``"persists"``, ``"dries"``, or ``""`` when the visits cannot tell.
    """
    for before in earlier:
        values = _matched(scan, before, domain)
        if values is None:
            continue
        others = finds.columns[:, np.abs(finds.columns.T @ anomaly.column) < 0.05]
        first, first_sd = _strength(anomaly.column, values, finds, others)
        last, last_sd = _strength(anomaly.column, scan.values, finds, others)
        if abs(first) < 3.0 * first_sd:
            return ""
        fall = max(LEAST_FALL, _floor_fall(scan, values, anomaly)) * abs(first)
        change = (last - first) * np.sign(first)
        ratio = likelihood_ratio(change, float(np.hypot(first_sd, last_sd)), fall)
        return "persists" if ratio >= DECISIVE else "dries" if ratio <= 1 / DECISIVE else ""
    return ""


def _matched(scan: Scan, before: CleanReadings, domain: Domain) -> Array | None:
    """Values of an earlier visit at the places of this one, or None when it read elsewhere."""
    spots = before.spots[before.spots["domain"] == domain.key]
    if len(spots) < 0.8 * len(scan.points):
        return None
    distance, index = cKDTree(spots[["x", "y"]].to_numpy(dtype=float)).query(scan.points)
    apart = distance > SAME_PLACE * scan.spacing
    if apart.mean() > 0.05:
        return None
    values: Array = spots["value"].to_numpy(dtype=float)[index]
    return values


def _floor_fall(scan: Scan, before: Array, anomaly: Anomaly) -> float:
    """Share by which the wettest undisturbed tenth of the floor fell towards its dry level."""
    calm = np.abs(anomaly.column) < 0.05
    dry = float(np.quantile(before[calm], 0.25))
    wet = calm & (before >= np.quantile(before[calm], 0.9))
    excess = float(before[wet].mean()) - dry
    if excess <= 0:
        return 0.0
    fell = float((before[wet] - scan.values[wet]).mean())
    return float(np.clip(fell / excess, 0.0, 0.9))
