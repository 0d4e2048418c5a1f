"""The part of a wet zone that reads wettest, whatever wet level the zone was drawn by.

A level stated too low makes one zone of the whole floor, and a test at its rim says nothing of its
middle. Drill plan and verdict ask for a test in the same part. Method:
``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.mapping import MoistureSurface
from moisturemap.zones.zones import WetZones

Mask = NDArray[np.bool_]

DRIEST_SHARE = 0.05
"""Quantile of the mapped floor of a domain that stands for its driest; project choice."""

TOP_SHARE = 0.75
"""A cell reads about as wet as its zone from this share of the way on, from the driest floor to the
zone's peak; project choice."""


def wettest_cells(surface: MoistureSurface, wet: WetZones) -> Mapping[str, Mask]:
    """Return the cells of each zone that read nearly as high as its peak, (ny, nx) by zone.

    Zones without a mapped cell are left out.
    """
    grid, mean = surface.grid, surface.mean
    x, y = np.meshgrid(grid.x, grid.y)
    keys = [domain.key for domain in surface.domains]
    found = {}
    for zone in wet.zones.itertuples():
        own = np.isfinite(mean) & (grid.domain == keys.index(str(zone.domain)))
        inside = own & shapely.intersects_xy(zone.geometry, x, y)
        if not inside.any():
            continue
        driest, peak = np.quantile(mean[own], DRIEST_SHARE), mean[inside].max()
        found[str(zone.zone)] = inside & (mean >= driest + TOP_SHARE * (peak - driest))
    return found


def wettest_parts(surface: MoistureSurface, wet: WetZones) -> Mapping[str, BaseGeometry]:
    """Return the same as squares of these cells by zone [m]."""
    (x, y), half = np.meshgrid(surface.grid.x, surface.grid.y), 0.5 * surface.grid.spacing
    return {
        zone: shapely.union_all(
            shapely.box(x[top] - half, y[top] - half, x[top] + half, y[top] + half)
        )
        for zone, top in wettest_cells(surface, wet).items()
    }
