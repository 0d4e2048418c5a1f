"""The wet area of each visit with its interval.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries
from moisturemap.mapping import MoistureSurface
from moisturemap.survey import CleanReadings
from moisturemap.zones import block_side, thin

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

PLACES = 200
"""Places the surface is drawn at."""

NEAREST = 64
"""Readings nearest to each of these places that errors are drawn from. Beside one system of all
2,000, of smooth and rough fields with noise to twice their sd, correlations of errors lie within
0.02 and the variance of their sum within 4% (measured)."""

DECIDED = 4.0
"""Beyond this many sd from the level a cell counts as decided."""


@dataclass(frozen=True, slots=True)
class WetArea:
    """Floor above the wet level on one visit.

    Attributes
    ----------
    visit : str
    days : float
        Since the first visit; NaN when not known.
    area_m2, low_m2, high_m2 : float
        Expected area and its interval.
    """

    visit: str
    days: float
    area_m2: float
    low_m2: float
    high_m2: float


SMALLEST_TOLD_M2 = 0.1
"""Step to which areas are told."""


def wet_area_words(one: WetArea) -> str:
    """Write an area with its interval; one that rounds to nothing is not called none."""
    if one.high_m2 < SMALLEST_TOLD_M2 / 2:
        return f"{one.visit} less than {SMALLEST_TOLD_M2:g} m2"
    return f"{one.visit} {one.area_m2:.1f} m2 ({one.low_m2:.1f} to {one.high_m2:.1f})"


def wet_areas(
    series: VisitSeries,
    levels: Sequence[MoistureSurface],
    level: float,
    options: DryingOptions,
) -> tuple[WetArea, ...]:
    """Work out the wet area of each visit from conditional draws, the offset's error included.

    Errors are drawn once from the field of the latest visit and scaled to the sd of each visit: how
    errors of neighbouring places go together follows from where was read, alike on every visit.
    Those of the latest are drawn by themselves, as when the visit stands alone.
    """
    open_cells = [
        _open_cells(surface, level, offset.sd)
        for surface, offset in zip(levels, series.offsets, strict=True)
    ]
    drawn = _draw_errors(levels[-1], np.any(open_cells, axis=0), options)
    own = drawn if len(levels) == 1 else _draw_errors(levels[-1], open_cells[-1], options)
    last = len(levels) - 1
    found = []
    for index, surface in enumerate(levels):
        errors, sd = own if index == last else drawn, series.offsets[index].sd
        area = _areas(surface, open_cells[index], errors, level, sd, options.seed)
        tail = 0.5 * (1.0 - options.interval)
        low, high = np.quantile(area, [tail, 1.0 - tail])
        found.append(
            WetArea(
                series.visits[index].id,
                float(series.days[index]),
                float(area.mean()),
                float(low),
                float(high),
            )
        )
    return tuple(found)


def wet_area_of(
    clean: CleanReadings,
    surface: MoistureSurface,
    level: float,
    options: DryingOptions | None = None,
) -> WetArea:
    """Return the wet area of one visit by itself: what ``wet_areas`` gives for its latest.

    Parameters
    ----------
    clean : CleanReadings
    surface : MoistureSurface
        Map of the visit.
    level : float
        The wet level [reading units].
    options : DryingOptions, optional

    Returns
    -------
    WetArea
        Mean and 90% interval [m2].
    """
    options = options or DryingOptions()
    return wet_areas(VisitSeries.of([clean], options), [surface], level, options)[0]


def _open_cells(surface: MoistureSurface, level: float, offset_sd: float) -> Mask:
    """Cells whose side of the level is not decided, shape (ny, nx)."""
    mean, sd = surface.levelled_mean, surface.sd
    total = np.maximum(np.hypot(sd, offset_sd), 1e-9)
    return np.asarray(np.isfinite(mean) & (np.abs(mean - level) < DECIDED * total))


@dataclass(frozen=True)
class MapErrors:
    """Errors of a map in units of its sd: by domain the places drawn at, and (draws, places)."""

    draws: int
    by_domain: Mapping[int, tuple[cKDTree, Array]]

    def at(self, domain: int, cells: Array) -> Array:
        """Errors (draws, cells) of the nearest places drawn."""
        tree, errors = self.by_domain[domain]
        return np.asarray(errors[:, tree.query(cells)[1]])


def _draw_errors(latest: MoistureSurface, cells: Mask, options: DryingOptions) -> MapErrors:
    found = {}
    side = block_side(cells, PLACES)
    for index, domain in enumerate(latest.domains):
        here = cells & (latest.grid.domain == index)
        if domain.key not in latest.fields or not here.any():
            continue
        row, column, _ = thin(here, side)
        places = np.column_stack([latest.grid.x[column], latest.grid.y[row]])
        seed = options.seed + index
        drawn = latest.fields[domain.key].draws(places, options.draws, seed, nearest=NEAREST)
        spread = np.maximum(drawn.std(axis=0), 1e-12)
        found[index] = (cKDTree(places), (drawn - drawn.mean(axis=0)) / spread)
    return MapErrors(options.draws, found)


def _areas(
    surface: MoistureSurface,
    open_cells: Mask,
    drawn: MapErrors,
    level: float,
    offset_sd: float,
    seed: int,
) -> Array:
    """Areas of the draws [m2], shape (draws,)."""
    mean, sd = surface.levelled_mean, surface.sd
    shift = offset_sd * np.random.default_rng(seed).standard_normal(drawn.draws)
    area = np.zeros(drawn.draws)
    for index, domain in enumerate(surface.domains):
        own = surface.grid.domain == index
        # cells at walls lie in part outside the floor
        cell = float(domain.geometry.area) / max(int(own.sum()), 1)
        area += cell * int((own & np.isfinite(mean) & (mean > level) & ~open_cells).sum())
        row, column = np.nonzero(own & open_cells)
        if index not in drawn.by_domain or not row.size:
            continue
        cells = np.column_stack([surface.grid.x[column], surface.grid.y[row]])
        error = drawn.at(index, cells) * sd[row, column]
        area += cell * (mean[row, column] + error + shift[:, None] > level).sum(axis=1)
    return area
