"""What an entry of the record did, for people: rows by the names they know, and no raw content."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import islice
from typing import Any

from moisturemap.survey.test_record import TEST_FIELDS

_ROWS = {
    "settings": ("setting", "settings", ("key",)),
    "rooms": ("room", "rooms", ("name",)),
    "lines": ("line", "lines", ("name",)),
    "instruments": ("instrument", "instruments", ("id",)),
    "instrument_checks": ("check of", "checks", ("instrument",)),
    "visits": ("visit", "visits", ("id",)),
    "readings": ("reading", "readings", ("room", "label")),
    "tests": ("test", "tests", ("hole",)),
    "equipment": ("machine", "machines", ("machine",)),
    "limits": ("limit of", "limits of", ("room",)),
    "attachments": ("picture or file", "pictures and files", ("name",)),
    "issued_documents": ("issued document", "issued documents", ("name",)),
}
"""One row of a layer, several, and the columns that name one."""
_COLUMNS = {
    "base": "base",
    "direction_deg": "direction it blows in",
    "drying_faces": "faces it dries from",
    "geometry": "outline",
    "heated": "floor heating",
    "key": "name",
    "label": "name of the place",
    "operator": "operator",
    "placed": "day it was placed",
    "censored": "beyond the scale",
    "value": "value",
    "unit": "unit",
}
"""Columns that their names do not say, or that a test means otherwise."""
_UNITS = {
    "c": "°C",
    "pct": "%",
    "mm": "mm",
    "h": "h",
    "g": "g",
    "bar": "bar",
    "cm2": "cm2",
    "m2": "m2",
    "hours": "h",
}
_SETTINGS = {
    "answers": "answers about the source",
    "clearances": "cleared cautions",
    "decisions": "decisions about holes and disturbed readings",
    "issued_holes": "issued holes",
    "loggers": "loggers",
    "plan": "details of the plan",
    "units": "units of the job",
}
_BESIDE = frozenset(("raw", "source", "row", "reading"))
"""Columns that are not told where others of the row changed with them."""
MOST_NAMED = 4
"""Rows, or columns of one, that are named before the rest is counted (our choice)."""
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d")
_LONGEST = 60
"""Most letters of a text that are shown (our choice)."""


def entry_words(action: str, layer: str, rows: Sequence[Mapping[str, Any]], ids: str) -> str:
    """Return what was done to rows of a layer: ``added readings 3-8``, ``corrected test H1``.

    Parameters
    ----------
    action : str
        ``add``, ``correct`` or ``remove``.
    layer : str
    rows : sequence of mapping
        The rows by column name, as they are now or were before they went.
    ids : str
        Their numbers, as ``3-8``.
    """
    done = {"add": "added", "correct": "corrected", "remove": "removed"}[action]
    one, many, by = _ROWS.get(layer, (layer, layer, ()))
    names = [_name(layer, row, by) for row in rows]
    if len(names) > MOST_NAMED or not all(names):
        return f"{done} {one if len(names) == 1 else many} {ids}"
    return f"{done} {one if len(names) == 1 else many} {', '.join(names)}"


def row_words(layer: str, row: Mapping[str, Any]) -> str:
    """Return what a row is and the name people know it by: ``test H1``, ``check of probe 1``."""
    one, _, by = _ROWS.get(layer, (layer, layer, ()))
    return f"{one} {_name(layer, row, by) or row.get('fid', '')}".strip()


def _name(layer: str, row: Mapping[str, Any], by: Sequence[str]) -> str:
    if layer == "settings":
        key = str(row.get("key", ""))
        return _SETTINGS.get(key, key.replace("_", " "))
    if layer == "limits":
        return str(row.get("room") or "the whole floor")
    parts = [str(row.get(column) or "") for column in by]
    return " ".join(filter(None, parts)) if parts and parts[-1] else ""


def difference_words(layer: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    """Return what of one row became something else: ``value from 31 to 40``; "" for lists.

    Parameters
    ----------
    layer : str
    old, new : mapping
        The row before and after, by column name.
    """
    changed = list(_changed(old, new))
    told = [one for one in changed if one[0] not in _BESIDE] or changed
    words = [word for one in told if (word := _difference(layer, *one))]
    rest = len(words) - MOST_NAMED
    return ", ".join(words[:MOST_NAMED] + ([f"{rest} more"] if rest > 0 else []))


def _changed(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[tuple[str, Any, Any]]:
    """Yield column, old and new value of what differs; what is kept beside the columns opened."""
    for column in {**old, **new}:
        before, after = old.get(column), new.get(column)
        if before == after:
            continue
        if column == "extra":
            yield from _changed(json.loads(before or "{}"), json.loads(after or "{}"))
        else:
            yield column, before, after


def _difference(layer: str, column: str, before: Any, after: Any) -> str:
    if column == "geometry":
        return "another outline"
    if layer == "settings":
        if column != "value":
            return ""
        before, after = (json.loads(one or "null") for one in (before, after))
        if any(isinstance(one, (list, dict)) for one in (before, after)):
            return ""
        return f"from {_value(before)} to {_value(after)}"
    unit = _unit(column)
    told = f"{_column(layer, column)} from {_value(before)} to {_value(after)}"
    return f"{told} {unit}" if unit and isinstance(after, (int, float)) else told


def _column(layer: str, column: str) -> str:
    stated = TEST_FIELDS.get(column) if layer == "tests" else None
    if column in _COLUMNS:
        return _COLUMNS[column]
    if stated is not None and column not in ("x", "y"):
        return stated.meaning.partition(";")[0]
    stem, _, unit = column.rpartition("_")
    return (stem if stem and unit in _UNITS else column).replace("_", " ")


def _unit(column: str) -> str:
    return _UNITS.get(column.rpartition("_")[2], "") if "_" in column else ""


def _value(held: Any) -> str:
    if isinstance(held, Mapping):  # a value with its kind, as times are kept
        inner = [one for key, one in held.items() if key != "kind"]
        return _value(inner[0]) if len(inner) == 1 else f"{len(held)} entries"
    if isinstance(held, bool):
        return "yes" if held else "no"
    if isinstance(held, (int, float)):
        return f"{held:.6g}"
    if isinstance(held, (list, tuple)):
        few = ", ".join(_value(one) for one in islice(held, MOST_NAMED))
        return few if len(held) <= MOST_NAMED else f"{len(held)} entries"
    text = "" if held is None else str(held)
    if not text:
        return "nothing"
    if _TIME.match(text):
        return f"{datetime.fromisoformat(text):%Y-%m-%d %H:%M %Z}".strip()
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
