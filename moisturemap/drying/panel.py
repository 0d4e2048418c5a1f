"""The readings of several visits, place by place.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.drying.series import VisitSeries
from moisturemap.geostat import spacing_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SAME_PLACE_M = 0.10
"""Readings of two visits this near are at one place, if they stand much farther apart [m]."""

SAME_PLACE_SHARE = 0.25
"""The same as a share of the spacing of the readings."""

STRAY_SD = 6.0
"""Robust sd by which a reading must leave its own other visits and its neighbours to be a stray."""

NEIGHBOURS = 8
"""Neighbours a single odd value is held against (our choice)."""

ALONG, ALONG_SHARE = 2, 1 / 3
"""An odd value is no stray where so many of its neighbours changed the same way by at least this
share of its own change: the middle of a leak that grows stands out more on each visit (our choice:
a slip has no such neighbours but by chance)."""


@dataclass(frozen=True)
class Panel:
    """Readings of one domain by place and visit.

    Attributes
    ----------
    domain : str
    points : ndarray, shape (n, 2)
        Places [m].
    values : ndarray, shape (n, visits)
        Offsets taken out; NaN where not read, or set aside.
    counts : ndarray, shape (n, visits)
        Repeats behind each value.
    censored : ndarray of bool, shape (n, visits)
        True at an end of the scale: the value is a bound.
    strays : tuple of (str, float, float, float)
        Visit, x, y and value of readings set aside because they fit neither their own place on
        other visits nor their neighbours.
    spacing : float
        Typical distance of neighbouring readings [m].
    """

    domain: str
    points: Array
    values: Array
    counts: Array
    censored: Mask
    strays: tuple[tuple[str, float, float, float], ...]
    spacing: float

    def complete(self, weights: Array) -> Mask:
        """Places with an uncensored value on every visit of a weighted sum, shape (n,).

        Parameters
        ----------
        weights : ndarray, shape (visits,)

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        used = weights != 0.0
        sound = np.isfinite(self.values[:, used]) & ~self.censored[:, used]
        return np.asarray(sound.all(axis=1))

    def together(self, weights: Array) -> float:
        """Share of the places of the least read visit that were read on all visits of a sum.

        Parameters
        ----------
        weights : ndarray, shape (visits,)

        Returns
        -------
        float
            0 to 1.
        """
        read = np.isfinite(self.values[:, weights != 0.0])
        fewest = int(read.sum(axis=0).min()) if read.size else 0
        return float(read.all(axis=1).sum() / fewest) if fewest else 0.0


def make_panel(series: VisitSeries, domain: str) -> Panel:
    """Bring the locations of a domain together over the visits.

    Parameters
    ----------
    series : VisitSeries
    domain : str
        Key of the part of the floor.

    Returns
    -------
    Panel
        One row a place, one column a visit.
    """
    tables = [one.locations[one.locations["domain"] == domain] for one in series.clean]
    spacing = _spacing(tables)
    points, site = _sites(tables, min(SAME_PLACE_M, SAME_PLACE_SHARE * spacing))
    shape = (len(points), len(tables))
    values, counts = np.full(shape, np.nan), np.zeros(shape)
    censored = np.zeros(shape, dtype=bool)
    for column, (table, rows) in enumerate(zip(tables, site, strict=True)):
        values[rows, column] = table["value"].to_numpy(dtype=float) - series.offsets[column].value
        counts[rows, column] = table["n"].to_numpy(dtype=float)
        censored[rows, column] = table["censored"].to_numpy() != ""
    panel = Panel(domain, points, values, counts, censored, (), spacing)
    return _without_strays(panel, [one.visit.id for one in series.clean])


def _spacing(tables: Sequence[pd.DataFrame]) -> float:
    apart = [
        spacing_of(table[["x", "y"]].to_numpy(dtype=float)) for table in tables if len(table) > 1
    ]
    return float(np.median(apart)) if apart else 1.0


