"""Readings over a thing with wet floor beside them: they stay in the map, as contested.

A leak lies at a pipe, and water follows one. Where the floor on both hands of a thing is itself on
the way to the wet level, taking its readings out would hide the wettest part.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

NEAR_M, NEAR_SPACINGS, NEIGHBOURS = 0.9, 1.6, 6
"""Floor beside a reading: so many undisturbed readings within this [m], [spacings] (our choice)."""

ON_THE_WAY = 0.6
"""Floor beside it this share of the way from dry floor to the wet level counts as wet (our choice,
moved by leaks at pipes on invented floors)."""

LEAST = 2
"""Fewer undisturbed readings near tell nothing of the floor beside."""


def wet_beside(scene: Scene, calm: CalmFloor, hit: Index, disturbed: Mask) -> Mask:
    """Return which readings over a thing read wet with wet floor beside them, or nearly.

    Parameters
    ----------
    hit : ndarray of int, shape (k,)
        Readings over it.
    disturbed : ndarray of bool, shape (n,)
        Readings over anything: they say nothing about the floor.

    Returns
    -------
    ndarray of bool, shape (k,)
        None of them where the survey states no wet level.
    """
    free = np.flatnonzero(~disturbed)
    if scene.level is None or not hit.size or free.size < LEAST:
        return np.zeros(hit.size, dtype=bool)
    reach = max(NEAR_M, NEAR_SPACINGS * scene.spacing)
    distance, index = cKDTree(scene.points[free]).query(
        scene.points[hit], k=min(NEIGHBOURS, free.size), distance_upper_bound=reach
    )
    known = np.isfinite(distance)
    values = np.where(known, scene.values[free][np.where(known, index, 0)], 0.0)
    count = known.sum(axis=1)
    mean = values.sum(axis=1) / np.maximum(count, 1)
    dry = calm.base[hit]
    wet = mean - dry >= ON_THE_WAY * np.maximum(scene.level - dry, 0.0)
    return np.asarray(wet & (count >= LEAST) & (scene.values[hit] > scene.level))
