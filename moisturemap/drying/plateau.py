"""Whether the visits look more like a fall that stops above a target than like one that meets it.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.zone_course import ZoneCourse

Array = NDArray[np.float64]

PREFERRED = 0.7
"""Difference of the sums of squares from which a plateau above the target is preferred, from the
fourth visit on; three visits are fitted exactly, so there the nearer fit decides (our choice: of
leaks that fall quickly to a plateau, read three or four times, nearly all were given a latest day
without this rule, with it one in five; of the zones that dry soon one in five loses its latest
day)."""

FITTED_EXACTLY = 3
"""Visits that a plateau, a first excess and a half-life fit without remainder."""

HALF_LIVES = np.geomspace(1.5, 400.0, 80)
"""Half-lives that are tried [days]."""


def stops_above(course: ZoneCourse, target: float) -> bool:
    """Tell whether an exponential to a plateau above a target fits better than one that meets it.

    Both are fitted by weighted least squares, the half-life on a grid. An exponential is not how
    every slab dries; a slab whose depth feeds its surface slackens like a leak. The rule errs
    towards no latest day.

    Parameters
    ----------
    course : ZoneCourse
        At least two different days.
    target : float
        [reading units]

    Returns
    -------
    bool
        False where the latest level meets the target already.
    """
    if float(course.level[-1]) <= target:
        return False
    stops, meets = _least_squares(course, target)
    return meets - stops > (PREFERRED if course.days.size > FITTED_EXACTLY else 0.0)


def _least_squares(course: ZoneCourse, target: float) -> tuple[float, float]:
    """Least weighted sums of squares with the plateau above a target, and at or below it."""
    weight = 1.0 / np.maximum(course.sd, 1e-6) ** 2
    above = course.level - target
    stops = meets = math.inf
    for rate in math.log(2.0) / HALF_LIVES:
        shape = np.exp(-rate * course.days)
        plateau, free = _fitted(shape, above, weight)
        at_target = _squares(
            above - shape * (weight * shape @ above) / (weight * shape @ shape), weight
        )
        stops = min(stops, free if plateau >= 0.0 else at_target)
        meets = min(meets, free if plateau < 0.0 else at_target)
    return stops, meets


def _fitted(shape: Array, level: Array, weight: Array) -> tuple[float, float]:
    """Return the plateau of the best a + b shape, and its weighted sum of squares."""
    total = weight.sum()
    middle, level_middle = weight @ shape / total, weight @ level / total
    spread = shape - middle
    slope = float(weight * spread @ level) / float(weight * spread @ spread)
    plateau = float(level_middle - slope * middle)
    return plateau, _squares(level - plateau - slope * shape, weight)


def _squares(left: Array, weight: Array) -> float:
    return float(weight @ left**2)
