"""Dates and times as people write them, always with a zone."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.named_day import NamedDay, named_day

MOMENT_ALLOWED = "2026-03-14 09:30, with +01:00 or Z behind it where the zone differs"

_NUMERIC = re.compile(
    r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d{2})"
    r"(?:[ ,T]+(\d{1,2}[:.]\d{2}(?::\d{2})?)\s*([aApP]\.?[mM]\.?)?)?"
)
_CLOCK = re.compile(
    r"(\d{1,2})[:.](\d{2})(?::(\d{2}))?\s*([aApP])?\.?(?:[mM]\.?)?(?:\s*(?:uhr|h))?"
)
_WHOLE_HOUR = re.compile(r"(\d{1,2})\s*([ap]\.?m\.?|h|uhr)")
_DOTTED_CLOCK = re.compile(r"(\d{4}-\d{2}-\d{2})[ T]+(\d{1,2})[.,](\d+)(?:[.,](\d+))?")
_ISO_DAY = re.compile(r"\d{4}-?\d{2}-?\d{2}|\d{4}/\d{2}/\d{2}|\d{4}-W\d{2}-\d")
_OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})")


def zone_of(name: str, source: str, place: str = "[survey] timezone") -> tzinfo:
    """Return the time zone of an IANA name or an offset such as ``+01:00``.

    Raises
    ------
    SurveyError
        If there is no such zone.
    """
    if name.upper() in ("UTC", "Z"):
        return UTC
    offset = _OFFSET.fullmatch(name)
    if offset and int(offset[2]) <= 14 and int(offset[3]) < 60:
        span = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
        return timezone(span if offset[1] == "+" else -span)
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise SurveyError(
            "there is no such time zone",
            source=source,
            place=place,
            value=name,
            allowed='an IANA name such as "Europe/Lisbon", or an offset such as "+01:00"',
        ) from error


def with_zone(moment: datetime, zone: tzinfo) -> datetime:
    """Return the moment, in the zone when it states none itself."""
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def clock_of_visit(
    zone: tzinfo | None, started: datetime | None
) -> tuple[tzinfo | None, date | None]:
    """Return the zone of times that state none, and the day of bare times of day, on a visit.

    Parameters
    ----------
    zone : tzinfo or None
        Of the survey; where it names none, that in which the visit started, unless that is UTC.
    started : datetime or None
        Of the visit, with zone.
    """
    if started is None:
        return zone, None
    zone = zone or (None if started.tzinfo is UTC else started.tzinfo)
    return zone, started.astimezone(zone or UTC).date()


def zone_note(source: str) -> str:
    """Say that times were taken as UTC for want of a zone."""
    return f"{source}: times that state no zone were taken as UTC; name [survey] timezone."


def parse_moments(
    cells: Sequence[Any],
    zone: tzinfo | None,
    place: Callable[[int], str],
    source: str,
    *,
    day: date | None = None,
    later: bool = False,
) -> tuple[pd.Series, bool]:
    """Read cells as times with zone.

    Parameters
    ----------
    cells : sequence of Cell
    zone : tzinfo or None
        Zone of times that state none; UTC when None.
    place : callable
        Gives the place of the cell of an index, for messages.
    source : str
        File, for messages.
    day : datetime.date, optional
        Day of cells that state a time of day only.
    later : bool
        Whether an hour that a night of changing clocks has twice is read as the later of both.

    Returns
    -------
    moments : pandas.Series of datetime64[us, UTC]
        NaT where a cell is blank.
    guessed : bool
        True when a time states no zone and none was given, so that UTC was taken.
    """
    day_first = _day_first(cells, place, source)
    known: dict[Any, datetime | None] = {}
    moments = []
    for i, cell in enumerate(cells):
        if cell not in known:
            try:
                known[cell] = _moment(cell, day, day_first)
            except (ValueError, OverflowError) as error:
                raise SurveyError(
                    "this is not a date or time",
                    source=source,
                    place=place(i),
                    value=str(cell),
                    allowed=MOMENT_ALLOWED,
                ) from error
        moments.append(known[cell])
    stated = [moment for moment in known.values() if moment is not None]
    guessed = zone is None and any(moment.tzinfo is None for moment in stated)
    zoned = [m if m is None else _in_utc(m, zone or UTC, later=later) for m in moments]
    series = pd.Series(pd.to_datetime(pd.Series(zoned, dtype=object), utc=True))
    return series.astype("datetime64[us, UTC]"), guessed


def _in_utc(moment: datetime, zone: tzinfo, *, later: bool) -> datetime:
    """Return a moment in UTC; of an hour that comes twice the first, or the later of both."""
    folds = (0, 1) if later and moment.tzinfo is None else (moment.fold,)
    return max(with_zone(moment.replace(fold=fold), zone).astimezone(UTC) for fold in folds)


def _day_first(cells: Sequence[Any], place: Callable[[int], str], source: str) -> bool:
    """Whether 03/04/2026 is the third of April, as the other dates of the column show."""
    slashed = {c: _NUMERIC.fullmatch(c.strip()) for c in set(cells) if isinstance(c, str)}
    matches = {cell: match for cell, match in slashed.items() if match and match[2] != "."}
    day_first = any(int(match[1]) > 12 for match in matches.values())
    month_first = any(int(match[3]) > 12 for match in matches.values())
    differs = {cell for cell, match in matches.items() if match[1] != match[3]}
    if differs and day_first == month_first:
        where = next(i for i, cell in enumerate(cells) if cell in differs)
        message = "it cannot be told which is the day and which the month"
        raise SurveyError(
            message,
            source=source,
            place=place(where),
            value=str(cells[where]),
            allowed=MOMENT_ALLOWED,
        )
    return not month_first


def _moment(cell: Any, day: date | None, day_first: bool) -> datetime | None:
    if isinstance(cell, datetime):
        return cell
    if isinstance(cell, date):
        return datetime(cell.year, cell.month, cell.day)
    if isinstance(cell, time):
        return _on_day(cell, day)
    if not isinstance(cell, str):
        message = "a bare number is not a date"
        raise ValueError(message)
    text = cell.strip()
    if not text:
        return None
    numeric = _NUMERIC.fullmatch(text)
    if numeric:
        return _numeric_moment(numeric, day_first)
    clock = _clock(text)
    if clock is not None:
        return _on_day(clock, day)
    named = named_day(text)
    if named is not None:
        return datetime.combine(named.day, _clock_behind(named.clock))
    return datetime.fromisoformat(_with_colons(text.replace("/", "-")))


def _with_colons(text: str) -> str:
    """Write 2026-03-04 10.55 as 10:55; ISO 8601 would have it a share of an hour or a second.

    An hour of one digit gets its nought.
    """
    dotted = _DOTTED_CLOCK.fullmatch(text)
    if not dotted:
        return re.sub(r"(?<=\d[ T])(\d)(?=:\d\d)", r"0\1", text, count=1)
    day, *clock = (part for part in dotted.groups() if part)
    if any(len(part) != 2 for part in clock[1:]):
        message = "it cannot be told whether a part of an hour is meant"
        raise ValueError(message)
    return f"{day} {clock[0]:0>2}:{':'.join(clock[1:])}"


def is_day_only(cell: Any) -> bool:
    """Whether a cell states a day without a time of day; so does midnight in a workbook.

    Parameters
    ----------
    cell : Cell
    """
    if isinstance(cell, datetime):
        return cell.time() == time()
    if not isinstance(cell, str):
        return isinstance(cell, date)
    numeric, named = _NUMERIC.fullmatch(cell.strip()), _named_or_none(cell)
    if named is not None:
        return not named.clock
    return numeric[5] is None if numeric else bool(_ISO_DAY.fullmatch(cell.strip()))


def _named_or_none(cell: str) -> NamedDay | None:
    try:
        return named_day(cell)
    except ValueError:
        return None


def _clock_behind(text: str) -> time:
    """Return the time of day behind a day; an hour alone needs a.m., p.m., h or Uhr."""
    if not text:
        return time()
    clock = _clock(re.sub(r"(?<=\d)h(?=\d)", ":", text))
    if clock is None:
        message = "no time of day"
        raise ValueError(message)
    return clock


def _numeric_moment(match: re.Match[str], day_first: bool) -> datetime:
    first, mark, second, year = int(match[1]), match[2], int(match[3]), int(match[4])
    day, month = (first, second) if mark == "." or day_first else (second, first)
    clock = _clock(f"{match[5]} {match[6] or ''}".strip()) if match[5] else time()
    if clock is None:
        message = "no time of day"
        raise ValueError(message)
    year += 2000 if year < 100 else 0
    return datetime.combine(date(year, month, day), clock)


def _clock(text: str) -> time | None:
    whole = _WHOLE_HOUR.fullmatch(text.casefold())
    match = _CLOCK.fullmatch(f"{whole[1]}:00 {whole[2]}" if whole else text.casefold())
    if not match:
        return None
    hour = int(match[1])
    if match[4]:
        if not 1 <= hour <= 12:
            message = "no such hour"
            raise ValueError(message)
        hour = hour % 12 + (12 if match[4] == "p" else 0)
    return time(hour, int(match[2]), int(match[3] or 0))


def _on_day(clock: time, day: date | None) -> datetime:
    if day is None:
        message = "a time of day without a day: state when the visit started"
        raise ValueError(message)
    return datetime.combine(day, clock)
