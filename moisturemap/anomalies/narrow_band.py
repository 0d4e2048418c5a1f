"""Whether the readings of a grid tell a straight thing from a band of wet floor as narrow.

Method: docs/method/anomalies.md, section 4.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.candidates import within
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]

HALVES_M = (0.2, 0.25)
"""Half widths of a wet band as narrow as over a crack or joint [m]: wider ones are weighed as wet
floor (our choice)."""

BAND_FROM = -5.0
"""Log likelihood ratio of a thing from which on down readings speak for the band (our choice)."""

REACH_M, PAST_M = 0.56, 0.05
"""Readings this far beside the course and past its ends [m] speak of its profile."""

COURSES_M = np.linspace(-0.12, 0.12, 9)
"""How far aside of its course a thing or a band may lie [m]."""

WIDTHS = (0.85, 1.0, 1.2)
"""Widths of a thing that are tried [usual widths]."""


def log_ratio_to_band(scene: Scene, calm: CalmFloor, values: Array, ridge: Ridge) -> float:
    """Log likelihood ratio of a thing to a band of wet floor 0.4 or 0.5 m wide.

    Both are fitted by least squares, with their strength, width and course free.

    Parameters
    ----------
    scene : Scene
    calm : CalmFloor
    values : ndarray, shape (n,)
        Readings with all other things taken out.
    ridge : Ridge
    """
    near = within(scene.tree, ridge, REACH_M)
    along, across = ridge.frame(scene.points[near])
    beside = np.abs(along) <= ridge.extent + PAST_M
    near, across = near[beside], across[beside]
    if near.size == 0:
        return 0.0
    over, aside = values[near] - calm.base[near], across[:, None] - COURSES_M
    thing = min(_misfit(over, np.exp(-0.5 * (aside / (k * scene.width)) ** 2)) for k in WIDTHS)
    band = min(_misfit(over, _band(aside, half, scene.footprint)) for half in HALVES_M)
    variance = max(calm.sd**2, thing / near.size)
    return (band - thing) / (2.0 * variance)


def _band(aside: Array, half: float, footprint: float) -> Array:
    return np.asarray(ndtr((aside + half) / footprint) - ndtr((aside - half) / footprint))


def _misfit(over: Array, profiles: Array) -> float:
    """Least sum of squares of readings (n,) about a multiple of one of some profiles (n, k)."""
    size = (profiles**2).sum(axis=0)
    strength = np.maximum(over @ profiles, 0.0) / np.maximum(size, 1e-12)
    return float(((over[:, None] - strength * profiles) ** 2).sum(axis=0).min())
