"""Whether what was found persists over visits, as embedded things do, or dries like wet floor."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import window_about
from moisturemap.floorplan import Domain
from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]

SAME_PLACE = 0.25
"""Readings of two visits this near belong together [spacings]."""

LEAST_FALL = 0.25
"""Share of its strength a wet location is expected to lose where the floor itself tells no more."""

DECISIVE = 3.0
"""Likelihood ratio from which a side is taken."""

ABOUT_M, MOST = 1.5, 300
"""Readings this near to an anomaly tell its strength [m], at most so many."""


def _strength(
    anomaly: Anomaly, scene: Scene, calm: CalmFloor, values: Array
) -> tuple[float, float]:
    """Strength of an anomaly in the readings of a visit, and its sd."""
    places = scene.points[anomaly.disturbed]
    near = np.flatnonzero(cKDTree(places).query(scene.points)[0] <= ABOUT_M + scene.spacing)
    near = near[:: max(1, near.size // MOST)]
    rise = anomaly.rise(scene.points[near])
    if not anomaly.parts:
        rise = np.isin(near, anomaly.disturbed).astype(float)
    window = window_about(scene, calm, values, near, rise > 0.05, [])
    _, information, score = window.fit().project(rise[:, None])
    return float(score[0] / information[0]), float(1.0 / np.sqrt(information[0]))


def likelihood_ratio(change: float, sd: float, fall: float) -> float:
    """How much likelier a change is for something that stays than for something that dries.

    Normal density of the change about 0 over that about ``-fall`` with a spread of 0.4 ``fall``
    for not knowing how fast it dries.
    """
    wide = np.hypot(sd, 0.4 * fall)
    stays = -0.5 * (change / sd) ** 2 - np.log(sd)
    dries = -0.5 * ((change + fall) / wide) ** 2 - np.log(wide)
    return float(np.exp(np.clip(stays - dries, -50.0, 50.0)))


def judge_persistence(
    anomaly: Anomaly,
    scene: Scene,
    calm: CalmFloor,
    domain: Domain,
    earlier: Sequence[CleanReadings],
) -> str:
    """Compare the strength of an anomaly with that on the first earlier visit that read it.

    Returns
    -------
    str
        ``"persists"``, ``"dries"``, or ``""`` when the visits cannot tell.
    """
    if not anomaly.disturbed.size:
        return ""
    for before in earlier:
        values = _matched(scene, before, domain)
        if values is None:
            continue
        first, first_sd = _strength(anomaly, scene, calm, values)
        last, last_sd = _strength(anomaly, scene, calm, scene.values)
        if abs(first) < 3.0 * first_sd:
            return ""
        fall = max(LEAST_FALL, _floor_fall(scene, values, anomaly)) * abs(first)
        change = (last - first) * np.sign(first)
        ratio = likelihood_ratio(change, float(np.hypot(first_sd, last_sd)), fall)
        return "persists" if ratio >= DECISIVE else "dries" if ratio <= 1 / DECISIVE else ""
    return ""


def _matched(scene: Scene, before: CleanReadings, domain: Domain) -> Array | None:
    """Values of an earlier visit at the places of this one, or None when it read elsewhere."""
    locations = before.locations[before.locations["domain"] == domain.key]
    if len(locations) < 0.8 * len(scene.points):
        return None
    distance, index = cKDTree(locations[["x", "y"]].to_numpy(dtype=float)).query(scene.points)
    apart = np.asarray(distance > SAME_PLACE * scene.spacing)
    if apart.mean() > 0.05:
        return None
    values: Array = locations["value"].to_numpy(dtype=float)[index]
    return values


def _floor_fall(scene: Scene, before: Array, anomaly: Anomaly) -> float:
    """Share by which the wettest undisturbed tenth of the floor fell towards its dry level."""
    calm = np.ones(len(before), dtype=bool)
    calm[anomaly.disturbed] = False
    dry = float(np.quantile(before[calm], 0.25))
    wet = calm & (before >= np.quantile(before[calm], 0.9))
    excess = float(before[wet].mean()) - dry
    if excess <= 0:
        return 0.0
    fell = float((before[wet] - scene.values[wet]).mean())
    return float(np.clip(fell / excess, 0.0, 0.9))
