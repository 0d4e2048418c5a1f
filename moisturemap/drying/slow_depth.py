"""Whether the visits leave room for a depth that lets its water go slowly under a dry surface.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.courses import DIFFUSIVITY_MM2_DAY, KnownSlab
from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.zone_course import ZoneCourse

Array = NDArray[np.float64]

NOT_EXCLUDED = 1.5
"""Difference of the sums of squares up to which a slow depth is not excluded (our choice: of 23
invented zones with a latest day one loses it at 1 and three at 2)."""

UNKNOWN_MM = 100.0
"""Thickness taken where none is known [mm] (our choice: the middle of ``THICKNESS_MM``)."""

FAST_SHARE = 1.0 / 3.0
"""A surface that falls at most this much slower than the depth has a rate of its own."""

SHORTEST_DAYS, RATES = 0.7, 40
"""Shortest half-life of the surface that is tried [days], and how many."""


def slow_depth_open(
    course: ZoneCourse, target: float, dry: DryLevel, slab: KnownSlab, high: float
) -> bool:
    """Tell whether a fast surface over a slow depth, later than the latest day, fits the visits.

    The surface falls at a rate of its own, the depth with the half-life of the slowest part of the
    moisture in a slab as thick. It is late where what the depth still holds on the latest day
    stands at the target. Both are fitted by weighted least squares with the dry level as known.

    Parameters
    ----------
    course : ZoneCourse
    target : float
        [reading units]
    dry : DryLevel
    slab : KnownSlab
    high : float
        Latest day to be given, from the latest visit [days].

    Returns
    -------
    bool
        False where the target is met already.
    """
    if not math.isfinite(high) or course.level[-1] <= target:
        return False
    length = (slab.thickness_mm or UNKNOWN_MM) / (slab.faces or 1)
    half_life = 4.0 * length**2 * math.log(2.0) / (math.pi**2 * DIFFUSIVITY_MM2_DAY)
    fast = np.geomspace(SHORTEST_DAYS, max(half_life * FAST_SHARE, 2 * SHORTEST_DAYS), RATES)
    depth = 0.5 ** (course.days / half_life)
    then = 0.5 ** ((course.days[-1] + high) / half_life)
    weight = np.append(1.0 / np.maximum(course.sd, 1e-6), 1.0 / max(dry.sd, 1e-6))
    above = np.append(course.level, dry.value) - target
    late = free = math.inf
    for days in fast:
        surface = np.append(0.5 ** (course.days / days), 0.0)
        parts, best = _fitted(
            np.column_stack([surface, np.append(depth, 0.0), np.ones(surface.size)]), above, weight
        )
        free = min(free, best)
        if parts[1] * then + parts[2] >= 0.0:
            late = min(late, best)
        else:
            at_target = np.column_stack([surface, np.append(depth - then, -then)])
            late = min(late, _fitted(at_target, above, weight)[1])
    return late - free <= NOT_EXCLUDED


def _fitted(shapes: Array, above: Array, weight: Array) -> tuple[Array, float]:
    """Return the best shares of some shapes, and their weighted sum of squares."""
    weighed = shapes * weight[:, None]
    found = np.linalg.lstsq(weighed, above * weight, rcond=None)[0]
    return np.asarray(found), float(((above * weight - weighed @ found) ** 2).sum())
