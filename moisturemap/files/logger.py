"""Climate loggers: long files of humidity and temperature, in whatever layout they were saved.

A heading row is looked for below any lines of the logger's own; each heading tells what a column
holds and of which channel. See ``docs/method/drying.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.errors import SurveyError
from moisturemap.files.logger_layout import (
    LoggerLayout,
    channel_names,
    find_layout,
    rows_of_channel,
)
from moisturemap.files.logger_times import Entries, find_entries, read_moments
from moisturemap.files.number import decimal_mark, parse_numbers
from moisturemap.files.record_table import RecordOptions
from moisturemap.files.table import Cell, Table, read_table, shown
from moisturemap.survey import LoggerSeries
from moisturemap.survey.usual import DEGREES

Array = NDArray[np.float64]

MOST_ENTRIES = 1500
"""Entries kept of one series (our choice: more than a figure of a page can show)."""

GAP_STEPS = 3.0
"""A pause longer than so many usual steps is a gap (our choice)."""

POSSIBLE = {"rh_pct": (-1.0, 105.0), "temperature_c": (-40.0, 90.0)}
"""What a sensor can show; the rest are its marks for a fault. Humidity is then held to 0 to 100."""


@dataclass(frozen=True, kw_only=True)
class LoggerPlace:
    """Where a logger sat, as the survey states it; see ``LoggerSeries``."""

    id: str
    place: str
    room: str = ""
    x: float | None = None
    y: float | None = None
    depth_mm: float | None = None


def read_logger(
    path: Path | str,
    place: LoggerPlace,
    options: RecordOptions | None = None,
    *,
    channel: str = "",
) -> tuple[LoggerSeries, tuple[str, ...]]:
    """Read one channel of a logger's file from CSV or XLSX.

    Parameters
    ----------
    path : Path or str
    place : LoggerPlace
    options : RecordOptions, optional
        ``zone`` is that of times that state none.
    channel : str
        Which channel, where the file holds several.

    Returns
    -------
    series : LoggerSeries
        Thinned to about ``MOST_ENTRIES`` entries; highest and lowest values are kept.
    notes : tuple of str
        Gaps, changes of the clock, marks of faults, thinning.

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    options = options or RecordOptions()
    table, layout, entries = _entries(path, options)
    rows, columns = rows_of_channel(table, layout, entries.rows, channel)
    when, clock_notes = read_moments(table, layout, entries.of(rows), options)
    values, fault_notes = _values(table, layout, rows, columns, options)
    notes = (*table.notes, *entries.notes, *clock_notes, *fault_notes)
    return _series(when, values, place, table, notes)


