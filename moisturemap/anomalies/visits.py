"""What an earlier visit tells: a thing stays as it is, wet floor dries or moves.

Method: docs/method/anomalies.md.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import window_about
from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SAME_PLACE = 0.25
"""Readings of two visits this near belong together [spacings]."""

MOST_MISSING, MOST_APART = 0.2, 0.05
"""Share of the places an earlier visit may lack, and of those that may lie apart."""

LEAST_FALL = 0.25
"""Share of its strength a wet location is expected to lose where the floor itself tells no more."""

FALL_SPREAD = 0.4
"""Sd of that share, as a share of it: nobody knows how fast one place dries."""

STAYS_WET = 0.2
"""Share of wet floor that does not dry between visits: an active leak, a film over it (our
choice). So what stays gains at most log(1 / 0.2) = 1.6, what dries loses without limit."""

LEAST_STRENGTH = 3.0
"""A change is weighed from this many standard errors of the first strength on."""

ABOUT_M, MOST = 1.5, 300
"""Readings this near tell a strength [m], at most so many."""


def values_before(
    points: Array, spacing: float, earlier: Sequence[CleanReadings], domain: str
) -> Array | None:
    """Return the values of the first earlier visit that read the same places, (n,) [reading].

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Places of this visit [m].
    spacing : float
        Typical distance between them [m].
    earlier : sequence of CleanReadings
        Oldest first.
    domain : str
        Key of the domain the places lie in.
    """
    for visit in earlier:
        locations = visit.locations[visit.locations["domain"] == domain]
        if len(locations) < (1.0 - MOST_MISSING) * len(points):
            continue
        places = locations[["x", "y"]].to_numpy(dtype=float)
        distance, index = cKDTree(places).query(points)
        if np.asarray(distance > SAME_PLACE * spacing).mean() <= MOST_APART:
            return np.asarray(locations["value"].to_numpy(dtype=float)[index])
    return None


def change_ratio(change: float, sd: float, fall: float) -> float:
    """Return how much likelier a change is for something that stays than for something that dries.

    Normal density of the change about 0 over that about ``-fall`` with a spread of 0.4 ``fall``.
    """
    wide = np.hypot(sd, FALL_SPREAD * fall)
    stays = -0.5 * (change / sd) ** 2 - np.log(sd)
    dries = -0.5 * ((change + fall) / wide) ** 2 - np.log(wide)
    return float(np.exp(np.clip(stays - dries, -50.0, 50.0)))


def stays_against_dries(
    scene: Scene, calm: CalmFloor, hit: Index, rise: Callable[[Array], Array] | None
) -> float | None:
    """Weigh what stays against what dries, from its strength at both visits.

    Parameters
    ----------
    hit : ndarray of int
        Readings it lifts.
    rise : callable or None
        Rise at places (m, 2) for a unit of strength; None for one reading.

    Returns
    -------
    float or None
        None where the visits cannot tell.
    """
    if scene.before is None or not hit.size:
        return None
    first, first_sd = _strength(scene, calm, scene.before, hit, rise)
    last, last_sd = _strength(scene, calm, scene.values, hit, rise)
    if abs(first) < LEAST_STRENGTH * first_sd:
        return None
    fall = max(LEAST_FALL, _floor_fall(scene, scene.before, hit)) * abs(first)
    change = (last - first) * np.sign(first)
    return change_ratio(change, float(np.hypot(first_sd, last_sd)), fall)


def log_odds_of_visits(
    scene: Scene, calm: CalmFloor, hit: Index, rise: Callable[[Array], Array]
) -> float:
    """Return what the visits add to the log odds of a thing against wet floor.

    log r / (a r + 1 - a) with r of ``stays_against_dries`` and a ``STAYS_WET``; 0 where the visits
    cannot tell.
    """
    ratio = stays_against_dries(scene, calm, hit, rise)
    if ratio is None:
        return 0.0
    return float(np.log(ratio) - np.log(STAYS_WET * ratio + 1.0 - STAYS_WET))


def _strength(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    hit: Index,
    rise: Callable[[Array], Array] | None,
) -> tuple[float, float]:
    """Strength of it in the readings of a visit, and its sd."""
    near = np.flatnonzero(
        cKDTree(scene.points[hit]).query(scene.points)[0] <= ABOUT_M + scene.spacing
    )
    near = near[:: max(1, near.size // MOST)]
    profile = np.isin(near, hit).astype(float) if rise is None else rise(scene.points[near])
    window = window_about(scene, calm, values, near, profile > 0.05, [])
    _, information, score = window.fit().project(profile[:, None])
    return float(score[0] / information[0]), float(1.0 / np.sqrt(information[0]))


def _floor_fall(scene: Scene, before: Array, hit: Index) -> float:
    """Share by which the wettest undisturbed tenth of the floor fell towards its dry level."""
    calm = np.ones(len(before), dtype=bool)
    calm[hit] = False
    dry = float(np.quantile(before[calm], 0.25))
    wet = calm & (before >= np.quantile(before[calm], 0.9))
    excess = float(before[wet].mean()) - dry
    if excess <= 0:
        return 0.0
    fell = float((before[wet] - scene.values[wet]).mean())
    return float(np.clip(fell / excess, 0.0, 0.9))
