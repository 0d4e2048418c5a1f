"""Parts of the floor that a map says something about: the wet line and the hardly known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree
from scipy.special import ndtri
from shapely import GeometryCollection
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan
from moisturemap.mapping.bands import area_above, contour
from moisturemap.mapping.cell_values import CellValues
from moisturemap.mapping.surface import MoistureSurface
from moisturemap.survey import USED_FLAGS

FAR, WIDEST_SPACING_M = 1.5, 1.0
"""A place this many spacings from the nearest reading is hardly known; where readings stand further
apart than the second figure [m], they do not vouch for more floor than if they stood that close
(our choice: moist patches and pipes are narrower)."""

SD_OF_90_PCT = float(ndtri(0.95))
"""Half a central 90% interval of a normal distribution [sd]."""


def wet_line(surface: MoistureSurface, plan: FloorPlan, level: float | None) -> BaseGeometry:
    """Return the line where the surface equals the wet level; empty without one."""
    if level is None:
        return GeometryCollection()
    return contour(surface.on_cells(surface.levelled_mean), plan, level)


def wet_area(surface: MoistureSurface, plan: FloorPlan, level: float | None) -> BaseGeometry:
    """Return the floor that the wet line outlines, the smallest patches too; empty without one."""
    if level is None:
        return GeometryCollection()
    return area_above(surface.on_cells(surface.levelled_mean), plan, level)


def undecided_area(
    surface: MoistureSurface, plan: FloorPlan, level: float | None, shift_sd: float = 0.0
) -> BaseGeometry:
    """Return the floor where the 90% interval of the surface holds the wet level.

    Parameters
    ----------
    surface : MoistureSurface
    plan : FloorPlan
    level : float or None
        Wet level [reading units]; nothing is undecided without one.
    shift_sd : float
        Sd of an error that the whole surface shares [reading units].
    """
    if level is None:
        return GeometryCollection()
    mean, sd = surface.levelled_mean, surface.on_cells(surface.sd).values
    off = np.abs(mean - level) / np.maximum(np.hypot(sd, shift_sd), 1e-9)
    return area_above(surface.on_cells(SD_OF_90_PCT - off), plan, 0.0)


def poorly_known_area(
    surface: MoistureSurface, plan: FloorPlan, readings: pd.DataFrame
) -> BaseGeometry:
    """Return the floor far from every reading used, compared with how far apart these stand.

    Parameters
    ----------
    surface : MoistureSurface
    plan : FloorPlan
    readings : pandas.DataFrame
        Columns ``flag, domain, x, y``.
    """
    used = readings[readings["flag"].isin(USED_FLAGS)]
    return area_far_from(used, surface.cells(), plan)


def area_far_from(readings: pd.DataFrame, mapped: CellValues, plan: FloorPlan) -> BaseGeometry:
    """Return the mapped floor far from readings, compared with how far apart these stand.

    Parameters
    ----------
    readings : pandas.DataFrame
        Columns ``domain, x, y``; those the map rests on.
    mapped : CellValues
        NaN where nothing is mapped.
    plan : FloorPlan
    """
    grid = mapped.grid
    reach = np.full(grid.shape, np.nan)
    for index, domain in enumerate(mapped.domains):
        places = np.unique(
            readings.loc[readings["domain"] == domain.key, ["x", "y"]].to_numpy(), axis=0
        )
        cells = (grid.domain == index) & grid.inside & np.isfinite(mapped.values)
        if not cells.any() or len(places) < 2:
            continue
        tree = cKDTree(places)
        to_next = np.asarray(tree.query(places, 2)[0])[:, 1]
        apart = min(float(np.median(to_next)), WIDEST_SPACING_M)
        reach[cells] = tree.query(grid.centres(cells))[0] / apart
    if np.isnan(reach).all():
        return GeometryCollection()
    return area_above(replace(mapped, values=reach), plan, FAR)
