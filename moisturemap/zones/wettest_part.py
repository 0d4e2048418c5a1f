"""The parts of a wet zone that read wettest, whatever wet level the zone was drawn by.

A level stated too low makes one zone of the whole floor, and a test at its rim says nothing of its
middle. Drill plan and verdict ask for a test in the same part. Method:
``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import label, maximum_filter
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import CellGrid
from moisturemap.mapping import MoistureSurface
from moisturemap.zones.zones import WetZones

Mask = NDArray[np.bool_]

DRIEST_SHARE = 0.05
"""Quantile of the mapped floor of a domain that stands for its driest; project choice."""

TOP_SHARE = 0.75
"""A cell reads about as wet as its zone from this share of the way on, from the driest floor to the
zone's peak; project choice."""


APART_M = 1.0
"""A peak nearer than this to a higher one is the same wet floor [m]; project choice."""

BEYOND_SDS = 2.0
"""A peak stands so many sd of the map above the saddle to a higher one, or it may be none; project
choice."""

MOST_PEAKS = 50
"""So many local peaks of a zone, the highest of them, are looked at."""


def wettest_cells(surface: MoistureSurface, wet: WetZones) -> Mapping[str, tuple[Mask, ...]]:
    """Return the cells of each zone that read nearly as high as its peak, (ny, nx) by zone.

    Of a zone with several peaks nearly as high, each with floor between that reads less than three
    quarters of its way, those about each, the highest first: damp floor that joins two leaks makes
    no single one of them. Zones without a mapped cell are left out.
    """
    grid, mean = surface.grid, surface.mean
    x, y = np.meshgrid(grid.x, grid.y)
    keys = [domain.key for domain in surface.domains]
    found = {}
    zones = zip(wet.zones["zone"], wet.zones["domain"], wet.zones.geometry, strict=True)
    for name, domain, outline in zones:
        own = np.isfinite(mean) & (grid.domain == keys.index(str(domain)))
        inside = own & shapely.intersects_xy(outline, x, y)
        if inside.any():
            driest = float(np.quantile(mean[own], DRIEST_SHARE))
            found[str(name)] = _tops(surface, inside, driest)
    return found


def _tops(surface: MoistureSurface, inside: Mask, driest: float) -> tuple[Mask, ...]:
    """Return the cells about each peak of a zone, the highest first."""
    value = np.where(inside, surface.mean, -np.inf)
    line = driest + TOP_SHARE * (value.max() - driest)
    peaks = np.argwhere((value == maximum_filter(value, size=3)) & (value >= line))
    peaks = peaks[np.argsort(-value[tuple(peaks.T)], kind="stable")][:MOST_PEAKS]
    heads: list[tuple[int, int]] = []
    parts: list[Mask] = []
    for row, column in peaks.tolist():
        rise = float(value[row, column]) - driest
        near = [np.hypot(row - r, column - c) * surface.grid.spacing < APART_M for r, c in heads]
        flat = (1.0 - TOP_SHARE) * rise < BEYOND_SDS * surface.sd[row, column]
        if heads and (flat or any(near)):
            continue
        linked = label(value >= driest + TOP_SHARE * rise, structure=np.ones((3, 3)))[0]
        part = linked == linked[row, column]
        if not any(part[head] for head in heads):
            heads.append((row, column))
            parts.append(part)
    rest = inside & (value >= line)
    for part in parts[1:]:
        rest &= ~part
    return (rest, *parts[1:])


def wettest_parts(
    surface: MoistureSurface, wet: WetZones
) -> Mapping[str, tuple[BaseGeometry, ...]]:
    """Return the same as squares of these cells by zone [m]."""
    return {
        zone: tuple(_outline(surface.grid, top) for top in tops)
        for zone, tops in wettest_cells(surface, wet).items()
    }


def _outline(grid: CellGrid, cells: Mask) -> BaseGeometry:
    """Return the squares of some cells, those side by side in a row as one rectangle."""
    x, y = (_edges(centres, grid.spacing) for centres in (grid.x, grid.y))
    ends = np.diff(np.pad(cells, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    row, first = np.nonzero(ends == 1)
    end = np.nonzero(ends == -1)[1]
    return shapely.union_all(shapely.box(x[first], y[row], x[end], y[row + 1]))


def _edges(centres: NDArray[np.float64], spacing: float) -> NDArray[np.float64]:
    """Edges (n + 1,) of cells by their centres (n,), one and the same number for neighbours."""
    half = 0.5 * spacing
    between = 0.5 * (centres[1:] + centres[:-1])
    return np.concatenate([centres[:1] - half, between, centres[-1:] + half])
