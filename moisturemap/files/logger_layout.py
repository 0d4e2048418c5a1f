"""Where things stand in the file of a climate logger: heading row, times, values, channels."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, timedelta, timezone, tzinfo

from moisturemap.errors import SurveyError
from moisturemap.files.header import key_of
from moisturemap.files.setting import nearest
from moisturemap.files.table import Table, is_blank, shown, texts

HEADING_ROWS = 80
"""The heading row is looked for in this many first rows: loggers write their own lines above it."""

_WHEN = re.compile(
    r"^(?:(?:utc|gmt|local|log|logging|sample|reading|mess)[\s_-]?)?"
    r"(date|datum|time|zeit|uhrzeit|timestamp|heure|horodat|jour|tag\b|day\b)"
)
_CLOCK_ONLY = re.compile(r"^(time|uhrzeit|zeit|heure)\b(?!.*(date|datum))")
_DAY_ONLY = re.compile(r"^(date|datum|jour|tag|day)\b(?!.*(time|zeit|heure))")
_NOT_OURS = re.compile(
    r"dew|taupunkt|ros[ée]e|abs|batt|volt|pressure|druck|alarm|wet.?bulb|co2|"
    r"set.?point|soll|target|consigne|threshold|schwelle"
)
_RH = re.compile(
    r"relative\s*humidity|rel\.?\s*(?:humidity|feuchte|h\b)|humidit[yé]e?|(?:luft)?feuchte|"
    r"\br\.?\s?h\.?(?=[^a-z]|$)|%\s*r\.?h\.?|\br\.?f\.?(?=[^a-z]|$)|\bhum\b|\bhr\b"
)
_TEMPERATURE = re.compile(r"temp[ée]rature?|temperatur|\btemp\b\.?|\bt(?=\s*[(\[])|^t$")
_DEGREES = re.compile(r"°\s*[cf]\b|[(\[]\s*°?\s*[cf]\s*[)\]]")
_UNIT = re.compile(r"[(\[]\s*(?:%[^)\]]*|°?\s*[cf]|deg\.?\s*[cf])\s*[)\]]|°\s*[cf]\b|%")
_LONE_T = re.compile(r"^t\b|\bt$", re.IGNORECASE)
_FAHRENHEIT = re.compile(r"°\s*f\b|deg\.?\s*f\b|[(\[]\s*f\s*[)\]]|fahrenheit|^\s*f\s*$")
_CELSIUS = re.compile(r"°\s*c\b|deg\.?\s*c\b|[(\[]\s*c\s*[)\]]|celsius|^\s*c\s*$")
_OFFSET = re.compile(r"\b(?:gmt|utc)\b\s*(?:([+-]\s*\d{1,2})(?::?(\d{2}))?)?")
_CHANNEL = frozenset(
    (
        "channel",
        "kanal",
        "sensor",
        "sensorid",
        "sensorname",
        "probe",
        "logger",
        "loggerid",
        "device",
        "deviceid",
        "serial",
        "serialno",
        "serialnumber",
        "seriennummer",
        "sn",
        "fuhler",
        "fuehler",
        "voie",
        "canal",
    )
)
_ZONE = frozenset(("utcoffset", "gmtoffset", "offset", "timezone", "zone", "tz", "zeitzone"))


@dataclass(frozen=True)
class LoggerLayout:
    """The heading row of a logger's file, and what its columns hold.

    Attributes
    ----------
    row : int
        Index of the heading row.
    when : tuple of int
        Column of the time, or those of day and time of day.
    offset : tzinfo or None
        Offset the heading of the time names.
    zone_column : int or None
        Column that holds the offset of each entry.
    values : dict of (str, str) to int
        Column by channel and quantity, ``rh_pct`` or ``temperature_c``.
    fahrenheit, celsius : frozenset of int
        Columns that say so by heading or by a row of units.
    channel_column : int or None
        Column that names the channel of each entry.
    """

    row: int
    when: tuple[int, ...]
    offset: tzinfo | None
    zone_column: int | None
    values: dict[tuple[str, str], int]
    fahrenheit: frozenset[int]
    celsius: frozenset[int]
    channel_column: int | None

    def unit_of(self, column: int) -> str | None:
        """Name the unit of temperature a column states: "F", "C" or None."""
        return "F" if column in self.fahrenheit else "C" if column in self.celsius else None

    def columns(self, channel: str | None) -> dict[str, int]:
        """Column by quantity, of one channel or of all."""
        return {q: j for (name, q), j in self.values.items() if channel in (None, name)}


def find_layout(table: Table) -> LoggerLayout:
    """Find the heading row.

    Parameters
    ----------
    table : Table

    Returns
    -------
    LoggerLayout

    Raises
    ------
    SurveyError
        If no row names a time and a humidity or temperature, or entries hold more than headings.
    """
    for index in range(min(HEADING_ROWS, len(table.rows))):
        layout = _layout(table, index)
        if layout is not None:
            _refuse_more_values(table, index)
            return layout
    first = next(row for row in table.rows if any(not is_blank(cell) for cell in row))
    raise SurveyError(
        "no heading row with a time and a humidity or temperature was found",
        source=table.source,
        value=", ".join(texts(first)[:8]),
        allowed="headings such as: time, temperature (C), RH (%)",
    )


def _layout(table: Table, index: int) -> LoggerLayout | None:
    row = table.rows[index]
    heads = [shown(cell).casefold().strip() if isinstance(cell, str) else "" for cell in row]
    times = [j for j, head in enumerate(heads) if _WHEN.search(head)]
    found = [(j, _quantity(head)) for j, head in enumerate(heads) if j not in times]
    found = [(j, quantity) for j, quantity in found if quantity]
    if not times or not found:
        return None
    when = _when(heads, times)
    zone = next((j for j, head in enumerate(heads) if key_of(head) in _ZONE), None)
    names = _names(table, index, found)
    values = {(name, quantity): j for name, (j, quantity) in zip(names, found, strict=True)}
    long = next((j for j, head in enumerate(heads) if key_of(head) in _CHANNEL), None)
    units = _units_below(table, index, when[0])
    fahrenheit = frozenset(
        j for j, _ in found if _FAHRENHEIT.search(heads[j]) or _FAHRENHEIT.search(units[j])
    )
    celsius = frozenset(
        j for j, _ in found if _CELSIUS.search(heads[j]) or _CELSIUS.search(units[j])
    )
    offset = _offset(heads[when[0]])
    return LoggerLayout(index, when, offset, zone, values, fahrenheit, celsius, long)


def _when(heads: list[str], times: list[int]) -> tuple[int, ...]:
    """Return the column of the time, that of UTC before another, or those of day and clock."""
    day = next((j for j in times if _DAY_ONLY.search(heads[j])), None)
    clock = next((j for j in times if _CLOCK_ONLY.search(heads[j])), None)
    if day is not None and clock is not None:
        return day, clock
    return (next((j for j in times if re.search(r"\b(utc|gmt)\b", heads[j])), times[0]),)


def _offset(head: str) -> tzinfo | None:
    stated = _OFFSET.search(head)
    if stated is None:
        return None
    if stated[1] is None:
        return UTC
    hours = int(stated[1].replace(" ", ""))
    minutes = (1 if hours >= 0 else -1) * int(stated[2] or 0)
    return timezone(timedelta(hours=hours, minutes=minutes))


def _quantity(head: str) -> str:
    if not head or _NOT_OURS.search(head):
        return ""
    if _RH.search(head):
        return "rh_pct"
    if _TEMPERATURE.search(head) or _DEGREES.search(head):
        return "temperature_c"
    return "rh_pct" if "%" in head else ""


def _names(table: Table, index: int, found: list[tuple[int, str]]) -> list[str]:
    """Name the channel of each column; those of one name are told by the row above, or numbered."""
    names = [_channel(shown(table.rows[index][j])) for j, _ in found]
    quantities = [quantity for _, quantity in found]
    if "" in names and "1" not in names and len(set(quantities)) < len(quantities):
        names = [name or "1" for name in names]
    keys = list(zip(names, quantities, strict=True))
    if len(set(keys)) == len(keys):
        return names
    above = _filled(texts(table.rows[index - 1])) if index else []
    if above:
        named = [
            above[j] if name == "1" and above[j] else f"{above[j]} {name}".strip()
            for name, (j, _) in zip(names, found, strict=True)
        ]
        if len({(name, q) for name, (_, q) in zip(named, found, strict=True)}) == len(named):
            return named
    count: Counter[tuple[str, str]] = Counter()
    numbered = []
    for name, quantity in keys:
        count[name, quantity] += 1
        nth = count[name, quantity]
        numbered.append(str(nth) if name == "1" else f"{name} {nth}")
    return numbered


def _filled(heads: list[str]) -> list[str]:
    """Carry the names of a row on to the right, as they stand over several columns."""
    carried, last = [], ""
    for head in heads:
        last = head.strip() or last
        carried.append(last)
    return carried


def _channel(heading: str) -> str:
    """Return what is left of a heading without quantity and unit: the name of the channel."""
    bare = heading
    for pattern in (_TEMPERATURE, _RH, _UNIT):
        bare = re.sub(pattern.pattern, " ", bare, flags=re.IGNORECASE)
    bare = re.sub(r"[(\[]\s*[)\]]", " ", bare)
    bare = re.sub(r"\s+", " ", bare).strip(" ,;:_-/.#|")
    return _LONE_T.sub("", bare).strip(" ,;:_-/.#|")


def _units_below(table: Table, index: int, when: int) -> list[str]:
    """Return the row of units below the headings; blanks where there is none."""
    none = [""] * len(table.rows[index])
    if index + 1 >= len(table.rows):
        return none
    row = table.rows[index + 1]
    digits = any(not isinstance(cell, str) or any(c.isdigit() for c in cell) for cell in row)
    return none if digits else [shown(cell).casefold() for cell in row]


def _refuse_more_values(table: Table, index: int) -> None:
    """Refuse entries longer than the headings: a decimal comma in a file parted by commas."""
    last = max(j for j, cell in enumerate(table.rows[index]) if not is_blank(cell))
    below = [i for i in range(index + 1, len(table.rows)) if not table.is_blank_row(i)]
    longer = [i for i in below if any(not is_blank(cell) for cell in table.rows[i][last + 1 :])]
    if 2 * len(longer) > len(below):
        raise SurveyError(
            "the entries hold more values than there are headings",
            source=table.source,
            place=table.place(longer[0]),
            value=", ".join(one for one in texts(table.rows[longer[0]]) if one),
            allowed="a heading over each value; decimal commas only where columns are parted by "
            "semicolons or tabs",
        )


def rows_of_channel(
    table: Table, layout: LoggerLayout, rows: list[int], channel: str
) -> tuple[list[int], dict[str, int]]:
    """Return the rows and columns of one channel.

    Parameters
    ----------
    table : Table
    layout : LoggerLayout
    rows : list of int
        Indices of the entries.
    channel : str
        "" where the file holds one only.

    Raises
    ------
    SurveyError
        If the file holds several and none is named, or not the one named.
    """
    names = channel_names(table, layout, rows)
    if layout.channel_column is not None:
        name = _chosen(names, channel, table)
        own = [i for i in rows if shown(table.rows[i][layout.channel_column]) == name]
        return own, layout.columns(None)
    quantities = {quantity for _, quantity in layout.values}
    if not channel and len(quantities) == len(layout.values):
        return rows, layout.columns(None)
    return rows, layout.columns(_chosen(names, channel, table))


def channel_names(table: Table, layout: LoggerLayout, rows: list[int]) -> list[str]:
    """Name the channels of a file, in the order of its columns or by name."""
    if layout.channel_column is not None:
        return sorted({shown(table.rows[i][layout.channel_column]) for i in rows})
    return list(dict.fromkeys(name for name, _ in layout.values))


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
