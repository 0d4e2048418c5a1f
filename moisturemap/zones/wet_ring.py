"""Floor that nobody read, with high readings right around it: pallets on the middle of a leak.

Method: ``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.spatial import cKDTree
from shapely.ops import unary_union

from moisturemap.geostat import spacing_of
from moisturemap.survey import USED_FLAGS
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.standing_out import LEAST_READINGS, usual_and_far

Array = NDArray[np.float64]

BETWEEN = 0.9
"""Floor farther than this from every reading belongs to a hole [spacings]; on a square grid no
floor lies farther than 0.71 of them."""

DEEP = 1.25
"""The middle of a hole lies at least this far from every reading [spacings]: two and two readings
of a square grid are missing (1.58), not one (1.0) nor two in a row (1.12); project choice."""

BESIDE = 1.25
"""Readings within this of a hole stand around it [spacings]; project choice."""

HIGH_SHARE, LEAST_AROUND = 0.5, 4
"""From this share of at least so many readings around it on a hole may be the wettest floor;
project choice."""

SQUARES, MOST_SQUARES = 0.25, 40_000
"""Side of the squares a floor is looked at on [spacings], and how many at most."""


def wet_rings(study: MappedVisit, read: pd.DataFrame) -> tuple[HighPlace, ...]:
    """Return the floor nobody read that stands in the midst of high readings.

    Parameters
    ----------
    study : MappedVisit
        The map of the latest visit.
    read : DataFrame
        Readings that count as read, with ``x, y`` [m].

    Returns
    -------
    tuple of HighPlace
        Each with its part; a test anywhere in it counts.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    value = used["value"].to_numpy(dtype=float)
    if len(value) < LEAST_READINGS:
        return ()
    bar, level = usual_and_far(study.survey, study.visit, study.clean, value)[1], study.wet.level
    bar = bar if level.value is None else min(bar, level.value)
    high = used[value > bar]
    if high.empty:
        return ()
    places = np.unique(read[["x", "y"]].to_numpy(dtype=float), axis=0)
    area = study.survey.plan.outline.area
    spacing = max(spacing_of(places), float(np.sqrt(area / len(places))))
    around = used[["x", "y"]].to_numpy(dtype=float)
    found = []
    for cells, side in _holes(study, places, spacing):
        near = np.asarray(cKDTree(cells).query(around)[0]) <= BESIDE * spacing
        if near.sum() < LEAST_AROUND or (value[near] > bar).mean() < HIGH_SHARE:
            continue
        found.append(_asked(cells, side, float(value[near].max())))
    return tuple(found)


def _holes(study: MappedVisit, places: Array, spacing: float) -> list[tuple[Array, float]]:
    """Return the squares of each deep hole between the places read (n, 2), and their side [m]."""
    plan = study.survey.plan
    west, south, east, north = plan.outline.bounds
    least = float(np.sqrt((east - west) * (north - south) / MOST_SQUARES))
    side = max(SQUARES * spacing, least)
    x, y = np.meshgrid(
        np.arange(west + side / 2, east, side), np.arange(south + side / 2, north, side)
    )
    closed = unary_union([line.geometry for line in plan.lines_of("keep-clear")])
    inside = shapely.contains_xy(plan.outline, x, y) & ~shapely.contains_xy(closed, x, y)
    apart = np.zeros(x.shape)
    apart[inside] = np.asarray(cKDTree(places).query(np.column_stack([x[inside], y[inside]]))[0])
    labels, count = label(apart > BETWEEN * spacing)
    holes = []
    for number in range(1, count + 1):
        here = labels == number
        if apart[here].max() >= DEEP * spacing:
            holes.append((np.column_stack([x[here], y[here]]), side))
    return holes


def _asked(cells: Array, side: float, top: float) -> HighPlace:
    """Ask for a test in a hole of squares (n, 2)."""
    half = side / 2.0
    low, high = cells - half, cells + half
    part = unary_union(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    at = part.representative_point()
    why = (
        f"nobody read the floor about ({at.x:.2f}, {at.y:.2f}), and readings right around it are"
        f" high, up to {top:g}: it may be the wettest"
    )
    return HighPlace(why, "in that part", "", 0.0, places=((at.x, at.y),), part=part)
