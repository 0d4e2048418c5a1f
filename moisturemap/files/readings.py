"""Relative readings from a table, whichever of the two layouts it has."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.header import READING_HEADINGS, find_header
from moisturemap.files.reading_grid import find_grid, grid_readings
from moisturemap.files.reading_list import list_readings
from moisturemap.files.reading_options import ReadingOptions
from moisturemap.files.table import Table, read_table


def read_readings(
    path: Path | str, options: ReadingOptions | None = None
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read relative readings from CSV or XLSX, as a list or as a grid.

    Parameters
    ----------
    path : Path or str
    options : ReadingOptions, optional

    Returns
    -------
    readings : pandas.DataFrame
        ``x, y`` [m], ``value``, ``raw``, ``censored``, ``room``, ``label``, ``repeat`` (0 when not
        stated), ``time`` (UTC, NaT when not stated), ``note``, ``source``, ``row``. Full scale
        written as a word has ``value`` NaN and ``censored`` "above".
    notes : tuple of str
        What was understood or assumed.

    Raises
    ------
    InputError
        Naming file, row or cell, value and what is allowed.
    """
    options = options or ReadingOptions()
    table = read_table(Path(path), options.sheet, options.name)
    if _is_grid(table, options.layout):
        frame, notes = grid_readings(table, options.coordinates, options.decimal)
    else:
        frame, notes = list_readings(table, options)
    if frame.empty:
        raise SurveyError("the table holds no reading", source=table.source)
    frame["source"] = table.source
    return _tidy(frame), (*table.notes, *notes)


def _is_grid(table: Table, layout: str) -> bool:
    if layout != "auto":
        return layout == "grid"
    if find_header(table, READING_HEADINGS, ("x", "y")) is not None:
        return False
    return find_grid(table) is not None


def _tidy(frame: pd.DataFrame) -> pd.DataFrame:
    """Give every column its type, and those the layout lacks their blank."""
    count = len(frame)
    blanks: dict[str, Any] = {
        "room": [""] * count,
        "label": [""] * count,
        "note": [""] * count,
        "repeat": np.zeros(count, dtype=int),
        "time": pd.Series([pd.NaT] * count, dtype="datetime64[us, UTC]"),
    }
    for name, blank in blanks.items():
        if name not in frame:
            frame[name] = blank
    order = [
        "x",
        "y",
        "value",
        "raw",
        "censored",
        "room",
        "label",
        "repeat",
        "time",
        "note",
        "source",
        "row",
    ]
    kinds = dict.fromkeys(("raw", "censored", "room", "label", "note", "source", "row"), "str")
    return frame[order].astype({**kinds, "x": float, "y": float, "value": float, "repeat": int})
