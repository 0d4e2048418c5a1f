"""Parts of the floor that a map says something about: the wet line and the hardly known."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree
from shapely import GeometryCollection
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan
from moisturemap.mapping.bands import area_above, contour
from moisturemap.mapping.surface import MoistureSurface
from moisturemap.survey import USED_FLAGS

FAR, WIDEST_SPACING_M = 1.5, 1.0
"""A place this many spacings from the nearest reading is hardly known; where readings stand further
apart than the second figure [m], they do not vouch for more floor than if they stood that close
(our choice: moist patches and pipes are narrower)."""


def wet_line(surface: MoistureSurface, plan: FloorPlan, level: float | None) -> BaseGeometry:
    """Return the line where the surface equals the wet level; empty without one."""
    if level is None:
        return GeometryCollection()
    return contour(surface.cells(), plan, level)


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
    reach = np.full(surface.grid.shape, np.nan)
    for index, domain in enumerate(surface.domains):
        places = np.unique(used.loc[used["domain"] == domain.key, ["x", "y"]].to_numpy(), axis=0)
        cells = (surface.grid.domain == index) & surface.grid.inside
        if domain.key not in surface.fields or len(places) < 2:
            continue
        tree = cKDTree(places)
        to_next = np.asarray(tree.query(places, 2)[0])[:, 1]
        apart = min(float(np.median(to_next)), WIDEST_SPACING_M)
        reach[cells] = tree.query(surface.grid.centres(cells))[0] / apart
    if np.isnan(reach).all():
        return GeometryCollection()
    return area_above(surface.on_cells(reach), plan, FAR)
