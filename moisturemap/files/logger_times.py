"""The times of a logger's entries, in the ways loggers and spreadsheets write them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any

import pandas as pd

from moisturemap.files.logger_clock import put_in_zone
from moisturemap.files.logger_layout import LoggerLayout
from moisturemap.files.moment import parse_moments
from moisturemap.files.record_table import RecordOptions
from moisturemap.files.table import Cell, Table, is_blank, shown

SERIAL_DAYS = (20_000.0, 80_000.0)
"""Numbers taken as days since 1899-12-30, as spreadsheets count them: the years 1954 to 2119."""

SERIAL_START = datetime(1899, 12, 30)

UNIX_SECONDS = (1.0e9, 4.0e9)
"""Numbers taken as seconds since 1970 UTC, or a thousand times as much as milliseconds: the years
2001 to 2096."""

ZONE_WORDS = {
    **dict.fromkeys(("utc", "gmt", "z", "wet"), "+00:00"),
    **dict.fromkeys(("cet", "mez", "west"), "+01:00"),
    **dict.fromkeys(("cest", "mesz", "eet"), "+02:00"),
    "eest": "+03:00",
}
"""Names of offsets that mean one thing only (IANA time zone database, Europe)."""

_MONTHS = {
    "jan": 1,
    "feb": 2,
    "fév": 2,
    "fev": 2,
    "mar": 3,
    "mär": 3,
    "mrz": 3,
    "apr": 4,
    "avr": 4,
    "may": 5,
    "mai": 5,
    "jun": 6,
    "juin": 6,
    "jul": 7,
    "juil": 7,
    "aug": 8,
    "aoû": 8,
    "aou": 8,
    "sep": 9,
    "oct": 10,
    "okt": 10,
    "nov": 11,
    "dec": 12,
    "dez": 12,
    "déc": 12,
}
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_DAY_MONTH = re.compile(r"(\d{1,2})[ .-]+([^\W\d]{3,9})\.?[ ,.-]+(\d{4}|\d{2})\b[ ,T]*(.*)")
_MONTH_DAY = re.compile(r"([^\W\d]{3,9})\.?[ .-]+(\d{1,2})[ ,.-]+(\d{4})\b[ ,T]*(.*)")
_YEAR_FIRST = re.compile(
    r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})[ T]+(\d{1,2}:\d{2}(?::\d{2})?\s*[aApP]\.?[mM]\.?)"
)
_MIDNIGHT = re.compile(r"(.*[ T])24:00(:00)?$")
_ZONED = re.compile(r".*\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[zZ]|[+-]\d{2}(?::?\d{2})?)$")
_ZONE_WORD = re.compile(r"(.*\d)\s*([a-zA-Z]{1,4})$")
_STATISTIC = re.compile(
    r"^(min|max|mean|average|avg|median|std|sd|sum|count|total|mittel|moyenne|end\b|ende\b)", re.I
)


@dataclass(frozen=True)
class Entries:
    """The rows of a table that hold entries, with their times as written.

    Attributes
    ----------
    rows : list of int
    times : list of Cell
        One a row: what stands in its cell, or in those of day and time of day.
    notes : tuple of str
    """

    rows: list[int]
    times: list[Any]
    notes: tuple[str, ...] = ()

    def of(self, rows: list[int]) -> Entries:
        """Return some of the entries."""
        own = dict(zip(self.rows, self.times, strict=True))
        return Entries(rows, [own[i] for i in rows], self.notes)


def find_entries(table: Table, layout: LoggerLayout) -> Entries:
    """Find the rows of entries: rows of units and of statistics below the headings are none.

    A day that stands on the first entry of the day only holds for those below it.
    """
    rows: list[int] = []
    times: list[Any] = []
    lost: list[int] = []
    day: Cell | None = None
    for i in range(layout.row + 1, len(table.rows)):
        row = table.rows[i]
        cells = [row[j] for j in layout.when]
        if len(cells) == 2:
            day = cells[0] if not is_blank(cells[0]) else day
            cells[0] = "" if day is None else day
        if any(is_blank(cell) or not _may_be_time(cell) for cell in cells):
            if rows and any(_is_number(row[j]) for j in layout.values.values()):
                lost.append(i)
            continue
        rows.append(i)
        times.append(_joined(cells, "" if layout.zone_column is None else row[layout.zone_column]))
    lost = [i for i in lost if not _STATISTIC.match(shown(table.rows[i][layout.when[0]]).strip())]
    if not lost:
        return Entries(rows, times)
    count = "1 row holds" if len(lost) == 1 else f"{len(lost)} rows hold"
    said = f"{count} values without a time and were left out, the first is row {lost[0] + 1}."
    return Entries(rows, times, (f"{table.source}: {said}",))


def _may_be_time(cell: Cell) -> bool:
    if not isinstance(cell, str):
        return True
    return any(c.isdigit() for c in cell) and not _STATISTIC.match(cell.strip())


def _is_number(cell: Cell) -> bool:
    if isinstance(cell, str):
        return _NUMBER.match(cell.strip().lstrip("+-")) is not None
    return isinstance(cell, float | int)


def _joined(cells: Sequence[Cell], zone: Cell) -> Any:
    """Return a time as ``parse_moments`` reads it, of one cell or of day and time of day."""
    whole = _plain(cells[0])
    if len(cells) == 2 and not _holds_clock(whole):
        whole = _with_clock(whole, _plain(cells[1]))
    text = shown(zone).strip()
    if not text or (isinstance(whole, datetime) and whole.tzinfo):
        return whole
    offset = ZONE_WORDS.get(text.casefold(), re.sub(r"^(?:utc|gmt)\s*", "", text, flags=re.I))
    if isinstance(whole, datetime):
        whole = whole.isoformat(sep=" ")
    return f"{whole}{_two_figures(offset)}"


def _two_figures(offset: str) -> str:
    """Write ``+1`` and ``+1:00`` as ``+01:00``."""
    match = re.fullmatch(r"([+-]?)\s*(\d{1,2})(?::?(\d{2}))?(?::\d{2})?", offset)
    return f"{match[1] or '+'}{int(match[2]):02d}:{match[3] or '00'}" if match else f" {offset}"


def _plain(cell: Cell) -> Any:
    """Turn serial numbers, names of months and zones, and 24:00 into times that are usual."""
    if isinstance(cell, float | int):
        return _of_number(float(cell), cell)
    if not isinstance(cell, str):
        return cell
    text = cell.strip()
    if _NUMBER.fullmatch(text):
        return _of_number(float(text.replace(",", ".")), text)
    if (word := _ZONE_WORD.fullmatch(text)) and word[2].casefold() in ZONE_WORDS:
        text = f"{word[1]}{ZONE_WORDS[word[2].casefold()]}"
    if match := _YEAR_FIRST.fullmatch(text):
        return f"{match[3]}.{match[2]}.{match[1]} {match[4]}"
    for pattern, day, month in ((_DAY_MONTH, 1, 2), (_MONTH_DAY, 2, 1)):
        match = pattern.fullmatch(text)
        number = _month(match[month]) if match else 0
        if match and number:
            return f"{match[day]}.{number}.{match[3]} {match[4]}".strip()
    return text


def _month(name: str) -> int:
    low = name.casefold()
    return next((_MONTHS[low[:k]] for k in (4, 3) if low[:k] in _MONTHS), 0)


def _of_number(value: float, cell: Any) -> Any:
    """Return the time a number stands for: a spreadsheet's days, or seconds since 1970."""
    if 0.0 <= value < 1.0:
        return (datetime.min + timedelta(seconds=round(value * 86400.0))).time()
    if SERIAL_DAYS[0] <= value < SERIAL_DAYS[1]:
        return SERIAL_START + timedelta(seconds=round(value * 86400.0))
    for unit in (1.0, 1000.0):
        if UNIX_SECONDS[0] * unit <= value < UNIX_SECONDS[1] * unit:
            return datetime.fromtimestamp(value / unit, UTC)
    return str(cell)


