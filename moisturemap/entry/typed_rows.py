"""Readings and tests as they are typed or imported, as rows for the project file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.number import Numbers, may_be_thousand, parse_numbers
from moisturemap.floorplan import FloorPlan
from moisturemap.store import with_extra
from moisturemap.survey import Instrument
from moisturemap.survey.test_record import TEST_FIELDS, TEST_METHODS

Row = dict[str, Any]
FULL_SCALE_WORDS = "a number, or FS for full scale, or UL for the start of the scale"


def reading_rows(
    typed: Sequence[Mapping[str, Any]], visit: str, instrument: Instrument
) -> list[Row]:
    """Return rows of readings from what was typed at each place.

    Parameters
    ----------
    typed : sequence of mapping
        ``x, y`` [m], ``raw`` (text: a number with point or comma, ``FS``, ``>999``), and
        optionally ``label, room, time, note``.
    visit : str
    instrument : Instrument

    Raises
    ------
    SurveyError
        When a text is no reading, or a value lies outside the scale of the instrument.
    """
    return [_reading_row(one, visit, instrument) for one in typed]


def _reading_row(typed: Mapping[str, Any], visit: str, instrument: Instrument) -> Row:
    raw = str(typed["raw"]).strip()
    value, censored = typed_value(raw, instrument, place=str(typed.get("label") or ""))
    return {
        "visit": visit,
        "instrument": instrument.id,
        "x": float(typed["x"]),
        "y": float(typed["y"]),
        "value": value,
        "raw": raw,
        "censored": censored,
        "room": typed.get("room") or "",
        "label": typed.get("label") or "",
        "repeat": int(typed.get("repeat") or 0),
        "time": typed.get("time"),
        "note": typed.get("note") or "",
        "source": "entered",
    }


def typed_value(raw: str, instrument: Instrument, *, place: str = "") -> tuple[float | None, str]:
    """Return the value (None when only a word was written) and how it is censored."""
    mark = "," if "," in raw else "."
    found = parse_numbers([raw], mark)
    if found.bad[0] or found.blank[0]:
        message = "this is no reading"
        raise SurveyError(message, place=place or None, value=raw, allowed=FULL_SCALE_WORDS)
    _refuse_thousand(raw, place)
    value, censored = float(found.values[0]), str(found.censored[0])
    scale = instrument.scale
    if not np.isnan(value) and not censored and scale and not scale[0] <= value <= scale[1]:
        message = f"{instrument.id} cannot show this value"
        allowed = f"{scale[0]:g} to {scale[1]:g}, or FS for full scale"
        raise SurveyError(message, place=place or None, value=raw, allowed=allowed)
    return (None if np.isnan(value) else value), censored


def rows_of_table(readings: pd.DataFrame, visit: str, instrument: str) -> list[Row]:
    """Return rows of readings from a table that was read from a file."""
    frame = readings.assign(visit=visit, instrument=instrument).astype(object)
    return [
        {str(name): (None if pd.isna(value) else value) for name, value in row.items()}
        for row in frame.to_dict("records")
    ]


def row_of_test(typed: Mapping[str, Any], visit: str, plan: FloorPlan | None) -> Row:
    """Return the row of a calibrated test from what was typed into its form.

    Numbers may be numbers or text with point or comma; times carry their zone. The result itself
    may be a bound: ``>2`` where a gauge or probe stood at the end of its scale.

    Raises
    ------
    SurveyError
        When a field is unknown, is no number or time, or lies outside its bounds.
    """
    method = TEST_METHODS.get(str(typed.get("method")))
    if method is None:
        message = "no such method"
        raise SurveyError(message, value=typed.get("method"), allowed=", ".join(TEST_METHODS))
    row: Row = {"visit": visit, "method": method.key, "unit": method.units[0], "source": "entered"}
    for name, value in typed.items():
        if name == "method" or value is None or value == "":
            continue
        if name not in method.fields:
            message = f"a {method.key} test has no such field"
            raise SurveyError(message, value=name, allowed=", ".join(method.fields))
        row[name] = _field_value(name, value)
    row["censored"] = _bound_of(typed.get("value"))
    if row.get("unit") not in method.units:
        message = f"unit of a {method.key} test"
        raise SurveyError(message, value=row["unit"], allowed=", ".join(method.units))
    if plan is not None and "room" not in row and "x" in row and "y" in row:
        room = plan.room_at(row["x"], row["y"])
        row["room"] = room.name if room else ""
    return row


def plain_row(row: Row) -> Row:
    """Return a stored row in plain types, with the columns a method adds beside the usual ones."""
    full = with_extra(row)
    named = {name: v for name, v in full.items() if name not in ("fid", "extra", "geometry")}
    return {
        name: value.isoformat() if isinstance(value, datetime) else value
        for name, value in named.items()
        if not isinstance(value, (dict, list, tuple))
    }


def _field_value(name: str, value: Any) -> Any:
    field = TEST_FIELDS[name]
    if field.kind == "number":
        number = _number(value, name)
        low = -np.inf if field.low is None else field.low
        high = np.inf if field.high is None else field.high
        if not low <= number <= high:
            message = f"{name.replace('_', ' ')} cannot be right"
            raise SurveyError(message, value=value, allowed=f"{low:g} to {high:g} {field.unit}")
        return number
    if field.kind == "time":
        return _moment(value, name)
    if field.kind == "flag":
        return bool(value)
    return str(value)


def _refuse_thousand(raw: str, place: str) -> None:
    if may_be_thousand(raw):
        message = "this may be a thousand or a decimal"
        bare = raw.replace(",", "").replace(".", "")
        raise SurveyError(message, place=place or None, value=raw, allowed=f"{bare} or {raw}0")


def _number(value: Any, name: str) -> float:
    if name == "value":
        _refuse_thousand(str(value).strip() if isinstance(value, str) else "", name)
    found = _parsed(value)
    number = float(found.values[0])
    if np.isnan(number) or (found.censored[0] and name != "value"):
        message = f"{name.replace('_', ' ')} is no number"
        allowed = "a number, or > or < before it at the end of a scale"
        raise SurveyError(message, value=value, allowed=allowed if name == "value" else "a number")
    return number


def _bound_of(value: Any) -> str:
    """Return "above" or "below" for a result at the end of its scale, "" for a plain one."""
    return "" if value is None else str(_parsed(value).censored[0])


def _parsed(value: Any) -> Numbers:
    text = str(value)
    return parse_numbers([text], "," if "," in text else ".")


def _moment(value: Any, name: str) -> datetime:
    try:
        moment = datetime.fromisoformat(str(value))
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        message = f"{name.replace('_', ' ')} is no time with its zone"
        raise SurveyError(message, value=value, allowed="a time like 2026-03-01T09:30:00+00:00")
    return moment
