"""The map if what is contested were things, and the probability of wet over both outcomes."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.anomalies import Anomalies
from moisturemap.mapping import MappingOptions, MoistureSurface, map_without
from moisturemap.survey import CONTESTED, CleanReadings

Array = NDArray[np.float64]

EVEN_ODDS = 1.0
"""Odds of a contested reading that was not weighed against wet floor (our choice)."""


def without_contested(
    found: Anomalies, clean: CleanReadings, surface: MoistureSurface, options: MappingOptions
) -> MoistureSurface | None:
    """Map once more without the contested readings; None where none is contested.

    The covariances stay as they are: only what is looked at changes.
    """
    readings = found.readings
    contested = readings["flag"] == CONTESTED
    if not contested.any():
        return None
    return map_without(surface, readings, clean, contested.to_numpy(dtype=bool), options)


def over_standings(
    surface: MoistureSurface, rival: MoistureSurface, found: Anomalies
) -> MoistureSurface:
    """Return the surface with ``p_wet`` the mean over the outcomes.

    p = q p_things + (1 - q) p_floor with q = odds / (1 + odds) of the nearest contested anomaly.

    Parameters
    ----------
    surface, rival : MoistureSurface
        Maps with and without the contested readings, both with a wet level.
    found : Anomalies
    """
    contested = found.table[found.table["standing"] == "contested"]
    stays, goes = surface.p_wet, rival.p_wet
    if contested.empty or stays is None or goes is None:
        return surface
    where = surface.grid.inside & np.isfinite(stays) & np.isfinite(goes)
    where &= np.abs(stays - goes) > 1e-3
    mean = stays.copy()
    if where.any():
        share = _nearest_share(contested, surface.grid.centres(where))
        mean[where] = share * goes[where] + (1.0 - share) * stays[where]
    return replace(surface, p_wet=mean)


def _nearest_share(contested: gpd.GeoDataFrame, places: Array) -> Array:
    """Probability that the contested anomaly nearest to each place (m, 2) is a thing, (m,)."""
    odds = contested["odds"].to_numpy(dtype=float)
    odds = np.where(np.isfinite(odds), odds, EVEN_ODDS)
    tree = shapely.STRtree(contested.geometry.to_numpy())
    nearest = tree.nearest(shapely.points(places))
    return np.asarray((odds / (1.0 + odds))[nearest])
