"""Rows that copy another row, told apart from repeats that happen to agree."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.survey.location import place_index

MOSTLY_REPEATED = 0.8
REPEATS_DIFFER = 0.2
"""Where at least so many of the places of a file were read more than once, and so many of these
show different values, readings were repeated on purpose, and equal values are repeats, not copies
(our choice)."""


def duplicate_rows(rows: pd.DataFrame) -> NDArray[np.bool_]:
    """Mark rows that copy an earlier row.

    A copy has the same place, value, source, number of the repeat and time. Rows that state
    different repeats or times are repeats. Rows that state neither are copies, unless the source
    was repeated on purpose throughout (``REPEATS_DIFFER``).

    Parameters
    ----------
    rows : pandas.DataFrame
        Columns of ``READING_COLUMNS``.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    if rows.empty:
        return np.zeros(0, dtype=bool)
    place = place_index(rows["x"].to_numpy(dtype=float), rows["y"].to_numpy(dtype=float))
    value = rows["value"].to_numpy(dtype=float)
    number = np.where(np.isnan(value), -np.inf, value)
    order = np.lexsort((number, place))
    before, after = order[:-1], order[1:]
    if not ((place[before] == place[after]) & (number[before] == number[after])).any():
        return np.zeros(len(rows), dtype=bool)
    frame = pd.DataFrame(
        {
            "place": place,
            "value": value,
            "source": _source(rows),
            "instrument": rows["instrument"].astype(str).to_numpy(),
            "repeat": rows["repeat"].to_numpy(),
            "time": pd.to_datetime(rows["time"], utc=True).to_numpy(),
        }
    )
    unstated = frame["time"].isna() & ~(frame["repeat"] > 0)
    copies = frame.duplicated()
    if (copies & unstated).any():
        copies &= ~(unstated & _repeated_on_purpose(frame))
    return copies.to_numpy(dtype=bool)


def _source(rows: pd.DataFrame) -> NDArray[np.object_]:
    if "source" not in rows:
        return np.full(len(rows), "", dtype=object)
    return rows["source"].astype(object).to_numpy()


def _repeated_on_purpose(frame: pd.DataFrame) -> pd.Series:
    """Whether most places of a row's source were read more than once, with values that differ."""
    by_place = frame.groupby(["source", "place"])["value"].agg(["size", "nunique"])
    repeated = by_place[by_place["size"] > 1]
    share_repeated = (by_place["size"] > 1).groupby("source").mean()
    share_differing = (repeated["nunique"] > 1).groupby("source").mean()
    on_purpose = (share_repeated >= MOSTLY_REPEATED) & (
        share_differing.reindex(share_repeated.index).fillna(0.0) >= REPEATS_DIFFER
    )
    return frame["source"].map(on_purpose).astype(bool)
