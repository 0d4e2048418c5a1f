"""Rows of a grid that were left out whole: no empty circle is wide enough there to be a gap."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.floorplan import FloorPlan
from moisturemap.scanning.remark import Remark

SHORTEST_ROW = 6
"""Places next to each other that a row left out must cross to be told (our choice)."""

FEWEST_ROWS = 5

EVEN = 0.1
"""Rows are evenly apart when as much as ``MOSTLY`` of their distances differ by no more than this
share from the usual one, or are a whole number of it (our choice)."""

MOSTLY = 0.8

Array = NDArray[np.float64]


def left_rows(locations: pd.DataFrame, plan: FloorPlan) -> tuple[str, ...]:
    """Name rows of constant x or y that a regular grid has on both sides and that nobody read.

    Parameters
    ----------
    locations : pandas.DataFrame
        Columns ``x, y`` [m].
    plan : FloorPlan
        Only floor inside its rooms counts: a wall between two rows is no row left out.

    Returns
    -------
    tuple of str
        A sentence for each row.
    """
    told = []
    for axis, other in (("y", "x"), ("x", "y")):
        places = locations[[axis, other]].to_numpy(dtype=float)
        rows = np.unique(np.round(places[:, 0], 2))
        step = _step(rows)
        if step is None:
            continue
        for low, high in pairwise(rows):
            told += [
                f"No reading stands on the row of {axis} {at:.2f} m, {long:.1f} m long, of a grid "
                f"whose rows are {step:.2g} m apart: the map is carried across it from its "
                "neighbours, and what is narrow may be missed there. Read that row."
                for at in _between(float(low), float(high), step)
                if (long := _length(places, (float(low), float(high)), at, (axis, plan)))
            ]
    return tuple(told)


def remarks_on_left_rows(locations: pd.DataFrame, plan: FloorPlan) -> list[Remark]:
    """Remark each row of a grid that was left out."""
    return [Remark("warning", told) for told in left_rows(locations, plan)]


def _step(rows: Array) -> float | None:
    """Return the usual distance of rows [m], or None where they are not evenly apart."""
    if rows.size < FEWEST_ROWS:
        return None
    apart = np.diff(rows)
    step = float(np.median(apart))
    times = apart / step
    even = (np.abs(times - np.round(times)) <= EVEN) & (np.round(times) >= 1)
    return step if even.mean() >= MOSTLY else None


def _between(low: float, high: float, step: float) -> list[float]:
    """Return where rows are missing between two that were read [m]."""
    missing = round((high - low) / step) - 1
    if missing < 1 or abs((high - low) / step - (missing + 1)) > EVEN:
        return []
    return [low + (one + 1) * (high - low) / (missing + 1) for one in range(missing)]


def _length(
    places: Array, rows: tuple[float, float], at: float, where: tuple[str, FloorPlan]
) -> float:
    """Return how long the row is that was left out [m], 0.0 where it is short or lies in no room.

    It is as long as the places read on both rows beside it, as far as they lie on floor.
    """
    axis, plan = where
    near = [set(np.round(places[np.abs(places[:, 0] - row) < 0.006, 1], 2)) for row in rows]
    along = np.array(sorted(near[0] & near[1]), dtype=float)
    if along.size < SHORTEST_ROW:
        return 0.0
    across = np.full(along.size, at)
    x, y = (along, across) if axis == "y" else (across, along)
    inside = shapely.intersects_xy(plan.outline, x, y)
    if inside.sum() < SHORTEST_ROW:
        return 0.0
    return float(inside.sum() * np.median(np.diff(along)))
