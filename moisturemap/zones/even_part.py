"""A wet zone that ends along straight lines and is even within, as a heated part of a floor is."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

LEAST_M2, LEAST_WITHIN_M2 = 6.0, 3.0
"""Heating pipes and mesh lie under so much of a floor and more [m2]; within the rim so much is left
to judge by (our choice, as all below)."""

FILLED = 0.85
"""Share of the rectangle round it, as far as there is floor, that such a zone fills."""

RIM_M, WALL_M = 0.5, 0.15
"""The rim of a zone, where it falls off, is so wide, and none along a wall so near [m]."""

EVEN, DRY = 0.25, 0.1
"""Sd within as a share of what the zone stands over dry floor, which is this quantile of the map.
Of wet patches of this size on invented floors none was as even and as square."""

WORDS = (
    "It reads evenly and ends along straight lines, as a part of a floor with heating pipes or "
    "mesh does, and no relative reading tells that from wet floor: find out whether any lie there, "
    "from drawings or by a thermal camera with the heating on, before a hole is drilled in it."
)


def even_part(zone: BaseGeometry, floor: BaseGeometry, cells: Array, mean: Array) -> str:
    """Say of a zone that heating pipes or mesh may be what lifts it; "" where it looks otherwise.

    The pitch of such pipes is below two footprints of most scanners, so that no line of them shows.

    Parameters
    ----------
    zone, floor : shapely geometry
        The zone, and the floor of its domain [m].
    cells : ndarray, shape (n, 2)
        Centres of the mapped cells of the domain [m].
    mean : ndarray, shape (n,)
        What they read [reading].
    """
    if zone.area < LEAST_M2:
        return ""
    about = zone.minimum_rotated_rectangle.intersection(floor)
    if zone.area < FILLED * about.area:
        return ""
    inside = shapely.contains_xy(zone, cells)
    rim = zone.boundary.difference(floor.boundary.buffer(WALL_M))
    within = inside.copy()
    if not rim.is_empty:
        within[inside] = shapely.distance(rim, shapely.points(cells[inside])) >= RIM_M
    if within.sum() < LEAST_WITHIN_M2 / zone.area * inside.sum():
        return ""
    over_dry = float(np.median(mean[inside]) - np.quantile(mean, DRY))
    return WORDS if float(mean[within].std()) < EVEN * over_dry else ""
