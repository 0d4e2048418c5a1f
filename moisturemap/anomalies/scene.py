"""What a search looks at: the readings of one domain, the meter that made them, the wet level."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import LineString

from moisturemap.anomalies.swept import of_sweeps, runs_of
from moisturemap.geostat import spacing_of
from moisturemap.survey import SAME_PLACE_M, CleanReadings

Array = NDArray[np.float64]

USUAL_FOOTPRINT_M = 0.12
"""Sd of the response across a thin thing where the survey states none [m]. Our choice: heads are
some 0.1 to 0.3 m wide, a square head of width b answers with an sd of b / sqrt(12) and more."""

THIN_M = 0.05
"""Half the size of a usual embedded thing, added in squares to the footprint [m] (our choice)."""

LEAST_GRID = 20
"""Fewer readings beside the sweeps are no grid."""

WIDER_SCALE = 1.2
"""A meter that states no scale is taken to reach this many times the range read (our choice)."""


@dataclass(frozen=True)
class Scene:
    """Readings of one domain, repeats pooled.

    Attributes
    ----------
    points, values : ndarray
        Places (n, 2) [m] and readings (n,).
    share : ndarray, shape (n,)
        Share of the noise variance each carries: 1 over its repeats.
    apart : ndarray, shape (n,)
        Range of the repeats at each place [reading].
    spacing : float
        Typical distance between neighbouring readings [m].
    footprint : float
        Sd of the meter's response across a thin thing [m].
    noise_floor : float
        Least variance of one reading: its display step, its repeats [reading^2].
    span, top : float
        Extent of the scale and its upper end [reading].
    level : float or None
        Wet level, where the survey states one [reading].
    before : ndarray, shape (n,), or None
        What an earlier visit read at the same places [reading].
    disputed : ndarray of bool, shape (n,), or None
        Where a lower reading of the same place was set aside.
    """

    points: Array
    values: Array
    share: Array
    apart: Array
    spacing: float
    footprint: float
    noise_floor: float
    span: float
    top: float
    level: float | None = None
    before: Array | None = None
    disputed: NDArray[np.bool_] | None = None

    @property
    def width(self) -> float:
        """Sd of the response across a usual thing [m]."""
        return float(np.hypot(self.footprint, THIN_M))

    @cached_property
    def cells(self) -> Array:
        """Floor each reading stands for, (n,) [m2]: less where a sweep read closer."""
        count = min(2, len(self.points))
        if count < 2:
            return np.full(count, self.spacing**2)
        nearest = np.asarray(self.tree.query(self.points, k=count)[0])[:, -1]
        return np.asarray(np.minimum(nearest, self.spacing) ** 2)

    def part(self, kept: NDArray[np.bool_]) -> Scene:
        """Return the same scene with some of its readings only."""
        rows = {name: getattr(self, name)[kept] for name in ("points", "values", "share", "apart")}
        before = None if self.before is None else self.before[kept]
        disputed = None if self.disputed is None else self.disputed[kept]
        return replace(self, **rows, before=before, disputed=disputed)

    @cached_property
    def tree(self) -> cKDTree:
        """Index of the places."""
        return cKDTree(self.points)


def grid_spacing(points: Array) -> float:
    """Typical distance between neighbours of a scan, its sweeps left out [m].

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Places in the order they were read [m].
    """
    swept = of_sweeps(points, np.inf)
    if swept.any() and (~swept).sum() >= LEAST_GRID:
        found = _typical(points[~swept])
        if of_sweeps(points, found).any():
            return found
    return _typical(points)


def read_sweeps(points: Array) -> list[LineString]:
    """Return the sweeps among readings at places (n, 2) in the order they were read [m].

    A place that was read more than once counts where it was read first.
    """
    first = np.sort(np.unique(points, axis=0, return_index=True)[1])
    points = points[first]
    if len(points) < LEAST_GRID:
        return []
    return [LineString(points[run]) for run in runs_of(points, grid_spacing(points))]


def _typical(points: Array) -> float:
    """Typical distance between neighbours [m], not misled by places read twice a hair apart."""
    nearest = spacing_of(points)
    second = float(np.median(np.asarray(cKDTree(points).query(points, k=3)[0])[:, 2]))
    return second if second > 2.0 * nearest else nearest


def scene_of(
    locations: pd.DataFrame, clean: CleanReadings, level: float | None, footprint: float | None
) -> Scene:
    """Gather the readings of one domain.

    Parameters
    ----------
    locations : DataFrame
        Rows of ``clean.locations`` of the domain.
    clean : CleanReadings
        Gives scale, step and repeats.
    level : float or None
        Wet level [reading].
    footprint : float or None
        As chosen by the user [m]; None takes the instrument's, else a usual one.
    """
    points = locations[["x", "y"]].to_numpy(dtype=float)
    values, repeats = (locations[name].to_numpy(dtype=float) for name in ("value", "n"))
    floor = max(clean.step**2 / 12.0, 1e-5 * float(np.ptp(values)) ** 2, 1e-8)
    if clean.repeat_sd is not None and clean.repeat_pairs >= 5:
        floor = max(floor, 0.5 * clean.repeat_sd**2)
    read = clean.readings.groupby("location")["value"]
    apart = (
        (read.max() - read.min()).reindex(locations["location"]).fillna(0.0).to_numpy(dtype=float)
    )
    scale = clean.instrument.scale
    span = float(np.ptp(values)) * WIDER_SCALE if scale is None else scale[1] - scale[0]
    return Scene(
        points,
        values,
        1.0 / repeats,
        apart,
        grid_spacing(points),
        footprint or clean.instrument.footprint_m or USUAL_FOOTPRINT_M,
        floor,
        max(span, 1e-6),
        np.inf if scale is None else scale[1],
        level,
        disputed=_disputed(points, clean),
    )


def _disputed(points: Array, clean: CleanReadings) -> NDArray[np.bool_]:
    """Places where a lower reading was set aside: what is left there stays, or both are gone."""
    rows = clean.readings
    low = rows.loc[rows["flag"] == "repeat-differs", ["x", "y"]].to_numpy(dtype=float)
    if not len(low):
        return np.zeros(len(points), dtype=bool)
    return np.asarray(cKDTree(low).query(points)[0] <= SAME_PLACE_M)
