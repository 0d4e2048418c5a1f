"""Climate loggers: long files of humidity and temperature, in whatever layout they were saved.

A heading row is looked for below any lines of the logger's own; each heading tells what a column
holds and of which channel. See ``docs/method/drying.md``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone, tzinfo
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.errors import SurveyError
from moisturemap.files.header import key_of
from moisturemap.files.logger_clock import put_in_zone
from moisturemap.files.moment import parse_moments
from moisturemap.files.number import decimal_mark, parse_numbers
from moisturemap.files.record_table import RecordOptions
from moisturemap.files.setting import nearest
from moisturemap.files.table import Cell, Table, is_blank, read_table, shown, texts
from moisturemap.survey import LoggerSeries

Array = NDArray[np.float64]

HEADING_ROWS = 80
"""The heading row is looked for in this many first rows: loggers write their own lines above it."""

MOST_ENTRIES = 1500
"""Entries kept of one series (our choice: more than a figure of a page can show)."""

GAP_STEPS = 3.0
"""A pause longer than so many usual steps is a gap (our choice)."""

POSSIBLE = {"rh_pct": (-1.0, 105.0), "temperature_c": (-40.0, 90.0)}
"""What a sensor can show; the rest are its marks for a fault. Humidity is then held to 0 to 100."""

_WHEN = re.compile(r"^(date|datum|time|zeit|uhrzeit|timestamp|heure|horodat|jour|tag\b|day\b)")
_CLOCK_ONLY = re.compile(r"^(time|uhrzeit|zeit|heure)\b(?!.*(date|datum))")
_DAY_ONLY = re.compile(r"^(date|datum|jour|tag|day)\b(?!.*(time|zeit|heure))")
_NOT_OURS = re.compile(r"dew|taupunkt|ros[ée]e|abs|batt|volt|pressure|druck|alarm|wet.?bulb|co2")
_RH = re.compile(
    r"relative\s*humidity|rel\.?\s*(?:humidity|feuchte|h\b)|humidit[yé]e?|(?:luft)?feuchte|"
    r"\br\.?\s?h\.?(?=[^a-z]|$)|%\s*r\.?h\.?|\br\.?f\.?(?=[^a-z]|$)|\bhum\b|\bhr\b"
)
_TEMPERATURE = re.compile(r"temp[ée]rature?|temperatur|\btemp\b\.?|\bt(?=\s*[(\[])")
_UNIT = re.compile(r"[(\[]\s*(?:%[^)\]]*|°?\s*[cf]|deg\.?\s*[cf])\s*[)\]]|°\s*[cf]\b|%")
_FAHRENHEIT = re.compile(r"°\s*f\b|deg\.?\s*f\b|[(\[]\s*f\s*[)\]]|fahrenheit")
_OFFSET = re.compile(r"(?:gmt|utc)\s*([+-]\s*\d{1,2})(?::?(\d{2}))?")
_CHANNEL = frozenset(
    (
        "channel",
        "kanal",
        "sensor",
        "probe",
        "logger",
        "device",
        "fuhler",
        "fuehler",
        "voie",
        "canal",
    )
)


@dataclass(frozen=True, kw_only=True)
class LoggerPlace:
    """Where a logger sat, as the survey states it; see ``LoggerSeries``."""

    id: str
    place: str
    room: str = ""
    x: float | None = None
    y: float | None = None
    depth_mm: float | None = None


@dataclass(frozen=True)
class _Layout:
    """The heading row, and what its columns hold."""

    row: int
    when: tuple[int, ...]
    offset: tzinfo | None
    values: dict[tuple[str, str], int]
    fahrenheit: frozenset[int]
    channel_column: int | None


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
    table = read_table(Path(path), options.sheet, options.name)
    layout = _find_layout(table)
    rows = [i for i in range(layout.row + 1, len(table.rows)) if _has_time(table.rows[i], layout)]
    rows, columns = _of_channel(table, layout, rows, channel)
    if not rows:
        raise SurveyError("no entries stand below the headings", source=table.source)
    when, clock_notes = _moments(table, layout, rows, options)
    values, fault_notes = _values(table, layout, rows, columns, options)
    return _series(when, values, place, table, (*table.notes, *clock_notes, *fault_notes))


def _find_layout(table: Table) -> _Layout:
    for index in range(min(HEADING_ROWS, len(table.rows))):
        layout = _layout(table, index)
        if layout is not None:
            return layout
    first = next(row for row in table.rows if any(not is_blank(cell) for cell in row))
    raise SurveyError(
        "no heading row with a time and a humidity or temperature was found",
        source=table.source,
        value=", ".join(texts(first)[:8]),
        allowed="headings such as: time, temperature (C), RH (%)",
    )


def _layout(table: Table, index: int) -> _Layout | None:
    heads = [
        shown(cell).casefold().strip() if isinstance(cell, str) else ""
        for cell in table.rows[index]
    ]
    times = [j for j, head in enumerate(heads) if _WHEN.search(head)]
    values: dict[tuple[str, str], int] = {}
    for j, head in enumerate(heads):
        quantity = _quantity(head) if j not in times else ""
        if quantity:
            values.setdefault((_channel(shown(table.rows[index][j])), quantity), j)
    if not times or not values:
        return None
    day = next((j for j in times if _DAY_ONLY.search(heads[j])), None)
    clock = next((j for j in times if _CLOCK_ONLY.search(heads[j])), None)
    when = (day, clock) if day is not None and clock is not None else (times[0],)
    stated = _OFFSET.search(heads[when[0]])
    hours = 0 if stated is None else int(stated[1].replace(" ", ""))
    offset = (
        None
        if stated is None
        else timezone(
            timedelta(hours=hours, minutes=(1 if hours >= 0 else -1) * int(stated[2] or 0))
        )
    )
    long = next((j for j, head in enumerate(heads) if key_of(head) in _CHANNEL), None)
    fahrenheit = frozenset(j for j in values.values() if _FAHRENHEIT.search(heads[j]))
    return _Layout(index, when, offset, values, fahrenheit, long)


def _quantity(head: str) -> str:
    if not head or _NOT_OURS.search(head):
        return ""
    if _RH.search(head):
        return "rh_pct"
    if _TEMPERATURE.search(head) or re.search(r"°\s*[cf]\b|[(\[]\s*°?\s*[cf]\s*[)\]]", head):
        return "temperature_c"
    return "rh_pct" if "%" in head else ""


def _channel(heading: str) -> str:
    """Return what is left of a heading without quantity and unit: the name of the channel."""
    bare = heading
    for pattern in (_TEMPERATURE, _RH, _UNIT):
        bare = re.sub(pattern.pattern, " ", bare, flags=re.IGNORECASE)
    bare = re.sub(r"[(\[]\s*[)\]]", " ", bare)
    return re.sub(r"\s+", " ", bare).strip(" ,;:_-/.#|")


def _has_time(row: list[Cell], layout: _Layout) -> bool:
    """Whether a row is an entry: rows of units and of statistics below them are not."""
    cell = row[layout.when[0]]
    return not is_blank(cell) and (not isinstance(cell, str) or any(c.isdigit() for c in cell))


def _of_channel(
    table: Table, layout: _Layout, rows: list[int], channel: str
) -> tuple[list[int], dict[str, int]]:
    """Return the rows and columns of one channel."""
    if layout.channel_column is not None:
        own = {i: shown(table.rows[i][layout.channel_column]) for i in rows}
        name = _chosen(sorted(set(own.values())), channel, table)
        columns = {quantity: j for (_, quantity), j in layout.values.items()}
        return [i for i in rows if own[i] == name], columns
    names = list(dict.fromkeys(name for name, _ in layout.values))
    if not channel and len({quantity for _, quantity in layout.values}) == len(layout.values):
        return rows, {quantity: j for (_, quantity), j in layout.values.items()}
    name = _chosen(names, channel, table)
    return rows, {quantity: j for (own_, quantity), j in layout.values.items() if own_ == name}


def _chosen(names: list[str], channel: str, table: Table) -> str:
    if not channel and len(names) == 1:
        return names[0]
    same = [name for name in names if key_of(name) == key_of(channel)]
    if len(same) == 1:
        return same[0]
    meant = nearest(channel, names) if channel else ""
    raise SurveyError(
        ("the file has no such channel" if channel else "the file holds several channels")
        + (f"; did you mean {meant!r}?" if meant else ""),
        source=table.source,
        place="channel",
        value=channel or None,
        allowed=", ".join(names),
    )


def _moments(
    table: Table, layout: _Layout, rows: list[int], options: RecordOptions
) -> tuple[pd.Series, tuple[str, ...]]:
    cells = [_joined([table.rows[i][j] for j in layout.when]) for i in rows]

    def place(number: int) -> str:
        return table.place(rows[number], layout.when[0])

    moments, naive = parse_moments(cells, None, place, table.source, day=options.day)
    if not naive:
        return moments, ()
    zone = layout.offset or options.zone
    return put_in_zone(moments.dt.tz_localize(None), zone, table.source)


def _joined(cells: list[Cell]) -> Any:
    """Join a day and a time of day that stand in two cells."""
    if len(cells) == 1:
        return cells[0]
    day, clock = cells
    if isinstance(day, date) and isinstance(clock, (time, datetime)):
        at = clock.time() if isinstance(clock, datetime) else clock
        return datetime.combine(day.date() if isinstance(day, datetime) else day, at)
    start = day.date().isoformat() if isinstance(day, datetime) else shown(day)
    return f"{start} {shown(clock)}".strip()


def _values(
    table: Table, layout: _Layout, rows: list[int], columns: dict[str, int], options: RecordOptions
) -> tuple[dict[str, Array], tuple[str, ...]]:
    """Read the columns as numbers; what no sensor can show counts as not recorded."""
    cells = {name: [table.rows[i][j] for i in rows] for name, j in columns.items()}
    every = [cell for column in cells.values() for cell in column if _figure(cell)]
    mark = options.decimal or decimal_mark(every, table.source, lambda k: "an entry")
    found = {name: np.full(len(rows), np.nan) for name in POSSIBLE}
    faults: list[str] = []
    for name, column in cells.items():
        numbers = parse_numbers(column, mark)
        values = numbers.values.copy()
        if columns[name] in layout.fahrenheit:
            values = (values - 32.0) / 1.8
        low, high = POSSIBLE[name]
        wrong = ~numbers.blank & ~((values >= low) & (values <= high))
        values[wrong] = np.nan
        found[name] = np.clip(values, 0.0, 100.0) if name == "rh_pct" else values
        faults += [f"row {rows[k] + 1} {shown(column[k])!r}" for k in np.flatnonzero(wrong)]
    if not faults:
        return found, ()
    count = "1 value counts" if len(faults) == 1 else f"{len(faults)} values count"
    listed = ", ".join(faults[:5]) + ", ..." * (len(faults) > 5)
    said = f"{table.source}: {count} as not recorded, being nothing a sensor can show: {listed}."
    return found, (said,)


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
        twice = len(ordered) - len(single)
        count = "1 entry repeats" if twice == 1 else f"{twice} entries repeat"
        said.append(f"{table.source}: {count} a time; the first of each time is kept.")
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
