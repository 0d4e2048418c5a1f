"""Opening the SQLite file: refuse what is foreign, damaged or newer; never touch it then."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from moisturemap.errors import StoreError
from moisturemap.store import geopackage, schema

_HEADER_BYTES = 100
_RESTORE = "Restore it from a copy; the file was left as it is"


@contextlib.contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into sentences that say what to do."""
    try:
        yield
    except sqlite3.Error as error:
        text = str(error).lower()
        advice = "Nothing was changed"
        if "full" in text:
            advice = "Free some space and try again; what was saved before is kept, this is not"
        elif "locked" in text or "busy" in text:
            advice = "Another program is writing to it; close it there and try again"
        elif "readonly" in text:
            advice = "Copy it to a folder you may write in"
        elif "malformed" in text or "not a database" in text:
            advice = f"It is damaged. {_RESTORE}"
        message = f"{path}: {error}. {advice}"
        raise StoreError(message) from error


def look_at_header(path: Path) -> None:
    """Refuse a file whose first bytes already show that it cannot be a project file."""
    if not path.is_file():
        message = f"{path}: no such file. Give the path of a project file (.gpkg)"
        raise StoreError(message)
    with path.open("rb") as file:
        header = file.read(_HEADER_BYTES)
    if header[:16] != b"SQLite format 3\x00":
        message = (
            f"{path}: not a project file (its first bytes are not those of a GeoPackage). Choose a "
            ".gpkg written by moisturemap, or make one from a survey folder with `moisturemap pack`"
        )
        raise StoreError(message)
    page = int.from_bytes(header[16:18], "big")
    page = 65536 if page == 1 else page
    pages, size = int.from_bytes(header[28:32], "big"), path.stat().st_size
    if len(header) < _HEADER_BYTES or (pages and size < page * pages):
        message = (
            f"{path}: the file is cut short ({size:,} bytes, it should have {page * pages:,}). "
            f"Perhaps a copy or download broke off. {_RESTORE}"
        )
        raise StoreError(message)
    if int.from_bytes(header[68:72], "big") != geopackage.APPLICATION_ID:
        message = f"{path}: an SQLite file, but not a GeoPackage, so not a project file"
        raise StoreError(message)


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA busy_timeout = 3000")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def finish_interrupted_write(path: Path) -> None:
    """Let SQLite roll back a write that a crash broke off (a journal was left beside the file)."""
    journal = path.with_name(path.name + "-journal")
    if not journal.exists() or journal.stat().st_size == 0:
        return
    if not os.access(path, os.W_OK) or not os.access(path.parent, os.W_OK):
        message = (
            f"{path}: the last write was broken off and must be rolled back first. Copy the file "
            f"together with {journal.name} to a folder you may write in and open it there"
        )
        raise StoreError(message)
    with contextlib.closing(_connect(path, "rw")) as connection:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()


def open_checked(path: Path, *, writable: bool) -> sqlite3.Connection:
    """Open a project file after looking at its header, structure, links and version.

    Raises
    ------
    StoreError
        If the file is foreign, damaged or written by a newer version.
    """
    look_at_header(path)
    with translated(path):
        finish_interrupted_write(path)
        connection = _connect(path, "rw" if writable else "ro")
        try:
            _check(path, connection)
            if writable:
                _prepare_for_writing(path, connection)
        except BaseException:
            connection.close()
            raise
    return connection


def _check(path: Path, connection: sqlite3.Connection) -> None:
    faults = [row[0] for row in connection.execute("PRAGMA integrity_check(3)")]
    if faults != ["ok"]:
        message = f"{path}: the file is damaged ({faults[0]}). {_RESTORE}"
        raise StoreError(message)
    found = connection.execute(
        "SELECT count(*) FROM sqlite_master WHERE name = 'moisturemap_migrations'"
    ).fetchone()
    if not found[0]:
        message = (
            f"{path}: a GeoPackage, but not a project file of moisturemap. If it holds a floor "
            "plan, name it as the plan of a survey instead"
        )
        raise StoreError(message)
    try:
        schema.missing(connection)
    except StoreError as error:
        message = f"{path}: {error}"
        raise StoreError(message) from error
    broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    if broken is not None:
        table, row, parent = broken[0], broken[1], broken[2]
        message = f"{path}: {table} {row} refers to a row of {parent} that is missing. {_RESTORE}"
        raise StoreError(message)


def _prepare_for_writing(path: Path, connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA synchronous = FULL")
    needed = schema.missing(connection)
    if needed:
        save_copy(connection, path.with_name(f"{path.stem}.before-{needed[-1][:4]}{path.suffix}"))
        with transaction(connection):
            schema.migrate(connection)


def create(path: Path) -> sqlite3.Connection:
    """Create an empty project file; the path must not exist yet."""
    if path.exists():
        message = f"{path}: already exists. Choose another name; nothing is overwritten"
        raise StoreError(message)
    with translated(path):
        connection = _connect(path, "rwc")
        try:
            connection.execute("PRAGMA journal_mode = DELETE")
            connection.execute("PRAGMA synchronous = FULL")
            with transaction(connection):
                geopackage.create_tables(connection)
                schema.migrate(connection)
        except BaseException:
            connection.close()
            path.unlink(missing_ok=True)
            raise
    return connection


@contextlib.contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All of it or nothing of it."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def save_copy(connection: sqlite3.Connection, path: Path) -> None:
    """Write a compact, complete copy; the path must not exist yet."""
    if path.exists():
        message = f"{path}: already exists. Choose another name; nothing is overwritten"
        raise StoreError(message)
    with translated(path):
        try:
            connection.execute("VACUUM INTO ?", (str(path),))
        except sqlite3.Error:
            path.unlink(missing_ok=True)  # half a copy is no copy
            raise
