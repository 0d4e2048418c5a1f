"""Opening the SQLite file: refuse what is foreign, damaged or newer; never touch it then."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from moisturemap.errors import OutputError, StoreError
from moisturemap.outputs import new_file
from moisturemap.store import geopackage, schema
from moisturemap.store.strangers import strangers

_HEADER_BYTES = 100
_RESTORE = (
    "Restore it from a copy, or try `moisturemap recover`, which writes what can still be read "
    "into a new file; this one was left as it is"
)
REBUILD = (
    "`moisturemap recover` writes a new file from its record of changes; this one was left as it is"
)
"""What to do about a file whose tables are not as the record led to."""


@contextlib.contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into sentences that say what to do."""
    try:
        yield
    except UnicodeDecodeError as error:
        message = f"{path}: a text in it is damaged (byte {error.start} is no UTF-8). {_RESTORE}"
        raise StoreError(message) from error
    except sqlite3.Error as error:
        text = str(error).lower()
        advice = "Nothing was changed"
        if "full" in text:
            advice = "Free some space and try again; what was saved before is kept, this is not"
        elif "locked" in text or "busy" in text:
            advice = "Another program is writing to it; close it there and try again"
        elif "i/o" in text:
            advice = (
                "The disk failed, or takes no file of this size. Check it and try again; what was "
                "saved before is kept, this is not"
            )
        elif "readonly" in text:
            advice = "Copy it to a folder you may write in"
        elif any(word in text for word in ("malformed", "not a database", "could not decode")):
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
    damage = _damage(connection)
    if damage:
        message = f"{path}: the file is damaged ({damage}). {_RESTORE}"
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
    for stranger in strangers(connection):
        if stranger.blocks_reading:
            message = f"{path}: {stranger.sentence}. {REBUILD}"
            raise StoreError(message)
    broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    if broken is not None:
        table, row, parent = broken[0], broken[1], broken[2]
        message = f"{path}: {table} {row} refers to a row of {parent} that is missing. {REBUILD}"
        raise StoreError(message)


def _damage(connection: sqlite3.Connection) -> str:
    """Return the first fault in the structure of the file, or "".

    The answer may quote damaged bytes of the file, which are no text.
    """
    connection.text_factory = lambda content: content.decode("utf-8", "replace")
    try:
        (first,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    finally:
        connection.text_factory = str
    return "" if first == "ok" else " ".join(first.split())[:200]


def _prepare_for_writing(path: Path, connection: sqlite3.Connection) -> None:
    for stranger in strangers(connection):
        message = (
            f"{path}: {stranger.sentence}. Nothing is written into such a file; it can be read. "
            f"{REBUILD}"
        )
        raise StoreError(message)
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA synchronous = FULL")
    needed = schema.missing(connection)
    if needed:
        save_copy(connection, _free_name(path, f"before-{needed[-1][:4]}"))
        with transaction(connection):
            schema.migrate(connection)


def _free_name(path: Path, word: str) -> Path:
    """Return a name beside the file that nothing has yet."""
    names = (
        f"{path.stem}.{word}{number}{path.suffix}"
        for number in ("", *map("-{}".format, range(2, 1000)))
    )
    return next(one for name in names if not (one := path.with_name(name)).exists())


@contextlib.contextmanager
def created(path: Path) -> Iterator[sqlite3.Connection]:
    """Yield an empty project file written beside its path, to be filled before it stands there.

    Raises
    ------
    StoreError
        If the path is taken or cannot be written; nothing is left behind then.
    """
    with (
        _placed(path) as unfinished,
        translated(path),
        contextlib.closing(_connect(unfinished, "rwc")) as connection,
    ):
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA synchronous = FULL")
        with transaction(connection):
            geopackage.create_tables(connection)
            schema.migrate(connection)
        yield connection


@contextlib.contextmanager
def _placed(path: Path) -> Iterator[Path]:
    try:
        with new_file(path) as unfinished:
            yield unfinished
    except OutputError as error:
        raise StoreError(str(error)) from error


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
    with _placed(path) as unfinished, translated(path):
        connection.execute("VACUUM INTO ?", (str(unfinished),))
