"""Columns of numbers beside the readings that may be readings too."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.header import READING_HEADINGS, Header, key_of
from moisturemap.files.number import parse_numbers
from moisturemap.files.table import Table, is_blank, shown

_VALUE_WORDS = "|".join(sorted({"value", *READING_HEADINGS["value"]}, key=len, reverse=True))
_NUMBERED = re.compile(rf"({_VALUE_WORDS}|r|v)(\d{{1,2}})")

_NO_READING = re.compile(
    r"batt|akku|pile\b|temp|grad|degree|\bdeg\b|depth|tief|prof|dick|thick|epais|\bno\b|\bnr\b|num"
    r"|\bid\b|index|count|anzahl|serial|serien|\brow\b|\bcol|zeile|spalte|ligne|reihe|height|höhe"
    r"|haut|\bz\b|elev|\brh\b|\brf\b|\bhr\b|\brel\w* humid|\bair\b|luft|dew|taupunkt|time|zeit"
    r"|heure|date|dat[ue]m|gps|lat\b|lon|accura|genau|signal|gain|mode|sd\b|stdev|deviation|error"
    r"|pressure|druck|\bvisit|gang\b|order|folge|seq|level|floor|etage|stock|geschoss|volt|quality",
    re.IGNORECASE,
)
"""Headings of what is no reading (common words in English, German and French)."""

NUMBERS, LEAST = 0.5, 4
"""A further column is one of numbers where this share of its cells hold some; so many tell whether
they are readings (project choice)."""

ALIKE, ALIKE_SHARE, IN_STEP = 0.1, 0.25, 0.7
"""They are where they lie within this part of the reading beside them on that share of the rows, or
rise and fall with them by this rank correlation (project choice)."""


def value_columns(header: Header) -> dict[int, int]:
    """Return the columns of readings, by the number of the repeat each holds.

    Parameters
    ----------
    header : Header

    Returns
    -------
    dict of int to int
        Number 0 where one column holds all readings; empty where none does.
    """
    numbered = {
        j: (found[1], int(found[2]))
        for j, heading in header.others.items()
        if (found := _NUMBERED.fullmatch(key_of(heading)))
    }
    if "value" not in header.columns:
        return {j: number for j, (_, number) in numbered.items()}
    words = {j: number for j, (word, number) in numbered.items() if len(word) > 1 and number > 1}
    if not words or any(number == 1 for _, number in numbered.values()):
        return {header.columns["value"]: 0}
    return {header.columns["value"]: 1, **words}


def passed_over(
    table: Table, header: Header, rows: list[int], frame: pd.DataFrame, mark: str
) -> tuple[str, ...]:
    """Tell of further columns of numbers, and refuse one that holds readings.

    Parameters
    ----------
    table : Table
    header : Header
    rows : list of int
        Indices of the rows with readings.
    frame : DataFrame
        The readings, one for each row and repeat, with ``row`` and ``value``.
    mark : str
        Decimal mark.

    Raises
    ------
    SurveyError
        If a column that is not read holds numbers like the readings beside it.
    """
    read = set(value_columns(header))
    beside = frame.groupby("row")["value"].max().reindex([str(i + 1) for i in rows]).to_numpy()
    told = []
    for j, heading in header.others.items():
        words = re.sub(r"[_\W]+", " ", heading)
        if j in read or _NO_READING.search(words):
            continue
        numbers = parse_numbers([table.rows[i][j] for i in rows], mark)
        known = np.flatnonzero(np.isfinite(numbers.values))
        filled = sum(not is_blank(table.rows[i][j]) for i in rows)
        if known.size < max(1.0, NUMBERS * filled):
            continue
        name = heading or f"column {j + 1}"
        if known.size >= min(LEAST, len(rows)) and _alike(numbers.values[known], beside[known]):
            first = rows[int(known[0])]
            raise SurveyError(
                f"column {name} holds {known.size} numbers like the readings beside them, and is "
                "not read",
                source=table.source,
                place=table.place(first, j),
                value=shown(table.rows[first][j]),
                allowed="value, value 2, value 3, ... for repeats at one place; the column taken "
                "out or kept as text under note where it holds no readings",
            )
        told.append(
            f"{table.source}: column {name} holds {known.size} numbers that were not read as "
            "readings. If they are readings, call it value 2."
        )
    return tuple(told)


def _alike(numbers: np.ndarray, beside: np.ndarray) -> bool:
    """Whether some numbers are of the kind of the readings beside them; no mere count of rows."""
    both = np.isfinite(beside)
    numbers, beside = numbers[both], beside[both]
    steps = np.diff(numbers)
    if not steps.any() or (numbers.size > 2 and bool((steps == 1).all())):
        return False
    near = np.abs(numbers - beside) <= ALIKE * np.abs(beside)
    if near.mean() >= ALIKE_SHARE:
        return True
    if numbers.size < 8 or not np.diff(beside).any():
        return False
    # scipy.stats would do it, and takes longer to load than to read a floor
    ranks = pd.DataFrame({"here": numbers, "beside": beside}).rank()
    return bool(np.corrcoef(ranks["here"], ranks["beside"])[0, 1] >= IN_STEP)
