"""Where drying is wanted, and how much.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.mapping import MoistureSurface
from moisturemap.zones import block_side

Array = NDArray[np.float64]

MOST_PLACES = 260
"""Places the wet floor is gathered into at most (our choice, for pace)."""

DRIVE_LIMITS = (0.3, 3.0)
"""Bounds of the relative drive (project choice)."""


@dataclass(frozen=True)
class Demand:
    """Wet floor as places with a weight.

    Attributes
    ----------
    points : ndarray, shape (m, 2)
        [m]
    weight : ndarray, shape (m,)
        Excess over the wet level times area times drive, stagnant floor counted more.
    stagnant : ndarray of bool, shape (m,)
    zone : ndarray of str, shape (m,)
        Name of the wet zone it lies in, "" else.
    """

    points: Array
    weight: Array
    stagnant: NDArray[np.bool_]
    zone: NDArray[np.object_]


def find_demand(
    surface: MoistureSurface,
    level: float,
    zones: gpd.GeoDataFrame,
    areas: gpd.GeoDataFrame,
    *,
    stagnant_weight: float = 2.0,
    drive: Mapping[str, float] | None = None,
) -> Demand:
    """Gather the floor above the wet level into at most ``MOST_PLACES`` places.

    Parameters
    ----------
    surface : MoistureSurface
    level : float
        The wet level [reading units].
    zones : GeoDataFrame
        Wet zones with ``zone``.
    areas : GeoDataFrame
        Columns ``AREA_COLUMNS``.
    stagnant_weight : float
        By how much more stagnant floor counts (project choice).
    drive : mapping of str to float, optional
        Vapour-pressure difference slab to air of tested zones, relative to their mean; 1 elsewhere.
        Kept within ``DRIVE_LIMITS``: where air wets the slab, drying is wanted all the same.

    Returns
    -------
    Demand
        Excess over the wet level times area at each place [reading units m2].
    """
    grid = surface.grid
    excess = surface.levelled_mean - level
    wet = np.isfinite(excess) & (excess > 0)
    row, column = np.nonzero(wet)
    cells = np.column_stack([grid.x[column], grid.y[row]])
    stagnant = _inside(areas[areas["kind"] == "stagnant"], cells)
    weight = excess[wet] * grid.spacing**2 * np.where(stagnant, stagnant_weight, 1.0)
    if drive:
        factors = [drive.get(str(name), 1.0) for name in _zone_of(zones, cells)]
        weight = weight * np.clip(factors, *DRIVE_LIMITS)
    if not row.size or weight.sum() <= 0:
        nothing = np.empty(0)
        return Demand(np.empty((0, 2)), nothing, nothing.astype(bool), nothing.astype(object))
    side = block_side(wet, MOST_PLACES)
    block = (row // side) * (grid.shape[1] // side + 1) + column // side
    order = np.lexsort((-weight, block))
    _, first, inverse = np.unique(block[order], return_index=True, return_inverse=True)
    total: Array = np.bincount(inverse, weight[order]).astype(float)
    chosen = order[first]
    return Demand(cells[chosen], total, stagnant[chosen], _zone_of(zones, cells[chosen]))


def with_unread(demand: Demand, points: Array, excess: Array, cell_m2: float) -> Demand:
    """Return a demand with wet floor that was not read since: a machine may stand on it.

    Parameters
    ----------
    demand : Demand
    points : ndarray, shape (k, 2)
        [m]
    excess : ndarray, shape (k,)
        What they read last over the wet level [reading].
    cell_m2 : float
        Floor each stands for [m2].
    """
    if not len(points):
        return demand
    return Demand(
        np.concatenate([demand.points, points]),
        np.concatenate([demand.weight, excess * cell_m2]),
        np.concatenate([demand.stagnant, np.zeros(len(points), dtype=bool)]),
        np.concatenate([demand.zone, np.full(len(points), "", dtype=object)]),
    )


def _inside(table: gpd.GeoDataFrame, points: Array) -> NDArray[np.bool_]:
    if table.empty or not len(points):
        return np.zeros(len(points), dtype=bool)
    area = shapely.union_all(table.geometry.to_numpy())
    shapely.prepare(area)
    return np.asarray(shapely.intersects_xy(area, points[:, 0], points[:, 1]))


def _zone_of(zones: gpd.GeoDataFrame, points: Array) -> NDArray[np.object_]:
    names = np.full(len(points), "", dtype=object)
    for zone in zones.itertuples():
        here = shapely.intersects_xy(zone.geometry, points[:, 0], points[:, 1])
        names[here & (names == "")] = str(zone.zone)
    return names
