"""One change of the project: operations that are made and recorded together."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import InputError, StoreError
from moisturemap.store import attachment, frames, record, rows
from moisturemap.store.record import Operation, Signature
from moisturemap.store.schema import LAYERS, Layer
from moisturemap.store.values import from_plain, to_plain


def layer_named(name: str) -> Layer:
    """Return a layer, or refuse with the names there are."""
    try:
        return LAYERS[name]
    except KeyError as error:
        message = "no such layer"
        raise InputError(message, value=name, allowed=", ".join(LAYERS)) from error


_CALLED = {"tests": "hole", "rooms": "name", "readings": "label"}
_ROWS_NAMED = 20


class Change:
    """What one person changes for one reason; nothing of it counts until all of it is done.

    Rows are named by their number (``fid``): readings count from 1 over the survey.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self.operations: list[Operation] = []

    def add(self, layer: str, new: Sequence[Mapping[str, Any]]) -> list[int]:
        """Add rows given by column name and return their numbers.

        Columns the layer does not have are kept too. A geometry is a shapely geometry under
        ``geometry``; that of readings, tests and machines follows from x and y.
        """
        kind = layer_named(layer)
        first = rows.next_fid(self._connection, kind)
        made = [self._row(kind, fid, one) for fid, one in enumerate(new, first)]
        if made:
            self.apply(Operation(layer, kind.names, (), tuple(made)))
        return [row[0] for row in made]

    def correct(self, layer: str, fid: int, changes: Mapping[str, Any]) -> None:
        """Put a corrected row in the place of an old one, which stays in the record."""
        kind = layer_named(layer)
        old = self._existing(kind, fid)
        kept = json.loads(old[kind.names.index("extra")] or "{}")
        extra = {name: from_plain(value) for name, value in kept.items()}
        given = dict(changes)
        if layer == "readings" and "value" in given:
            given.setdefault("raw", _as_text(given["value"]))
            given.setdefault("censored", "")
        if layer == "tests" and extra.get("day_only"):
            days = [name for name in str(extra["day_only"]).split() if name not in given]
            given.setdefault("day_only", " ".join(days))
        new = self._row(kind, fid, {**extra, **dict(zip(kind.names, old, strict=True)), **given})
        if new != old:
            self.apply(Operation(layer, kind.names, (old,), (new,)))

    def remove(self, layer: str, fids: Sequence[int]) -> None:
        """Take rows out of the layer; they stay in the record."""
        kind = layer_named(layer)
        old = tuple(self._existing(kind, fid) for fid in fids)
        if old:
            self.apply(Operation(layer, kind.names, old, ()))

    def apply(self, operation: Operation) -> None:
        """Carry an operation out after checking that the old rows are as expected."""
        kind = layer_named(operation.layer)
        old = {row[0]: list(row) for row in operation.old}
        new = {row[0]: list(row) for row in operation.new}
        for fid, before in old.items():
            if self._existing(kind, fid) != before:
                message = (
                    f"{kind.name} {fid} is no longer as the record has it; it was changed by "
                    "another program. Run `moisturemap check` on the project"
                )
                raise StoreError(message)
        rows.delete(self._connection, kind, [fid for fid in old if fid not in new])
        rows.update(self._connection, kind, [row for fid, row in new.items() if fid in old])
        rows.insert(self._connection, kind, [row for fid, row in new.items() if fid not in old])
        self.operations.append(operation)

    def rows(self, layer: str) -> list[list[Any]]:
        """Return all rows of a layer as they are now, in the order of ``Layer.names``."""
        return rows.read(self._connection, layer_named(layer))

    def next_number(self, layer: str) -> int:
        """Return the number the next new row of a layer gets."""
        return rows.next_fid(self._connection, layer_named(layer))

    def keep(self, content: bytes) -> str:
        """Keep the bytes of a file and return their SHA-256."""
        return attachment.keep_content(self._connection, content)

    def attach(self, kept: attachment.Attachment, of: tuple[str, str], note: str) -> int:
        """Keep a picture or document, of a layer's row when ``of`` names one."""
        if of[0]:
            layer_named(of[0])
        self.keep(kept.content)
        about = {**kept.about, "of_layer": of[0], "of_row": str(of[1]), "note": note}
        return self.add("attachments", [about])[0]

    def require_row(self, name: str, number: str) -> None:
        """Refuse a row that is not there, naming those that are.

        Parameters
        ----------
        name : str
            Layer.
        number : str

        Raises
        ------
        InputError
        """
        layer = layer_named(name)
        there = [dict(zip(layer.names, row, strict=True)) for row in self._all(layer)]
        if any(str(row["fid"]) == number for row in there):
            return
        called = _CALLED.get(name, "fid")
        shown = [f"{row['fid']} ({row[called]})" for row in there[:_ROWS_NAMED]]
        more = f" and {len(there) - len(shown)} more" if len(there) > len(shown) else ""
        raise InputError(
            f"there is no such row in {name}",
            value=number,
            allowed=f"{', '.join(shown)}{more}" if shown else f"{name} holds no row yet",
        )

    def _all(self, layer: Layer) -> list[Any]:
        return list(rows.read(self._connection, layer))

    def _existing(self, layer: Layer, fid: int) -> list[Any]:
        found = rows.read(self._connection, layer, [fid])
        if not found:
            message = f"there is no such row in {layer.name}"
            raise InputError(message, value=fid, allowed="the number of a row that is there")
        return found[0]

    def _row(self, layer: Layer, fid: int, given: Mapping[str, Any]) -> list[Any]:
        known = {name: given[name] for name in layer.names if name in given}
        known["fid"] = fid
        if layer.name in frames.TABLES:
            known = {**frames.blanks(layer, fid), **known}
            if layer.name == "readings":
                known["raw"] = known["raw"] or _as_text(known.get("value"))
        spare = ("extra", "geom", *layer.names)
        extra = {name: to_plain(value) for name, value in given.items() if name not in spare}
        known["extra"] = record.canonical(extra) if extra else None
        made = [
            rows.cell(layer, name, known.get(name))
            for name in layer.names[1:]
            if name != "geometry"
        ]
        if "geometry" in layer.names:
            made.append(_shape(layer, known.get("geometry")))
        return [fid, *made]


