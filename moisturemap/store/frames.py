"""Tables of readings, tests and machines as rows of a layer, and back with the same types."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import pandas as pd

from moisturemap.errors import InputError
from moisturemap.store import record, rows
from moisturemap.store.schema import Layer
from moisturemap.store.values import from_plain, missing_name, missing_value, parse_time, to_plain


@dataclass(frozen=True, slots=True)
class FrameColumn:
    """How one column of a table is kept, so that it comes back as it was.

    ``kind`` is ``real``, ``whole``, ``flag``, ``time``, ``timestamp``, ``date``, ``text`` or
    ``tagged`` (values of several types); ``missing`` names the missing value of object columns.
    """

    name: str
    dtype: str
    kind: str
    missing: str = "None"


TABLES = ("readings", "tests", "equipment")
"""Layers that hold tables of the survey."""

_USUAL = {
    "real": ("float64", "real"),
    "whole": ("int64", "whole"),
    "text": ("str", "text"),
    "time": ("datetime64[us, UTC]", "timestamp"),
}


def usual_columns(layer: Layer) -> tuple[FrameColumn, ...]:
    """Return the columns a table has when nothing was ever read into it."""
    return tuple(FrameColumn(name, *_USUAL[kind]) for name, kind in layer.columns.items())


def blanks(layer: Layer, fid: int) -> dict[str, Any]:
    """Return what a row of a table says where it is not told: as a file without the column."""
    found: dict[str, Any] = {name: "" for name, kind in layer.columns.items() if kind == "text"}
    number = next(iter(layer.columns))
    if layer.columns[number] == "whole":
        found[number] = fid
    found["row"], found["source"] = str(fid), "entered"
    return {**found, "repeat": 0} if "repeat" in layer.columns else found


def describe(frame: pd.DataFrame, layer: Layer) -> tuple[FrameColumn, ...]:
    """Return how each column of a table is to be kept."""
    return tuple(_describe(str(name), frame[name], layer) for name in frame.columns)


def _describe(name: str, column: pd.Series, layer: Layer) -> FrameColumn:
    dtype = str(column.dtype)
    given = pd.api.types
    if given.is_bool_dtype(column.dtype):
        return FrameColumn(name, dtype, "flag")
    if given.is_integer_dtype(column.dtype):
        return FrameColumn(name, dtype, "whole")
    if given.is_float_dtype(column.dtype):
        return FrameColumn(name, dtype, "real")
    if given.is_datetime64_any_dtype(column.dtype):
        return FrameColumn(name, dtype, "timestamp")
    missing = {label for value in column if (label := missing_name(value))}
    kinds = {_kind(value) for value in column if not missing_name(value)}
    if len(missing) > 1 or len(kinds) > 1 or "tagged" in kinds:
        return FrameColumn(name, dtype, "tagged")
    usual = layer.columns.get(name, "text")
    return FrameColumn(name, dtype, *(kinds or {usual}), *(missing or {"None"}))


_KINDS = (
    (bool, "flag"),
    (int, "whole"),
    (float, "real"),
    (str, "text"),
    (pd.Timestamp, "timestamp"),
    (datetime, "time"),
    (date, "date"),
)


def _kind(value: Any) -> str:
    return next((kind for of_type, kind in _KINDS if isinstance(value, of_type)), "tagged")


_NUMERIC = ("real", "whole", "flag")


def _fits(column: FrameColumn, layer: Layer) -> bool:
    """Return whether the layer's own column can keep it; else it goes with the extra ones."""
    kind = layer.columns.get(column.name)
    if kind is None:
        return False
    return kind not in _NUMERIC or column.kind == kind or (kind, column.kind) == ("real", "whole")


def to_rows(
    frame: pd.DataFrame, layer: Layer, columns: Sequence[FrameColumn], first: int
) -> list[rows.Row]:
    """Return the rows of a table, numbered from ``first``.

    Raises
    ------
    InputError
        If a value does not suit its column; the message names row and value.
    """
    known = {column.name: column for column in columns}
    fids = list(range(first, first + len(frame)))
    cells: dict[str, Sequence[Any]] = {"fid": fids}
    extra: dict[str, Sequence[Any]] = {}
    for name in map(str, frame.columns):
        if _fits(known[name], layer):
            cells[name] = _stored(frame[name], known[name], layer)
        else:
            extra[name] = frame[name].tolist()
    cells["extra"] = _extra(extra, len(frame))
    told = blanks(layer, first)
    number = next(iter(layer.columns))
    if layer.columns[number] == "whole":
        cells.setdefault(number, fids)
    cells.setdefault("row", [str(fid) for fid in fids])
    in_order = [cells.get(name) or [told.get(name)] * len(fids) for name in layer.names]
    return [list(row) for row in zip(*in_order, strict=True)]


