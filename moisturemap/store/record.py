"""The record of changes: who, when, why, old and new; each entry sealed by the one before.

Every entry carries SHA-256 over its own content and over the hash of the entry before it. The
content holds whole rows, old and new, so the layers can be rebuilt from the record alone.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from moisturemap.errors import StoreError
from moisturemap.store.change_words import difference_words, entry_words
from moisturemap.store.schema import Layer

WHAT_THE_RECORD_PROVES = (
    "The record of changes is a chain: each entry carries a SHA-256 over its content and over the "
    "entry before it. It shows that the rows are those the record led to, and that no entry was "
    "changed, taken out or put in since the head printed in a document was issued. It does not "
    "show that a value was measured rightly, who sat at the keyboard or that the computer's clock "
    "was right; and whoever rewrites the whole record can make it agree with itself again, which "
    "only a head kept elsewhere, such as in an issued document, will bring to light."
)

LARGEST_CONTENT = 1_000_000_000
"""Longest content of one entry [bytes]; guards against one that unpacks to fill the memory."""

BROUGHT = "brought"
"""First word of the request key of a change made in a copy of the job; its hash and time follow."""

_PACK_ABOVE = 4000
"""Content longer than this [characters] is kept compressed."""


@dataclass(frozen=True, slots=True)
class Operation:
    """Rows of one layer before and after: added (no old), removed (no new) or corrected."""

    layer: str
    columns: tuple[str, ...]
    old: tuple[Sequence[Any], ...] = ()
    new: tuple[Sequence[Any], ...] = ()

    @property
    def action(self) -> str:
        """``add``, ``remove`` or ``correct``."""
        return "correct" if self.old and self.new else "add" if self.new else "remove"

    @property
    def fids(self) -> tuple[int, ...]:
        """Rows it touches."""
        return tuple(row[0] for row in (self.new or self.old))

    def reversed(self) -> Operation:
        """Return the operation that takes this one back."""
        return Operation(self.layer, self.columns, self.new, self.old)


@dataclass(frozen=True, slots=True)
class Signature:
    """Who makes a change and why.

    Attributes
    ----------
    who, why : str
    request : str
        A key of the caller's own; a change with a key already in the record is not made again.
    kind : str
        ``create``, ``change``, ``undo``, ``redo``, or ``join`` of what a copy held otherwise.
    undoes : int or None
        Number of the change an undo takes back, or a redo makes again.
    """

    who: str
    why: str = ""
    request: str = ""
    kind: str = "change"
    undoes: int | None = None


@dataclass(frozen=True, slots=True)
class RecordEntry:
    """One entry of the record.

    ``number`` counts entries from 1, ``change`` the changes they belong to; ``action`` is
    ``add``, ``correct`` or ``remove``; ``content`` is JSON with ``columns``, ``old`` and ``new``.
    """

    number: int
    change: int
    made: str
    signature: Signature
    action: str
    layer: str
    row_ids: str
    content: str
    previous: str
    hash: str

    @property
    def operation(self) -> Operation:
        """Rows before and after."""
        content = json.loads(self.content)
        old, new = tuple(content["old"]), tuple(content["new"])
        return Operation(self.layer, tuple(content["columns"]), old, new)

    @property
    def keyed(self) -> str:
        """When it was made first: of a change brought in from a copy of the job, there."""
        brought = self.signature.request.split()
        return brought[2] if brought[:1] == [BROUGHT] else self.made

    @property
    def highest_row(self) -> int:
        """Highest number among the rows it touches; 0 when it touches none."""
        return max(map(int, re.findall(r"\d+", self.row_ids)), default=0)

    @property
    def expected_hash(self) -> str:
        """The hash this entry must have."""
        sign = self.signature
        content = hashlib.sha256(self.content.encode()).hexdigest()
        signed = [sign.who, sign.why, sign.request, sign.kind, sign.undoes]
        parts = [
            self.number,
            self.change,
            self.made,
            *signed,
            self.action,
            self.layer,
            self.row_ids,
            content,
            self.previous,
        ]
        return hashlib.sha256(canonical(parts).encode()).hexdigest()

    @property
    def sentence(self) -> str:
        """What was done, for people."""
        operation = self.operation
        named = [
            dict(zip(operation.columns, row, strict=True)) for row in operation.new or operation.old
        ]
        text = entry_words(self.action, self.layer, named, self.row_ids)
        if self.action == "correct" and len(named) == 1:
            old = dict(zip(operation.columns, operation.old[0], strict=True))
            told = difference_words(self.layer, old, named[0])
            text += f": {told}" if told else ""
        return text


@dataclass(frozen=True, slots=True)
class Head:
    """The end of the record: number of entries and hash of the last."""

    number: int
    hash: str
    made: str = ""

    def __str__(self) -> str:
        return f"entry {self.number}, {self.hash}"


def canonical(content: Any) -> str:
    """Return JSON that is the same for the same content, everywhere."""
    return json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def ranges(numbers: Sequence[int]) -> str:
    """Write whole numbers briefly: ``1-4, 9``."""
    parts: list[list[int]] = []
    for number in sorted(numbers):
        if parts and number == parts[-1][1] + 1:
            parts[-1][1] = number
        else:
            parts.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in parts)


def append(
    connection: sqlite3.Connection, signature: Signature, operations: Sequence[Operation]
) -> int:
    """Write one change, an entry for each operation; return its number."""
    before = head(connection)
    sql = "SELECT coalesce(max(change), 0) FROM record_of_changes"
    change = int(connection.execute(sql).fetchone()[0]) + 1
    made = datetime.now(UTC).isoformat(timespec="milliseconds")
    number, previous = before.number, before.hash
    for operation in operations:
        number += 1
        content = canonical(
            {"columns": operation.columns, "old": operation.old, "new": operation.new}
        )
        row_ids = ranges(operation.fids)
        entry = RecordEntry(
            number,
            change,
            made,
            signature,
            operation.action,
            operation.layer,
            row_ids,
            content,
            previous,
            "",
        )
        previous = entry.expected_hash
        insert(connection, replace(entry, hash=previous))
    return change


def insert(connection: sqlite3.Connection, entry: RecordEntry) -> None:
    """Write one entry as it is."""
    large = len(entry.content) > _PACK_ABOVE
    packed = zlib.compress(entry.content.encode(), 3) if large else None
    sign = entry.signature
    action = entry.action if sign.kind == "change" else f"{sign.kind}: {entry.action}"
    connection.execute(
        "INSERT INTO record_of_changes VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            entry.number,
            entry.change,
            entry.made,
            sign.who,
            sign.why,
            action,
            entry.layer,
            entry.row_ids,
            None if large else entry.content,
            packed,
            sign.request,
            sign.undoes,
            entry.previous,
            entry.hash,
        ),
    )


def head(connection: sqlite3.Connection) -> Head:
    """Return the end of the record."""
    sql = "SELECT fid, hash, made FROM record_of_changes ORDER BY fid DESC LIMIT 1"
    found = connection.execute(sql).fetchone()
    return Head(0, "0" * 64) if found is None else Head(*found)


def entries(
    connection: sqlite3.Connection, change: int | None = None, layer: str | None = None
) -> Iterator[RecordEntry]:
    """Yield the record from its beginning, or the entries of one change or one layer.

    Raises
    ------
    StoreError
        If an entry cannot even be read.
    """
    sql = (
        "SELECT fid, change, made, who, why, action, layer, row_ids, content, packed, request,"
        " undoes, previous, hash FROM record_of_changes"
        " WHERE (?1 IS NULL OR change = ?1) AND (?2 IS NULL OR layer = ?2) ORDER BY fid"
    )
    for row in connection.execute(sql, (change, layer)):
        (
            number,
            change,
            made,
            who,
            why,
            action,
            layer,
            row_ids,
            content,
            packed,
            request,
            undoes,
            previous,
            seal,
        ) = row
        try:
            text = content if packed is None else _unpacked(packed)
        except (zlib.error, UnicodeDecodeError) as error:
            message = f"record of changes, entry {number}: its content is damaged"
            raise StoreError(message) from error
        kind, _, done = str(action).rpartition(": ")
        signature = Signature(who, why, request, kind or "change", undoes)
        yield RecordEntry(
            number, change, made, signature, done, layer, row_ids, text, previous, seal
        )


def _unpacked(packed: bytes) -> str:
    unpacker = zlib.decompressobj()
    text = unpacker.decompress(packed, LARGEST_CONTENT)
    if not unpacker.eof:
        message = "too large or cut short"
        raise zlib.error(message)
    return text.decode()


def replay(found: Sequence[RecordEntry], layer: Layer) -> dict[int, list[Any]]:
    """Return the rows of a layer that the entries lead to, by fid, in order of fid."""
    state: dict[int, list[Any]] = {}
    for entry in found:
        if entry.layer != layer.name:
            continue
        operation = entry.operation
        for row in operation.old:
            state.pop(row[0], None)
        plain = operation.columns == layer.names
        for row in operation.new:
            values = row if plain else _in_order(operation.columns, row, layer)
            state[row[0]] = list(values)
    return dict(sorted(state.items()))


def _in_order(columns: Sequence[str], row: Sequence[Any], layer: Layer) -> list[Any]:
    named = dict(zip(columns, row, strict=True))
    return [named.get(name) for name in layer.names]
