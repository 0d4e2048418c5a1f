"""The mean change of each zone and of the floor, which shows what no single place can.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.special import ndtri
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.change_map import ChangeMap, Floor
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries

Array = NDArray[np.float64]

MEAN_COLUMNS = (
    "where",
    "from_visit",
    "to_visit",
    "area_m2",
    "change",
    "sd",
    "low",
    "high",
    "shown",
)
"""``where`` is ``"floor"`` or the name of a zone; ``change`` the mean change of its reading from
the first to the latest visit, negative where it fell, with its interval, of the probability 1 less
``DryingOptions.discovery``; ``shown`` is ``"fell"``,
``"rose"`` or ``""`` where the interval holds 0."""

REFERENCES = 8
"""Readings of known-dry floor that are asked for: with so many a fall of the whole floor by two
standard deviations of a reading was shown on 97 of 100 invented floors, without on 71."""

MOST_AVERAGED = 120
"""Cells a mean is worked out from; evenly through all of them."""


def mean_changes(
    change: ChangeMap, floor: Floor, zones: gpd.GeoDataFrame, options: DryingOptions
) -> pd.DataFrame:
    """Return the mean change of the floor and of each zone; columns ``MEAN_COLUMNS``.

    The errors of the places average out as far as they are independent; the error of the meter that
    all places of a visit share does not.

    Parameters
    ----------
    change : ChangeMap
    floor : Floor
    zones : GeoDataFrame
        With ``zone``.
    options : DryingOptions
        ``discovery`` sets the interval.

    Returns
    -------
    DataFrame
    """
    z = float(ndtri(1.0 - 0.5 * options.discovery))
    rows = []
    places: list[tuple[str, BaseGeometry | None]] = [("floor", None)]
    places += [(str(zone.zone), zone.geometry) for zone in zones.itertuples()]
    for where, geometry in places:
        found = _mean(change, floor, geometry)
        if found is None:
            continue
        area, mean, sd = found
        low, high = mean - z * sd, mean + z * sd
        shown = "fell" if high < 0.0 else "rose" if low > 0.0 else ""
        ends = (change.visits[0], change.visits[-1])
        rows.append((where, *ends, area, mean, sd, low, high, shown))
    return pd.DataFrame(rows, columns=list(MEAN_COLUMNS))


def _mean(
    change: ChangeMap, floor: Floor, geometry: BaseGeometry | None
) -> tuple[float, float, float] | None:
    """Area [m2], mean change and sd over the mapped floor, or over a part of it."""
    grid = floor.grid
    x, y = np.meshgrid(grid.x, grid.y)
    chosen = grid.inside & np.isfinite(change.dataset["mean"].to_numpy())
    if geometry is not None:
        shapely.prepare(geometry)
        chosen &= shapely.contains_xy(geometry, x, y)
    area = total = variance = common = 0.0
    for index, domain in enumerate(floor.domains):
        here = chosen & (grid.domain == index)
        if domain.key not in change.fields or not here.any():
            continue
        cells = np.column_stack([x[here], y[here]])
        cells = cells[np.linspace(0, len(cells) - 1, min(len(cells), MOST_AVERAGED)).astype(int)]
        field = change.fields[domain.key]
        mean, sd = field.average(cells)
        part = float(here.sum())
        area, total, common = area + part, total + part * mean, field.common_sd
        variance += part**2 * max(sd**2 - common**2, 0.0)
    if area == 0.0:
        return None
    # cells are counted whole, so outlines are measured instead
    size = sum(change.area_m2.values()) if geometry is None else float(geometry.area)
    return size, total / area, math.hypot(math.sqrt(variance) / area, common)


def mean_sentences(
    means: pd.DataFrame, series: VisitSeries, options: DryingOptions
) -> tuple[str, ...]:
    """Say the mean change of the floor and of each zone, and what would show a smaller one."""
    if means.empty:
        return ()
    said = []
    for row in means.itertuples():
        name = "whole mapped floor" if row.where == "floor" else f"zone {row.where}"
        verdict = {"fell": "it fell", "rose": "it rose", "": "no change is shown"}[str(row.shown)]
        said.append(f"{name} {row.change:+.1f} ({row.low:+.1f} to {row.high:+.1f}): {verdict}")
    first = means.iloc[0]
    mean = (
        f"Mean change of the reading from {first.from_visit} to {first.to_visit}, with "
        f"{1.0 - options.discovery:.0%} interval: {'; '.join(said)}."
    )
    untold = [series.offsets[end].how == "assumed" for end in (0, -1)]
    if not any(untold) or (means["shown"] != "").all():
        return (mean,)
    z = float(ndtri(1.0 - 0.5 * options.discovery))
    least = z * series.common_sd(series.change_weights())
    return (
        mean,
        f"A change of all readings by less than about {least:.2g} could be drift of the meter: on "
        f"every visit from now on, read {REFERENCES} places of known-dry floor, the same each "
        "time, or a check block.",
    )