def logger_channels(path: Path | str, options: RecordOptions | None = None) -> tuple[str, ...]:
    """Name the channels of a logger's file, of which ``read_logger`` reads one.

    Parameters
    ----------
    path : Path or str
    options : RecordOptions, optional

    Returns
    -------
    tuple of str
        Empty where the file holds one only, so that none need be named.

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    table, layout, entries = _entries(path, options or RecordOptions())
    names = channel_names(table, layout, entries.rows)
    quantities = {quantity for _, quantity in layout.values}
    single = layout.channel_column is None and len(quantities) == len(layout.values)
    return () if single or len(names) == 1 else tuple(names)


def _entries(path: Path | str, options: RecordOptions) -> tuple[Table, LoggerLayout, Entries]:
    table = read_table(Path(path), options.sheet, options.name)
    layout = find_layout(table)
    entries = find_entries(table, layout)
    if not entries.rows:
        raise SurveyError("no entries stand below the headings", source=table.source)
    return table, layout, entries


def _values(
    table: Table,
    layout: LoggerLayout,
    rows: list[int],
    columns: dict[str, int],
    options: RecordOptions,
) -> tuple[dict[str, Array], tuple[str, ...]]:
    """Read the columns as numbers; what no sensor can show counts as not recorded."""
    cells = {name: [table.rows[i][j] for i in rows] for name, j in columns.items()}
    mark = options.decimal or _decimal_mark(table, rows, columns)
    found = {name: np.full(len(rows), np.nan) for name in POSSIBLE}
    faults: list[str] = []
    notes: list[str] = []
    for name, column in cells.items():
        numbers = parse_numbers(column, mark)
        values = numbers.values.copy()
        unit = layout.unit_of(columns[name]) or options.temperature_unit
        if name == "temperature_c" and unit == "F":
            values = (values - 32.0) / 1.8
        elif name == "temperature_c":
            notes += _warm(values, unit == "C", table, rows[0], columns[name])
        if name == "rh_pct" and _is_share(values):
            values = 100.0 * values
            notes.append(
                f"{table.source}: humidity is written as a share of 1; it was read as %RH."
            )
        low, high = POSSIBLE[name]
        wrong = ~numbers.blank & ~((values >= low) & (values <= high))
        values[wrong] = np.nan
        found[name] = np.clip(values, 0.0, 100.0) if name == "rh_pct" else values
        faults += [f"row {rows[k] + 1} {shown(column[k])!r}" for k in np.flatnonzero(wrong)]
    if faults:
        count = "1 value counts" if len(faults) == 1 else f"{len(faults)} values count"
        listed = ", ".join(faults[:5]) + ", ..." * (len(faults) > 5)
        notes.append(
            f"{table.source}: {count} as not recorded, being nothing a sensor can show: {listed}."
        )
    return found, tuple(notes)


def _warm(values: Array, stated: bool, table: Table, row: int, column: int) -> tuple[str, ...]:
    """Refuse temperatures without a unit that look like Fahrenheit; doubt stated ones."""
    known = values[np.isfinite(values)]
    middle = float(np.median(known)) if known.size else 0.0
    if middle <= DEGREES.high:
        return ()
    if stated:
        return (
            f"{table.source}: temperatures about {middle:.0f} °C are too warm for a room or a "
            "slab; check whether they are in F.",
        )
    raise SurveyError(
        "temperatures are too warm for degrees Celsius, and the heading states no unit",
        source=table.source,
        place=table.place(row, column),
        value=shown(table.rows[row][column]),
        allowed="a heading such as temperature (C) or temperature (F), or the temperature_unit of "
        "[[loggers]]",
    )


def _is_share(values: Array) -> bool:
    """Whether humidities are shares of 1: no room and no slab is at 1 %RH throughout."""
    known = values[np.isfinite(values)]
    return bool(known.size and known.min() >= 0.0 and 0.0 < known.max() <= 1.0)


def _decimal_mark(table: Table, rows: list[int], columns: dict[str, int]) -> str:
    cells = [(i, j) for j in columns.values() for i in rows if _figure(table.rows[i][j])]

    def place(number: int) -> str:
        return table.place(*cells[number])

    return decimal_mark([table.rows[i][j] for i, j in cells], table.source, place)


def _figure(cell: Cell) -> bool:
    return not isinstance(cell, str) or any(c.isdigit() for c in cell)


def _series(
    when: pd.Series,
    values: dict[str, Array],
    place: LoggerPlace,
    table: Table,
    notes: tuple[str, ...],
) -> tuple[LoggerSeries, tuple[str, ...]]:
    """Put entries in order of time, find gaps, thin."""
    frame = pd.DataFrame({"when": when.reset_index(drop=True), **values})
    frame = frame[frame["when"].notna() & frame[list(POSSIBLE)].notna().any(axis=1)]
    if frame.empty:
        raise SurveyError("no entry holds a humidity or a temperature", source=table.source)
    ordered = frame.sort_values("when", kind="stable")
    single = ordered.drop_duplicates("when")
    said = list(notes)
    if len(single) < len(ordered):
        said.append(_repeats(ordered, table))
    began = pd.Timestamp(single["when"].iloc[0])
    hours = (single["when"] - single["when"].iloc[0]).dt.total_seconds().to_numpy() / 3600.0
    gaps = find_gaps(hours)
    if gaps:
        said.append(_gap_note(place.id, began, gaps))
    kept = thin(hours, [single[name].to_numpy() for name in POSSIBLE])
    ends = np.searchsorted(hours, np.array(gaps).ravel())
    kept = np.unique(np.concatenate([kept, ends]).astype(np.intp))
    if kept.size < hours.size:
        said.append(
            f"{place.id}: {hours.size} entries are thinned to {kept.size}; highest and lowest "
            "values are kept."
        )
    series = LoggerSeries(
        id=place.id,
        place=place.place,
        began=began.to_pydatetime(),
        hours=tuple(hours[kept].tolist()),
        rh_pct=tuple(single["rh_pct"].to_numpy()[kept].tolist()),
        temperature_c=tuple(single["temperature_c"].to_numpy()[kept].tolist()),
        room=place.room,
        x=place.x,
        y=place.y,
        depth_mm=place.depth_mm,
        gaps=gaps,
        recorded=int(hours.size),
        source=table.source,
    )
    return series, tuple(said)


def _repeats(ordered: pd.DataFrame, table: Table) -> str:
    """Say that times stand more than once; refuse a file where most do with other values."""
    twice = ordered.duplicated("when")
    other = twice & ~ordered.duplicated(["when", *POSSIBLE])
    if 2 * int(other.sum()) > int((~twice).sum()):
        raise SurveyError(
            "most times stand more than once with other values",
            source=table.source,
            allowed="a column channel that tells which sensor an entry is of, and channel = its "
            "name beside the file",
        )
    count = "1 entry repeats" if twice.sum() == 1 else f"{twice.sum()} entries repeat"
    values = f", {other.sum()} with other values" if other.any() else ""
    return f"{table.source}: {count} a time{values}; the first of each time is kept."


def find_gaps(hours: Array) -> tuple[tuple[float, float], ...]:
    """Return the pauses longer than ``GAP_STEPS`` usual steps [h]."""
    steps = np.diff(hours)
    if steps.size < 2:
        return ()
    long = np.flatnonzero(steps > GAP_STEPS * float(np.median(steps)))
    return tuple((float(hours[k]), float(hours[k + 1])) for k in long)


def _gap_note(name: str, began: pd.Timestamp, gaps: tuple[tuple[float, float], ...]) -> str:
    longest = max(gaps, key=lambda gap: gap[1] - gap[0])
    start = began + pd.Timedelta(hours=longest[0])
    length = longest[1] - longest[0]
    span = f"{length:.0f} h" if length < 72 else f"{length / 24:.0f} days"
    count = "1 gap" if len(gaps) == 1 else f"{len(gaps)} gaps"
    return f"{name}: {count} in the record, the longest of {span} from {start:%Y-%m-%d %H:%M} UTC."


def thin(hours: Array, columns: list[Array], most: int = MOST_ENTRIES) -> NDArray[np.intp]:
    """Choose entries so that none of the highest and lowest values of a span is lost.

    Parameters
    ----------
    hours : ndarray, shape (n,)
        Ascending [h].
    columns : list of ndarray, shape (n,)
    most : int
        About how many are kept.

    Returns
    -------
    ndarray of int
        Ascending indices; all where n is at most ``most``.
    """
    if hours.size <= most:
        return np.arange(hours.size)
    spans = max(most // (2 * len(columns)), 1)
    edges = np.linspace(hours[0], hours[-1], spans + 1)
    part = np.clip(np.searchsorted(edges, hours, side="right") - 1, 0, spans - 1)
    kept = [np.array([0, hours.size - 1])]
    for column in columns:
        known = np.flatnonzero(np.isfinite(column))
        # within each span in ascending order of value: its ends are lowest and highest
        order = known[np.lexsort((column[known], part[known]))]
        if order.size:
            starts = np.flatnonzero(np.diff(part[order], prepend=-1))
            ends = np.r_[starts[1:], order.size] - 1
            kept += [order[starts], order[ends]]
    return np.unique(np.concatenate(kept))
