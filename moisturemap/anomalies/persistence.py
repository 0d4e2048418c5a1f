"""Whether what was found persists over visits, as embedded things do, or dries like wet floor."""

from __future__ import annotations

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.visits import stays_against_dries

DECISIVE = 3.0
"""Likelihood ratio from which a side is taken."""


def judge_persistence(anomaly: Anomaly, scene: Scene, calm: CalmFloor) -> str:
    """Compare the strength of an anomaly with that on the first earlier visit that read it.

    Returns
    -------
    str
        ``"persists"``, ``"dries"``, or ``""`` when the visits cannot tell.
    """
    rise = anomaly.rise if anomaly.parts else None
    ratio = stays_against_dries(scene, calm, anomaly.disturbed, rise)
    if ratio is None:
        return ""
    return "persists" if ratio >= DECISIVE else "dries" if ratio <= 1 / DECISIVE else ""