def _holds_clock(cell: Any) -> bool:
    """Whether a cell of the day holds the time of day as well."""
    if isinstance(cell, datetime):
        return cell.time() != time()
    return isinstance(cell, str) and ":" in cell


def _with_clock(day: Any, clock: Any) -> Any:
    if isinstance(day, date) and isinstance(clock, time | datetime):
        at = clock.time() if isinstance(clock, datetime) else clock
        return datetime.combine(day.date() if isinstance(day, datetime) else day, at)
    start = day.date().isoformat() if isinstance(day, datetime) else shown(day)
    return f"{start} {shown(clock)}".strip()


def read_moments(
    table: Table, layout: LoggerLayout, entries: Entries, options: RecordOptions
) -> tuple[pd.Series, tuple[str, ...]]:
    """Read the times of entries as moments.

    Parameters
    ----------
    table : Table
    layout : LoggerLayout
    entries : Entries
    options : RecordOptions
        ``zone`` is that of times that state none, where the heading names no offset either.

    Returns
    -------
    moments : Series of datetime64[us, UTC]
        In the order of the entries.
    notes : tuple of str

    Raises
    ------
    SurveyError
        Naming the cell that is no time.
    """

    def place(number: int) -> str:
        return table.place(entries.rows[number], layout.when[0])

    late = [isinstance(one, str) and bool(_MIDNIGHT.match(one)) for one in entries.times]
    cells = [
        _MIDNIGHT.sub(r"\g<1>00:00", one) if next_day else one
        for one, next_day in zip(entries.times, late, strict=True)
    ]
    moments, _ = parse_moments(cells, None, place, table.source, day=options.day)
    moments = moments + pd.to_timedelta([float(one) for one in late], unit="D")
    naive = [i for i, one in enumerate(cells) if not _is_zoned(one)]
    notes: list[str] = []
    if naive:
        wall = moments.iloc[naive].dt.tz_localize(None)
        zone: tzinfo | None = layout.offset or options.zone
        placed, clock_notes = put_in_zone(wall, zone, table.source)
        moments = moments.copy()
        moments.iloc[naive] = placed.reindex(wall.index)
        notes += clock_notes
    numbers = [table.rows[i][layout.when[0]] for i in entries.rows]
    if numbers and _counts_days(numbers[0]):
        first = moments.iloc[0]
        notes.append(
            f"{table.source}: times are numbers of a spreadsheet or clock; the first, "
            f"{shown(numbers[0])}, was taken as {first:%Y-%m-%d %H:%M} UTC."
        )
    return moments, tuple(notes)


def _is_zoned(cell: Any) -> bool:
    if isinstance(cell, datetime):
        return cell.tzinfo is not None
    return isinstance(cell, str) and _ZONED.match(cell.strip()) is not None


def _counts_days(cell: Cell) -> bool:
    return isinstance(cell, float | int) or bool(
        isinstance(cell, str) and _NUMBER.fullmatch(cell.strip())
    )
