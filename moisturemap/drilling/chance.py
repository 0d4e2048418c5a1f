"""The chance that a wet patch of a given size is missed."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from shapely import unary_union
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import OptionError

Array = NDArray[np.float64]


def chance_words(chance: float) -> str:
    """Write a chance as a percentage that never claims certainty."""
    if chance > 0.99:
        return "more than 99%"
    return "less than 1%" if chance < 0.01 else f"{chance:.0%}"


def chance_missed(holes: Array, floor: BaseGeometry, radius: float) -> float:
    """Chance that a round patch, its middle anywhere on the floor alike, holds no hole.

    Parameters
    ----------
    holes : ndarray, shape (n, 2)
        Places of the holes [m].
    floor : shapely geometry
        Where the middle may lie [m]; give one domain at a time.
    radius : float
        Radius of the patch [m].

    Notes
    -----
    One less the share of the floor within `radius` of a hole, in straight lines; the circles are
    drawn as 256-sided polygons of equal area.
    """
    if radius < 0:
        raise OptionError("a radius cannot be negative", value=radius, allowed="0 or more")
    if not len(holes) or radius == 0:
        return 1.0
    step = 2.0 * math.pi / 256
    equal_area = radius * math.sqrt(step / math.sin(step))
    seen = unary_union([p.buffer(equal_area, quad_segs=64) for p in MultiPoint(holes).geoms])
    return float(1.0 - seen.intersection(floor).area / floor.area)


def chance_missed_square(ratio: float) -> float:
    """Chance that a round patch falls between the nodes of a square grid.

    Parameters
    ----------
    ratio : float
        Radius of the patch over grid spacing.

    Notes
    -----
    Singer, D. A. and Wickman, F. E. (1969), Probability tables for locating elliptical targets with
    square, rectangular and hexagonal point-nets; Gilbert, R. O. (1987), Statistical Methods for
    Environmental Pollution Monitoring, chapter 10.
    """
    if ratio <= 0.5:
        return 1.0 - math.pi * ratio**2
    if ratio >= math.sqrt(0.5):
        return 0.0
    overlap = ratio**2 * math.acos(0.5 / ratio) - 0.5 * math.sqrt(ratio**2 - 0.25)
    return 1.0 - (math.pi * ratio**2 - 4.0 * overlap)


def chance_missed_triangular(ratio: float) -> float:
    """Chance that a round patch falls between the nodes of an equilateral triangular grid.

    Parameters
    ----------
    ratio : float
        Radius of the patch over the side of a triangle (Gilbert 1987, chapter 10).
    """
    cell = math.sqrt(3.0) / 2.0
    if ratio <= 0.5:
        return 1.0 - math.pi * ratio**2 / cell
    if ratio >= 1.0 / math.sqrt(3.0):
        return 0.0
    overlap = ratio**2 * math.acos(0.5 / ratio) - 0.5 * math.sqrt(ratio**2 - 0.25)
    return 1.0 - (math.pi * ratio**2 - 6.0 * overlap) / cell


def ratio_for_miss(miss: float, pattern: str = "square") -> float:
    """Radius over spacing at which a grid misses a round patch with a given chance.

    Parameters
    ----------
    miss : float
        Chance to miss, between 0 and 1.
    pattern : str
        ``"square"`` or ``"triangular"``.
    """
    shapes = {
        "square": (chance_missed_square, math.sqrt(0.5)),
        "triangular": (chance_missed_triangular, 1.0 / math.sqrt(3.0)),
    }
    if pattern not in shapes:
        raise OptionError("unknown pattern", value=pattern, allowed=", ".join(shapes))
    if not 0.0 < miss < 1.0:
        raise OptionError("a chance out of range", value=miss, allowed="above 0 and below 1")
    from scipy.optimize import brentq  # a fifth of a second to load, and no map needs it

    chance, widest = shapes[pattern]
    return float(brentq(lambda ratio: chance(ratio) - miss, 0.0, widest))


def chance_missed_random(holes: int, area_m2: float, radius: float) -> float:
    """Chance that n holes at random places miss a round patch away from the edge.

    (1 - pi r^2 / A)^n (Gilbert 1987, chapter 10).

    Parameters
    ----------
    holes : int
        Holes at random places.
    area_m2 : float
        Floor [m2].
    radius : float
        Of the patch [m].

    Returns
    -------
    float
        Probability, 0 to 1.
    """
    return float(max(0.0, 1.0 - math.pi * radius**2 / area_m2) ** holes)