def _sites(tables: Sequence[pd.DataFrame], reach: float) -> tuple[Array, list[NDArray[np.intp]]]:
    """Distinct places over all visits, latest first, and that of each location of each visit."""
    places = np.empty((0, 2))
    found: list[NDArray[np.intp]] = []
    for table in reversed(tables):
        own = table[["x", "y"]].to_numpy(dtype=float)
        row = np.full(len(own), -1, dtype=np.intp)
        if len(places) and len(own):
            distance, nearest = map(np.asarray, cKDTree(places).query(own))
            close = np.flatnonzero(distance <= reach)
            close = close[np.argsort(distance[close], kind="stable")]
            _, first = np.unique(nearest[close], return_index=True)
            row[close[first]] = nearest[close[first]]
        fresh = np.flatnonzero(row < 0)
        row[fresh] = len(places) + np.arange(fresh.size)
        places = np.concatenate([places, own[fresh]])
        found.append(row)
    return places, found[::-1]


def _without_strays(panel: Panel, visits: Sequence[str]) -> Panel:
    """Set aside single readings that fit neither their own place nor their neighbours."""
    if panel.values.shape[1] < 2 or len(panel.points) < 3 * NEIGHBOURS:
        return panel
    rough = np.column_stack([_roughness(panel.points, column) for column in panel.values.T])
    values = panel.values.copy()
    strays: list[tuple[str, float, float, float]] = []
    for column, visit in enumerate(visits):
        others = np.delete(rough, column, axis=1)
        known = np.isfinite(rough[:, column]) & np.isfinite(others).any(axis=1)
        if known.sum() < 3 * NEIGHBOURS:
            continue
        own = np.full(len(rough), np.nan)
        own[known] = rough[known, column] - np.nanmedian(others[known], axis=1)
        spread = 1.4826 * float(np.nanmedian(np.abs(own)))
        larger = np.abs(rough[:, column]) > np.nan_to_num(np.abs(others)).max(axis=1)
        bad = np.flatnonzero(known & larger & (np.abs(own) > STRAY_SD * max(spread, 1e-9)))
        bad = bad[~_went_along(panel, column, bad)]
        strays += [
            (
                visit,
                float(panel.points[row, 0]),
                float(panel.points[row, 1]),
                float(panel.values[row, column]),
            )
            for row in bad
        ]
        values[bad, column] = np.nan
    return replace(panel, values=values, strays=tuple(strays))


def _went_along(panel: Panel, column: int, rows: NDArray[np.intp]) -> Mask:
    """Whether the neighbours of places changed with them on a visit, shape (len(rows),)."""
    if not rows.size:
        return np.zeros(0, dtype=np.bool_)
    others = np.delete(panel.values, column, axis=1)
    changed = np.isfinite(panel.values[:, column]) & np.isfinite(others).any(axis=1)
    change = panel.values[changed, column] - np.nanmedian(others[changed], axis=1)
    change -= np.median(change)
    at = np.searchsorted(np.flatnonzero(changed), rows)
    tree = cKDTree(panel.points[changed])
    near = np.asarray(tree.query(panel.points[rows], k=NEIGHBOURS + 1)[1])[:, 1:]
    own = change[at][:, None]
    along = np.sign(own) * change[near] >= ALONG_SHARE * np.abs(own)
    return np.asarray(along.sum(axis=1) >= ALONG)


def _roughness(points: Array, values: Array) -> Array:
    """Each value minus the median of its neighbours on the same visit, shape (n,)."""
    rough = np.full(len(values), np.nan)
    known = np.flatnonzero(np.isfinite(values))
    if known.size > NEIGHBOURS:
        near = np.asarray(cKDTree(points[known]).query(points[known], k=NEIGHBOURS + 1)[1])
        rough[known] = values[known] - np.median(values[known][near[:, 1:]], axis=1)
    return rough