def _as_text(value: Any) -> str:
    """Return a value entered as a number the way it would be written down."""
    if value is None or isinstance(value, str):
        return value or ""
    return str(value).removesuffix(".0")


def _shape(layer: Layer, value: BaseGeometry | str | None) -> str | None:
    if value is None or isinstance(value, str):
        return value
    allowed = {"POLYGON": "a polygon"}.get(layer.geometry, "a geometry")
    wrong_type = layer.geometry == "POLYGON" and value.geom_type != "Polygon"
    if wrong_type or value.is_empty or not value.is_valid:
        message = f"the outline cannot be kept: {shapely.is_valid_reason(value)}"
        allowed += " that is valid and not empty"
        raise InputError(message, source=layer.name, allowed=allowed)
    text: str = shapely.to_wkb(shapely.force_2d(value), hex=True, byte_order=1)
    return text


def next_to_undo(connection: sqlite3.Connection) -> int | None:
    """Return the number of the change an undo would take back, or None."""
    return _stacks(connection)[0]


def next_to_redo(connection: sqlite3.Connection) -> int | None:
    """Return the number of the change a redo would make again, or None."""
    return _stacks(connection)[1]


def _stacks(connection: sqlite3.Connection) -> tuple[int | None, int | None]:
    sql = "SELECT change, action, layer FROM record_of_changes ORDER BY fid"
    undo: list[int] = []
    redo: list[int] = []
    seen = 0
    for change, action, layer in connection.execute(sql):
        if change == seen:
            continue
        seen = change
        kind = str(action).rpartition(": ")[0]
        if kind == "undo":
            redo.append(undo.pop())
        elif kind == "redo":
            undo.append(redo.pop())
        elif kind in ("create", "join") or layer == "issued_documents":
            undo.clear()
            redo.clear()
        else:
            undo.append(change)
            redo.clear()
    return (undo[-1] if undo else None), (redo[-1] if redo else None)


def operations_of(connection: sqlite3.Connection, change: int) -> list[Operation]:
    """Return the operations of one change, in order."""
    return [one.operation for one in record.entries(connection, change)]


def already_made(connection: sqlite3.Connection, signature: Signature) -> list[int] | None:
    """Return the rows a change with this request key touched, or None when there is none yet."""
    if not signature.request:
        return None
    sql = "SELECT change FROM record_of_changes WHERE request = ?"
    found = connection.execute(sql, (signature.request,)).fetchone()
    if found is None:
        return None
    return [fid for one in operations_of(connection, found[0]) for fid in one.fids]
