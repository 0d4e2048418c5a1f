"""Readings with nothing read on one side: at a wall, at a joint, where a scan ends.

Water comes in at the foot of a wall and through joints, and the outermost row then reads as a thin
thing along it does: no reading on the far side can tell them apart.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.sides import (
    LEAST_LONG_M,
    LEAST_NEAREST_M,
    NEAREST,
    SPACINGS_LONG,
    SPACINGS_WIDE,
    STRIP_M,
)

Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

AROUND = 1.6
"""Readings round a place count up to this distance [spacings]: the eight of a square grid."""

HALF_OPEN = np.deg2rad(150.0)
"""A place round which no reading lies over this angle has one side open [rad]: 180 degrees at a
wall, 90 inside a grid that lacks a reading."""

OPEN_SHARE = 0.25
"""A line of whose readings this share and more has one side open was not seen from both sides."""


def on_edge(scene: Scene, places: NDArray[np.float64]) -> Mask:
    """Return at which places (m, 2) half of the directions and more hold no reading."""
    found = np.ones(len(places), dtype=bool)
    for k, near in enumerate(scene.tree.query_ball_point(places, AROUND * scene.spacing)):
        offset = scene.points[near] - places[k]
        offset = offset[np.hypot(*offset.T) > 0.25 * scene.spacing]
        if len(offset) > 1:
            angle = np.sort(np.arctan2(offset[:, 1], offset[:, 0]))
            gaps = np.diff(np.append(angle, angle[0] + 2.0 * np.pi))
            found[k] = gaps.max() >= HALF_OPEN
    return found


def seen_from_one_side(scene: Scene, shape: Ridge | Disc, hit: Index) -> bool:
    """Whether too many of the readings ``hit`` over a candidate have no floor read beside them."""
    if not hit.size:
        return False
    if isinstance(shape, Disc):
        return bool(on_edge(scene, np.array([shape.centre]))[0])
    near = max(NEAREST * scene.width, LEAST_NEAREST_M)
    far = max(near + STRIP_M, SPACINGS_WIDE * scene.spacing)
    long = max(LEAST_LONG_M, SPACINGS_LONG * scene.spacing)
    around = scene.tree.query_ball_point(scene.points[hit], float(np.hypot(far, long)))
    along, across = shape.frame(scene.points)
    open_side = 0
    for one, beside in zip(hit, around, strict=True):
        aside = across[beside] - across[one]
        strip = (np.abs(along[beside] - along[one]) <= long) & (np.abs(aside) >= near)
        aside = aside[strip & (np.abs(aside) <= far)]
        open_side += not ((aside > 0).any() and (aside < 0).any())
    return open_side >= OPEN_SHARE * hit.size
