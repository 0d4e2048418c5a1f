"""The readings of a zone's wettest part over the visits.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.change_map import ChangeMap
from moisturemap.drying.series import VisitSeries
from moisturemap.mapping import MoistureSurface

Array = NDArray[np.float64]

CORE_SHARE = 0.1
"""A zone has met the target when its wettest tenth has (our choice)."""

CORE_CELLS = 4
MOST_AVERAGED = 80
"""Least cells of that tenth, and most that are averaged."""


@dataclass(frozen=True)
class ZoneCourse:
    """The readings of a zone's wettest part over the visits.

    Attributes
    ----------
    zone : str
    days, level, sd : ndarray, shape (visits,)
        Since the first visit [days]; mean reading of the core; its sd without what is the same on
        every visit.
    """

    zone: str
    days: Array
    level: Array
    sd: Array


def zone_course(
    zone: str,
    geometry: BaseGeometry,
    levels: Sequence[MoistureSurface],
    series: VisitSeries,
    change: ChangeMap,
) -> ZoneCourse | None:
    """Follow the wettest tenth of a zone over the visits; None where it is not mapped.

    The sd of a level is that of its change between visits, over the square root of two: what is the
    same on every visit, such as texture that was not read, has no part in it.
    """
    latest = levels[-1]
    core, domain = wettest_cells(geometry, latest)
    if core is None or domain not in change.fields:
        return None
    if any(domain not in surface.fields for surface in levels):
        return None
    column, row = (
        np.rint((core[:, axis] - origin) / latest.grid.spacing).astype(int)
        for axis, origin in enumerate((latest.grid.x[0], latest.grid.y[0]))
    )
    level = np.array([surface.dataset["mean"].to_numpy()[row, column].mean() for surface in levels])
    field_ = change.fields[domain]
    own = field_.average(core)[1]
    squares = float(field_.weights @ field_.weights)
    noise = math.sqrt(max(own**2 - field_.common_sd**2, 0.0) / squares)
    sd = np.hypot(noise, np.array([offset.sd for offset in series.offsets]))
    return ZoneCourse(zone, series.days, level, sd)


def wettest_cells(geometry: BaseGeometry, surface: MoistureSurface) -> tuple[Array | None, str]:
    """Return the wettest tenth of the cells of a zone (n, 2) [m], and its domain."""
    grid = surface.grid
    x, y = np.meshgrid(grid.x, grid.y)
    mean = surface.dataset["mean"].to_numpy()
    shapely.prepare(geometry)
    inside = shapely.contains_xy(geometry, x, y) & np.isfinite(mean)
    if not inside.any():
        return None, ""
    order = np.argsort(-mean[inside], kind="stable")
    count = min(max(CORE_CELLS, round(CORE_SHARE * order.size)), order.size)
    cells = np.column_stack([x[inside], y[inside]])[order[:count]]
    domain = surface.domains[int(grid.domain[inside][order[0]])].key
    return cells[np.linspace(0, count - 1, min(count, MOST_AVERAGED)).astype(int)], domain
