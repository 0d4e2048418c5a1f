"""Rows that copy another row, told apart from repeats that happen to agree."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.survey.location import place_index

Index = NDArray[np.intp]

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
    alike = (place[before] == place[after]) & (number[before] == number[after])
    copies = np.zeros(len(rows), dtype=bool)
    if not alike.any():
        return copies
    some = np.union1d(before[alike], after[alike])
    frame = _frame(rows.iloc[some], place[some], value[some])
    copies[some] = frame.duplicated().to_numpy(dtype=bool)
    unstated = copies.copy()
    unstated[some] &= (frame["time"].isna() & ~(frame["repeat"] > 0)).to_numpy(dtype=bool)
    if unstated.any():
        copies &= ~(unstated & _repeated_on_purpose(_source(rows), place, value))
    return copies


def _frame(rows: pd.DataFrame, place: Index, value: NDArray[np.float64]) -> pd.DataFrame:
    """Gather what rows must share to be copies."""
    return pd.DataFrame(
        {
            "place": place,
            "value": value,
            "source": _source(rows),
            "instrument": rows["instrument"].astype(str).to_numpy(),
            "repeat": rows["repeat"].to_numpy(),
            "time": pd.to_datetime(rows["time"], utc=True).to_numpy(),
        }
    )


def _source(rows: pd.DataFrame) -> NDArray[np.object_]:
    if "source" not in rows:
        return np.full(len(rows), "", dtype=object)
    return rows["source"].astype(object).to_numpy()


def _repeated_on_purpose(
    source: NDArray[np.object_], place: Index, value: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether most places of a row's source were read more than once, with values that differ."""
    frame = pd.DataFrame({"source": source, "place": place, "value": value})
    by_place = frame.groupby(["source", "place"])["value"].agg(["size", "nunique"])
    repeated = by_place[by_place["size"] > 1]
    share_repeated = (by_place["size"] > 1).groupby("source").mean()
    share_differing = (repeated["nunique"] > 1).groupby("source").mean()
    on_purpose = (share_repeated >= MOSTLY_REPEATED) & (
        share_differing.reindex(share_repeated.index).fillna(0.0) >= REPEATS_DIFFER
    )
    return frame["source"].map(on_purpose).to_numpy(dtype=bool)
