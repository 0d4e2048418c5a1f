"""A new project file from the record of changes of one that is damaged or was tampered with.

Method: docs/method/record.md.
"""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from moisturemap.errors import StoreError
from moisturemap.store import attachment, connection, record, rows, schema
from moisturemap.store.project import new_project
from moisturemap.store.record import Head, RecordEntry
from moisturemap.store.schema import LAYERS, Layer


@dataclass(frozen=True, slots=True)
class Recovery:
    """What a recovery brought back.

    Attributes
    ----------
    head : Head
        End of the record in the new file.
    rows : int
        Rows of all layers in it.
    losses : tuple of str
        What could not be brought back, in sentences; empty when all was.
    """

    head: Head
    rows: int
    losses: tuple[str, ...]


def recover(source: str | Path, target: str | Path) -> Recovery:
    """Write a new project file whose layers are those the record of another leads to.

    The record is taken over as it stands, up to the first entry that cannot be read or does not
    follow from the one before. Kept files are taken over where their bytes still have their
    SHA-256. The source is left as it is.

    Parameters
    ----------
    source, target : str or Path
        Damaged project file, and the file to write; the latter must not exist.

    Raises
    ------
    StoreError
        If not one entry of the record can be read, or the target exists or cannot be written.
    """
    source, target = Path(source), Path(target)
    with _readable_copy(source) as old, new_project(target) as project:
        new = project._connection
        losses: list[str] = []
        _refuse_newer(old)
        entries = _sound_entries(old, losses)
        if not entries:
            why = f" ({losses[0]})" if losses else ""
            message = f"{source}: its record of changes cannot be read{why}; restore it from a copy"
            raise StoreError(message)
        with connection.transaction(new):
            _take_files(old, new, entries, losses)
            for entry in entries:
                record.insert(new, entry)
            count = sum(_rebuild(new, layer, entries) for layer in LAYERS.values())
        return Recovery(record.head(new), count, tuple(losses))


def _refuse_newer(old: sqlite3.Connection) -> None:
    """Refuse a file of a newer version: what only that one knows would be left out."""
    try:
        done = schema.applied(old)
    except sqlite3.Error:  # the list itself is damaged: the record says what there is
        return
    schema.refuse_newer(done)


@contextlib.contextmanager
def _readable_copy(source: Path) -> Iterator[sqlite3.Connection]:
    """Open a copy with its journal, so that SQLite may roll back a write that broke off."""
    if not source.is_file():
        message = f"{source}: no such file. Give the path of a project file (.gpkg)"
        raise StoreError(message)
    with tempfile.TemporaryDirectory() as folder, connection.translated(source):
        copy = Path(folder) / "copy.gpkg"
        shutil.copyfile(source, copy)
        journal = source.with_name(source.name + "-journal")
        if journal.exists():
            shutil.copyfile(journal, copy.with_name("copy.gpkg-journal"))
        with contextlib.closing(sqlite3.connect(copy, isolation_level=None)) as opened:
            opened.execute("PRAGMA trusted_schema = OFF")
            yield opened


def _sound_entries(old: sqlite3.Connection, losses: list[str]) -> list[RecordEntry]:
    """Return the entries from the first on that can be read and follow from one another."""
    sound: list[RecordEntry] = []
    previous = "0" * 64
    try:
        for entry in record.entries(old):
            follows = entry.number == len(sound) + 1 and entry.previous == previous
            if not follows or entry.hash != entry.expected_hash:
                losses.append(f"entry {len(sound) + 1} of the record was changed or is missing")
                break
            sound.append(entry)
            previous = entry.hash
    except (sqlite3.Error, StoreError, ValueError, TypeError) as error:
        losses.append(f"entry {len(sound) + 1} of the record cannot be read: {error}")
    last = _given_out(old, "record_of_changes")
    if last > len(sound):
        losses.append(
            f"the record once had {last} entries; the {last - len(sound)} after entry "
            f"{len(sound)} are not in the new file"
        )
    return sound


def _given_out(old: sqlite3.Connection, table: str) -> int:
    """Return the highest number a table ever gave, or 0 when that cannot be read either."""
    try:
        return rows.highest_number(old, table)
    except (sqlite3.Error, ValueError, TypeError):
        return 0


def _take_files(
    old: sqlite3.Connection,
    new: sqlite3.Connection,
    entries: list[RecordEntry],
    losses: list[str],
) -> None:
    """Take over the bytes of kept files; of one that is lost the place is kept, and told."""
    needed = {
        dict(zip(operation.columns, row, strict=True))["sha256"]
        for entry in entries
        if entry.layer in ("attachments", "issued_documents")
        for operation in (entry.operation,)
        for row in (*operation.old, *operation.new)
    }
    for seal in sorted(needed):
        try:
            content = attachment.content_of(old, seal)
        except (sqlite3.Error, StoreError, TypeError) as error:
            losses.append(f"a kept file is lost: {error}")
            content = b""
        new.execute("INSERT INTO file_contents (sha256, content) VALUES (?, ?)", (seal, content))


def _rebuild(new: sqlite3.Connection, layer: Layer, entries: list[RecordEntry]) -> int:
    """Write the rows of a layer the record leads to; numbers once given are not given again."""
    state = record.replay(entries, layer)
    rows.insert(new, layer, list(state.values()))
    given = [one.highest_row for one in entries if one.layer == layer.name]
    if given:
        rows.set_highest_number(new, layer.name, max(given))
    return len(state)
