"""Contour bands and lines of values on cells, as polygons clipped to the rooms."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import geopandas as gpd
import numpy as np
from contourpy import ContourGenerator, FillType, LineType, contour_generator
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely import intersection, make_valid
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from moisturemap.floorplan import FloorPlan
from moisturemap.mapping.cell_values import CellValues

Array = NDArray[np.float64]

MOST_BANDS = 10
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def band_levels(values: Array, most: int = MOST_BANDS, least: float = 0.0) -> Array:
    """Return round band limits that span values of any shape, at most `most` bands.

    No band is finer than ``least``, the display step of the meter [reading units]: values that
    differ by no more than that share one band.

    Returns
    -------
    ndarray, shape (k + 1,)
        Ascending [reading units]; two limits around a constant; empty without a finite value.
    """
    mean = values[np.isfinite(values)]
    if mean.size == 0:
        return np.empty(0)
    low, high = float(mean.min()), float(mean.max())
    if high - low <= max(least, 1e-9 * max(1.0, abs(high))):
        half = 0.5 * max(1.0, 2.0 * least)
        middle = round(0.5 * (low + high) / half) * half
        return np.array([middle - half, middle + half])
    rough = max((high - low) / most, least)
    power = 10.0 ** np.floor(np.log10(rough))
    for step in (power * s for s in STEPS):
        first, last = np.floor(low / step), np.ceil(high / step)
        if last - first <= most and step >= least * (1.0 - 1e-9):
            return np.asarray(np.arange(first, last + 1) * step)
    return np.asarray(np.arange(first, last + 1) * step)


def bands(cells: CellValues, plan: FloorPlan, levels: Sequence[float] | Array) -> gpd.GeoDataFrame:
    """Return the floor between each two neighbouring levels.

    Returns
    -------
    GeoDataFrame
        ``domain, low, high`` [reading units], ``geometry`` (polygons clipped to the rooms).
    """
    rows = []
    for key, outline, generator in _contours(cells, plan):
        for low, high in itertools.pairwise(levels):
            area = intersection(_filled(generator, float(low), float(high)), outline)
            if area.area > 0:
                rows.append({"domain": key, "low": low, "high": high, "geometry": area})
    return gpd.GeoDataFrame(rows, columns=["domain", "low", "high", "geometry"])


def contour(cells: CellValues, plan: FloorPlan, level: float) -> BaseGeometry:
    """Return the line where values on cells equal a level, clipped to the rooms."""
    lines = []
    for _, outline, generator in _contours(cells, plan):
        found = MultiLineString([LineString(line) for line in generator.lines(level)])
        lines.append(intersection(found, outline))
    return unary_union(lines)


def area_above(cells: CellValues, plan: FloorPlan, level: float) -> BaseGeometry:
    """Return the floor where values on cells are above a level."""
    parts = [
        intersection(_filled(generator, level, np.inf), outline)
        for _, outline, generator in _contours(cells, plan)
    ]
    return unary_union(parts)


def _contours(
    cells: CellValues, plan: FloorPlan
) -> Iterator[tuple[str, BaseGeometry, ContourGenerator]]:
    """Yield (domain key, its outline in the rooms, contour generator) of mapped domains."""
    grid, values = cells.grid, cells.values
    rooms = plan.outline
    for index, domain in enumerate(cells.domains):
        known = (grid.domain == index) & np.isfinite(values)
        if not known.any():
            continue
        outline = intersection(domain.geometry, rooms)
        x, y, z = _spread(grid.x, grid.y, np.where(known, values, np.nan))
        yield (
            domain.key,
            outline,
            contour_generator(x, y, z, fill_type=FillType.OuterOffset, line_type=LineType.Separate),
        )


def _spread(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """Fill cells outside with the nearest known value and add a rim of one cell.

    Cell centres stop half a cell short of the walls; contours must reach them.
    """
    z = np.pad(z, 1, constant_values=np.nan)
    dx = x[1] - x[0] if x.size > 1 else 1.0
    dy = y[1] - y[0] if y.size > 1 else 1.0
    x = np.concatenate([[x[0] - dx], x, [x[-1] + dx]])
    y = np.concatenate([[y[0] - dy], y, [y[-1] + dy]])
    row, column = distance_transform_edt(
        ~np.isfinite(z), return_distances=False, return_indices=True
    )
    return x, y, z[row, column]


def _filled(generator: ContourGenerator, low: float, high: float) -> BaseGeometry:
    """Return the area between two levels as valid polygons."""
    polygons = []
    for points, offsets in zip(*generator.filled(low, high), strict=True):
        rings = [points[start:stop] for start, stop in itertools.pairwise(offsets)]
        if len(rings[0]) >= 4:
            polygons.append(Polygon(rings[0], [ring for ring in rings[1:] if len(ring) >= 4]))
    return make_valid(MultiPolygon(polygons)) if polygons else Polygon()
