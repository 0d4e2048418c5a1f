"""Rows of a layer: read, insert, update and delete them, geometry included.

A row is a list in the order of ``Layer.names``. The geometry of rooms and lines is hexadecimal
WKB in it; that of readings, tests and machines follows from x and y.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

import numpy as np
import shapely

from moisturemap.errors import InputError
from moisturemap.store import geopackage
from moisturemap.store.schema import Layer

Row = list[Any]


def _real(value: Any) -> float | None:
    number = float(value)
    # SQLite keeps no negative zero, so neither does the record.
    return None if math.isnan(number) else number + 0.0


def _whole(value: Any) -> int:
    number = int(value)
    if number != value and not isinstance(value, str):
        raise ValueError(value)
    return number


def _text(value: Any) -> str:
    text = str(value)
    text.encode("utf-8")  # a lone surrogate is refused here, with the row and column named
    return text


def _time(value: Any) -> str:
    if isinstance(value, str):
        datetime.fromisoformat(value)
        return value
    return str(value.isoformat())


def _date(value: Any) -> str:
    if isinstance(value, datetime):
        raise ValueError(value)
    return str(date.fromisoformat(value)) if isinstance(value, str) else str(value.isoformat())


_INTO = {
    "text": (_text, "text"),
    "real": (_real, "a number"),
    "whole": (_whole, "a whole number"),
    "flag": (lambda value: int(bool(value)), "true or false"),
    "time": (_time, "a time such as 2026-03-01T09:30:00+00:00"),
    "date": (_date, "a day such as 2026-03-01"),
}


def cell(layer: Layer, name: str, value: Any) -> Any:
    """Return a value as the column keeps it.

    Raises
    ------
    InputError
        If the column cannot keep such a value.
    """
    if value is None:
        return None
    convert, allowed = _INTO[layer.columns.get(name, "text")]
    try:
        return convert(value)
    except (TypeError, ValueError, AttributeError, OverflowError) as error:
        message = f"{name} cannot be kept like this"
        raise InputError(message, source=layer.name, value=value, allowed=allowed) from error


def read(
    connection: sqlite3.Connection, layer: Layer, fids: Sequence[int] | None = None
) -> list[Row]:
    """Return rows in order of fid; all of them, or those asked for."""
    names = _stored(layer)
    sql = f'SELECT {", ".join(names)} FROM "{layer.name}"'
    if fids is None:
        found = [list(row) for row in connection.execute(f"{sql} ORDER BY fid")]
    else:
        one = f"{sql} WHERE fid = ?"
        found = [list(row) for fid in fids for row in connection.execute(one, (fid,))]
    if "geometry" in layer.names:
        for row in found:
            row[-1] = _hexadecimal(row[-1])
    return found


def counts(connection: sqlite3.Connection, layer: Layer, name: str) -> dict[Any, int]:
    """Return how many rows of a layer there are by what stands in one of its columns.

    Raises
    ------
    KeyError
        If the layer has no such column.
    """
    column = {one: f'"{one}"' for one in layer.columns}[name]
    return dict(connection.execute(f'SELECT {column}, COUNT(*) FROM "{layer.name}" GROUP BY 1'))


def _hexadecimal(blob: bytes | None) -> str | None:
    try:
        shape = geopackage.decode(blob)
    except ValueError:
        return "unreadable"  # told by the check of the record, which names the row
    return None if shape is None else str(shapely.to_wkb(shape, hex=True, byte_order=1))


def _stored(layer: Layer) -> list[str]:
    return ["geom" if name == "geometry" else f'"{name}"' for name in layer.names]


def _geometries(layer: Layer, rows: Sequence[Row]) -> tuple[list[bytes | None], list[Any]]:
    """Return blobs and, for the extent, shapes."""
    if layer.from_coordinates:
        at = layer.names.index("x"), layer.names.index("y")
        x, y = (np.array([row[i] for row in rows], dtype=float) for i in at)
        return geopackage.encode_points(x, y), list(shapely.points(x, y))
    shapes = [None if row[-1] is None else shapely.from_wkb(row[-1]) for row in rows]
    return [geopackage.encode(shape) for shape in shapes], shapes


def _for_table(layer: Layer, rows: Sequence[Row]) -> tuple[list[Row], list[Any]]:
    if not layer.geometry or not rows:
        return list(rows), []
    blobs, shapes = _geometries(layer, rows)
    if layer.from_coordinates:
        return [[*row, blob] for row, blob in zip(rows, blobs, strict=True)], shapes
    return [[*row[:-1], blob] for row, blob in zip(rows, blobs, strict=True)], shapes


def insert(connection: sqlite3.Connection, layer: Layer, rows: Sequence[Row]) -> None:
    """Insert rows whose fid is set."""
    names = _stored(layer) + (["geom"] if layer.from_coordinates else [])
    values, shapes = _for_table(layer, rows)
    marks = ", ".join("?" * len(names))
    sql = f'INSERT INTO "{layer.name}" ({", ".join(names)}) VALUES ({marks})'
    connection.executemany(sql, values)
    geopackage.touch(connection, layer.name, shapes)


def update(connection: sqlite3.Connection, layer: Layer, rows: Sequence[Row]) -> None:
    """Write rows over those of the same fid."""
    names = _stored(layer) + (["geom"] if layer.from_coordinates else [])
    values, shapes = _for_table(layer, rows)
    sets = ", ".join(f"{name} = ?" for name in names[1:])
    sql = f'UPDATE "{layer.name}" SET {sets} WHERE fid = ?'
    connection.executemany(sql, [[*row[1:], row[0]] for row in values])
    geopackage.touch(connection, layer.name, shapes)


def delete(connection: sqlite3.Connection, layer: Layer, fids: Iterable[int]) -> None:
    """Delete rows; their content stays in the record of changes."""
    connection.executemany(f'DELETE FROM "{layer.name}" WHERE fid = ?', [(fid,) for fid in fids])
    geopackage.touch(connection, layer.name)


def next_fid(connection: sqlite3.Connection, layer: Layer) -> int:
    """Return the fid for the next new row; numbers of removed rows are never used again."""
    return highest_number(connection, layer.name) + 1


def highest_number(connection: sqlite3.Connection, table: str) -> int:
    """Return the highest fid a table ever gave, 0 when it gave none."""
    sql = "SELECT seq FROM sqlite_sequence WHERE name = ?"
    found = connection.execute(sql, (table,)).fetchone()
    return 0 if found is None else int(found[0])


def highest_present(connection: sqlite3.Connection, table: str) -> int:
    """Return the highest fid that is in a table, 0 when it is empty."""
    return int(connection.execute(f'SELECT coalesce(max(fid), 0) FROM "{table}"').fetchone()[0])


def set_highest_number(connection: sqlite3.Connection, table: str, number: int) -> None:
    """Have a table go on after a number when it gives the next."""
    connection.execute("DELETE FROM sqlite_sequence WHERE name = ?", (table,))
    connection.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)", (table, number))


def misplaced(connection: sqlite3.Connection, layer: Layer) -> list[int]:
    """Return fids of rows whose drawn point is not at their x and y."""
    if not layer.from_coordinates:
        return []
    sql = f'SELECT fid, x, y, geom FROM "{layer.name}" ORDER BY fid'
    found = connection.execute(sql).fetchall()
    x, y = (np.array([row[i] for row in found], dtype=float) for i in (1, 2))
    expected = geopackage.encode_points(x, y)
    return [row[0] for row, blob in zip(found, expected, strict=True) if row[3] != blob]