def _extra(columns: dict[str, Sequence[Any]], count: int) -> list[str | None]:
    if not columns:
        return [None] * count
    return [
        record.canonical(dict(zip(columns, map(to_plain, row), strict=True)))
        for row in zip(*columns.values(), strict=True)
    ]


def _stored(values: pd.Series, column: FrameColumn, layer: Layer) -> list[Any]:
    plain = [None if missing_name(value) else value for value in values.tolist()]
    into = layer.columns[column.name]
    if column.kind == "tagged":
        return [record.canonical(to_plain(value)) for value in values.tolist()]
    if into == "real" and column.kind == "real":
        return [None if value is None else value + 0.0 for value in plain]
    if column.kind in ("whole", "flag") and into in ("text", "time", "date"):
        plain = [None if value is None else str(int(value)) for value in plain]
    elif column.kind == "real" and into not in ("real", "whole"):
        plain = [None if value is None else repr(float(value)) for value in plain]
    elif column.kind in ("time", "timestamp", "date"):
        plain = [
            value if value is None or isinstance(value, str) else value.isoformat()
            for value in plain
        ]
    return [_cell(layer, column.name, number, value) for number, value in enumerate(plain, 1)]


def _cell(layer: Layer, name: str, number: int, value: Any) -> Any:
    try:
        return value if value is None else rows.cell(layer, name, value)
    except InputError as error:
        raise InputError(
            error.message,
            source=layer.name,
            place=f"row {number}",
            value=value,
            allowed=error.allowed,
        ) from error


_BACK: dict[str, Callable[[Any], Any]] = {
    "real": float,
    "whole": int,
    "flag": lambda value: bool(int(value)),
    "text": str,
    "tagged": lambda value: from_plain(json.loads(value)),
    "time": lambda value: parse_time("time", value),
    "timestamp": lambda value: parse_time("timestamp", value),
    "date": lambda value: parse_time("date", value),
}


def from_rows(
    found: Sequence[rows.Row], layer: Layer, columns: Sequence[FrameColumn]
) -> pd.DataFrame:
    """Return the table that the rows of a layer hold."""
    by_name = dict(zip(layer.names, zip(*found, strict=True), strict=False)) if found else {}
    texts = by_name.get("extra", ())
    known = {text: json.loads(text or "{}") for text in dict.fromkeys(texts)}  # most are alike
    extra = [known[text] for text in texts]
    later = dict.fromkeys(name for one in known.values() for name in one)
    new = later.keys() - {column.name for column in columns}
    every = (*columns, *(FrameColumn(name, "object", "tagged") for name in later if name in new))
    made = {}
    for column in every:
        if _fits(column, layer):
            values = _all_back(by_name.get(column.name, ()), column)
        else:
            values = [from_plain(one.get(column.name)) for one in extra]
        made[column.name] = _series(values, column)
    return pd.DataFrame(made, columns=[column.name for column in every])


def _all_back(values: Sequence[Any], column: FrameColumn) -> list[Any]:
    convert, missing = _BACK[column.kind], missing_value(column.missing)
    try:
        return [missing if value is None else convert(value) for value in values]
    except (ValueError, TypeError):
        return [_back(value, column) for value in values]


def _back(value: Any, column: FrameColumn) -> Any:
    if value is None:
        return missing_value(column.missing)
    try:
        return _BACK[column.kind](value)
    except (ValueError, TypeError):
        return value  # entered later, of another kind than the column had: kept as it is


def _series(values: list[Any], column: FrameColumn) -> pd.Series:
    try:
        return pd.Series(values, dtype=column.dtype)
    except (ValueError, TypeError):
        # A number column that since got a missing or other value takes the type that holds both.
        return pd.Series(values) if values else pd.Series(values, dtype="object")
