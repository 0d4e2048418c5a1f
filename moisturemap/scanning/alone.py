"""Single readings far above all their neighbours, to be read again before leaving."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from moisturemap.scanning.remark import Remark

FAR = 6.0
"""A reading this many scatters above its highest neighbour is named (our choice)."""

NEIGHBOURS, NEIGHBOUR_SPACINGS, FEWEST = 8, 1.6, 3
"""Neighbours held against, how near they lie [spacings], and how many there must be."""

LEAST_SCATTER = 0.03
"""Scatter of readings on even floor, at least [share of the middle reading] (our choice)."""

MOST_NAMED = 5


def remarks_on_single_readings(locations: pd.DataFrame, spacing: float) -> list[Remark]:
    """Name places that read far above every neighbour: a slip of the pen, or a small leak.

    Parameters
    ----------
    locations : pandas.DataFrame
        Columns ``x, y, value``.
    spacing : float
        Between readings [m].
    """
    known = locations.dropna(subset=["x", "y", "value"])
    if len(known) <= NEIGHBOURS:
        return []
    places, value = known[["x", "y"]].to_numpy(dtype=float), known["value"].to_numpy(dtype=float)
    away, beside = cKDTree(places).query(places, k=NEIGHBOURS + 1)
    near = (away <= NEIGHBOUR_SPACINGS * spacing) & (beside != np.arange(len(value))[:, None])
    around = np.where(near, value[beside], np.nan)
    enough = near.sum(axis=1) >= FEWEST
    if not enough.any():
        return []
    off = value[enough] - np.nanmedian(around[enough], axis=1)
    scatter = max(
        1.4826 * float(np.median(np.abs(off))), LEAST_SCATTER * abs(float(np.median(value)))
    )
    highest = np.where(near, value[beside], -np.inf).max(axis=1)
    alone = known[enough & (value > highest + FAR * scatter)].sort_values("value", ascending=False)
    if alone.empty:
        return []
    named = "; ".join(
        f"{row.value:g} at ({row.x:.2f}, {row.y:.2f})"
        for row in alone.head(MOST_NAMED).itertuples()
    )
    count = "1 reading stands" if len(alone) == 1 else f"{len(alone)} readings stand"
    sentence = (
        f"{count} far above every neighbour: read the place again before leaving, and beside it."
        " A slip of the pen, metal or a small leak reads so."
    )
    return [Remark("warning", sentence, named)]
