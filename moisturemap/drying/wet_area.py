"""The wet area of each visit with its interval.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries
from moisturemap.mapping import MoistureSurface
from moisturemap.zones import block_side, thin

Array = NDArray[np.float64]

PLACES = 200
"""Places the surface is drawn at."""

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


def wet_areas(
    series: VisitSeries, levels: Sequence[MoistureSurface], level: float, options: DryingOptions
) -> tuple[WetArea, ...]:
    """Work out the wet area of each visit from conditional draws, the offset's error included.

    Errors are drawn from the field of the latest visit and scaled to the sd of each visit: how
    errors of neighbouring places go together follows from where was read, alike on every visit.
    """
    found = []
    for index, surface in enumerate(levels):
        area = _drawn(surface, levels[-1], level, series.offsets[index].sd, options)
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


def _drawn(
    surface: MoistureSurface,
    latest: MoistureSurface,
    level: float,
    offset_sd: float,
    options: DryingOptions,
) -> Array:
    """Areas of the draws [m2], shape (draws,)."""
    mean, sd = surface.dataset["mean"].to_numpy(), surface.dataset["sd"].to_numpy()
    total = np.hypot(sd, offset_sd)
    known = np.isfinite(mean)
    open_cells = known & (np.abs(mean - level) < DECIDED * np.maximum(total, 1e-9))
    cell = surface.grid.spacing**2
    area = np.full(options.draws, cell * float((known & (mean > level) & ~open_cells).sum()))
    if not open_cells.any():
        return area
    side = block_side(open_cells, PLACES)
    shift = offset_sd * np.random.default_rng(options.seed).standard_normal(options.draws)
    for index, domain in enumerate(surface.domains):
        here = open_cells & (surface.grid.domain == index)
        if domain.key not in latest.fields or not here.any():
            continue
        row, column, weight = thin(here, side)
        places = np.column_stack([surface.grid.x[column], surface.grid.y[row]])
        drawn = latest.fields[domain.key].draws(places, options.draws, options.seed + index)
        spread = np.maximum(drawn.std(axis=0), 1e-12)
        error = (drawn - drawn.mean(axis=0)) / spread * sd[row, column]
        area += cell * ((mean[row, column] + error + shift[:, None] > level) @ weight)
    return area
