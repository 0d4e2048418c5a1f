"""The project file of a job: read, change, undo, copy, verify."""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import sqlite3
import threading
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

import pandas as pd
from shapely.errors import ShapelyError

from moisturemap.errors import InputError, StoreError
from moisturemap.outputs import sweep
from moisturemap.store import attachment, connection, record, rows, survey_rows
from moisturemap.store.backup import back_up
from moisturemap.store.change import (
    Change,
    already_made,
    layer_named,
    next_to_redo,
    next_to_undo,
    operations_of,
)
from moisturemap.store.edits import Edits
from moisturemap.store.former import changed_before, former
from moisturemap.store.lock import WriterLock
from moisturemap.store.record import Head, RecordEntry, Signature
from moisturemap.store.schema import LAYERS
from moisturemap.store.verification import Verification, verify
from moisturemap.survey import Survey

SURVEY_LAYERS = tuple(name for name in LAYERS if name not in ("attachments", "issued_documents"))
Rows = Sequence[Mapping[str, Any]] | pd.DataFrame


class Project(Edits):
    """An open project file; made by :func:`open_project` and :func:`create_project`.

    Every method that changes something takes ``who`` and ``why`` and is written to the record in
    the same transaction. May be used from several threads.
    """

    def __init__(self, path: Path, opened: sqlite3.Connection, lock: WriterLock | None) -> None:
        self.path = path
        self._connection = opened
        self._lock = lock
        self._turn = threading.RLock()
        self._file = _identity(path)

    @property
    def writable(self) -> bool:
        """True when this is the one that may change the file."""
        return self._lock is not None

    def __enter__(self) -> Project:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file and let others write; harmless when done twice."""
        with self._turn:
            self._connection.close()
            if self._lock is not None:
                self._lock.release()

    @contextlib.contextmanager
    def alone(self) -> Iterator[None]:
        """Let nobody else read or write in between: what was looked up holds when it is written.

        Whoever looks several times takes one turn by it in place of one for each look.
        """
        with self._turn:
            yield

    # Reading

    @contextlib.contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with self._turn, connection.translated(self.path):
            self._refuse_replaced()
            self._connection.execute("BEGIN")
            try:
                yield self._connection
            finally:
                self._connection.execute("ROLLBACK")

    def survey(self, at: int | None = None) -> Survey:
        """Return the survey as it is, or as it was after an entry of the record."""
        with self._reading() as opened, self._understood():
            state, head = _state(opened, at)
            survey = survey_rows.to_survey(state)
            before = former(opened, state, at)
        options = {
            **survey.provenance.options,
            "project": self.path.name,
            "record_number": head.number,
            "record_hash": head.hash,
        }
        provenance = dataclasses.replace(survey.provenance, options=options)
        return dataclasses.replace(survey, provenance=provenance, folder=self.path, **before)

    def changed_before(self) -> dict[str, Any]:
        """Return what was changed and may speak against the floor, as plain types for JSON."""
        with self._reading() as opened, self._understood():
            state, _ = _state(opened, None)
            return changed_before(opened, survey_rows.settings_of(state["settings"]))

    @contextlib.contextmanager
    def _understood(self) -> Iterator[None]:
        """Tell a row that cannot be understood; foreign programs may have written any of them."""
        try:
            yield
        except (StoreError, sqlite3.Error):
            raise
        except (ValueError, TypeError, LookupError, AttributeError, ShapelyError) as error:
            message = (
                f"{self.path}: a row cannot be understood ({error}). Run `moisturemap check` to "
                "see what another program changed"
            )
            raise StoreError(message) from error

    def rows(self, layer: str) -> list[dict[str, Any]]:
        """Return the rows of a layer by column name; ``fid`` is the number to change them by."""
        kind = layer_named(layer)
        with self._reading() as opened:
            return [dict(zip(kind.names, row, strict=True)) for row in rows.read(opened, kind)]

    def counts(self, layer: str, name: str) -> dict[Any, int]:
        """Return how many rows of a layer there are by what stands in one of its columns."""
        with self._reading() as opened:
            return rows.counts(opened, layer_named(layer), name)

    def settings(self) -> dict[str, Any]:
        """Return the settings by key."""
        with self._reading() as opened:
            return survey_rows.settings_of(rows.read(opened, LAYERS["settings"]))

    def data_sha256(self, at: int | None = None) -> str:
        """Return the fingerprint of all that was measured and drawn, now or after an entry."""
        with self._reading() as opened:
            state, _ = _state(opened, at)
        return hashlib.sha256(record.canonical(state).encode()).hexdigest()

    def content(self, sha256: str) -> bytes:
        """Return the bytes of an attachment or issued document by its SHA-256."""
        with self._reading() as opened:
            return attachment.content_of(opened, sha256)

    def record(self) -> list[RecordEntry]:
        """Return the record of changes from its beginning."""
        with self._reading() as opened, self._understood():
            return list(record.entries(opened))

    def head(self) -> Head:
        """Return the end of the record, to be printed in reports."""
        with self._reading() as opened:
            return record.head(opened)

    def last_changes(self) -> dict[str, str]:
        """Return, by layer, the hash of the last entry of the record that changed it.

        A hash rests on all entries before it, so that equal ones mean equal data in any copy.
        """
        last = "SELECT max(fid) FROM record_of_changes GROUP BY layer"
        sql = f"SELECT layer, hash FROM record_of_changes WHERE fid IN ({last})"
        with self._reading() as opened:
            return {str(layer): str(sealed) for layer, sealed in opened.execute(sql)}

    def hash_of(self, number: int) -> str:
        """Return the hash of an entry of the record, "" where it has none of that number."""
        sql = "SELECT hash FROM record_of_changes WHERE fid = ?"
        with self._reading() as opened:
            found = opened.execute(sql, (number,)).fetchone()
        return "" if found is None else str(found[0])

    def verify(self) -> Verification:
        """Return whether the file still holds what its record led to."""
        with self._reading() as opened:
            return verify(opened)

    def writes_by_others(self) -> int:
        """Return a number that another program's writing to the file changes."""
        with self._reading() as opened:
            return int(opened.execute("PRAGMA data_version").fetchone()[0])

    def save_copy(self, path: str | Path) -> None:
        """Write a compact, complete copy of the file; the path must not exist yet."""
        with self._turn:
            connection.save_copy(self._connection, Path(path))

    # Changing

    @contextlib.contextmanager
    def change(self, who: str, why: str = "", request: str = "") -> Iterator[Change]:
        """Make several operations one change: all of them or none, recorded together.

        ``request`` is a key of the caller's own, for an answer that got lost on the way: when a
        change with that key is in the record already, ``InputError`` is raised.
        """
        with self._writing(Signature(who, why, request)) as made:
            yield made

    @contextlib.contextmanager
    def _writing(self, signature: Signature) -> Iterator[Change]:
        if not self.writable:
            message = f"{self.path}: opened read-only. Open it for writing to change it"
            raise StoreError(message)
        if not signature.who.strip():
            message = "say who makes the change"
            raise InputError(message, value=signature.who, allowed="a name")
        with self._turn, connection.translated(self.path), self._transaction():
            if already_made(self._connection, signature) is not None:
                message = "this change has been made already"
                raise InputError(message, value=signature.request, allowed="a new request key")
            made = Change(self._connection)
            yield made
            if made.operations:
                record.append(self._connection, signature, made.operations)

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        """All of it or nothing of it, in the file that stands at the path."""
        if self._lock is not None:
            self._lock.still_held()
        self._refuse_replaced()
        back_up(self.path, self._connection)
        with connection.transaction(self._connection):
            yield

    def _refuse_replaced(self) -> None:
        """Refuse to go on with a file that another one took the place of, unseen by SQLite."""
        if _identity(self.path) != self._file:
            message = (
                f"{self.path}: another program replaced, moved or deleted the file since it was "
                "opened (a program that keeps folders in step does so). Close it, look which of "
                "the copies is the right one, and open that; nothing was written"
            )
            raise StoreError(message)

    def rows_of_request(self, request: str) -> list[int] | None:
        """Return the rows the change with that request key touched, or None when there is none."""
        with self._reading() as opened:
            return already_made(opened, Signature("", request=request))

    def next_undone(self) -> list[RecordEntry]:
        """Return what an undo would take back, empty where nothing is left."""
        return self._next(next_to_undo)

    def next_redone(self) -> list[RecordEntry]:
        """Return what a redo would make again, empty where nothing is left."""
        return self._next(next_to_redo)

    def _next(self, pick: Callable[[sqlite3.Connection], int | None]) -> list[RecordEntry]:
        with self._reading() as opened:
            change = pick(opened)
            return [] if change is None else list(record.entries(opened, change))

    def undo(self, who: str) -> list[RecordEntry]:
        """Take the last change back, as a new change; return what was taken back."""
        return self._again(who, "undo")

    def redo(self, who: str) -> list[RecordEntry]:
        """Make the change undone last again, as a new change; return what was made again."""
        return self._again(who, "redo")

    def _again(self, who: str, kind: str) -> list[RecordEntry]:
        with self._turn:
            pick = next_to_undo if kind == "undo" else next_to_redo
            change = pick(self._connection)
            if change is None:
                message = f"there is nothing to {kind}"
                raise StoreError(message)
            signature = Signature(who, f"{kind} of change {change}", "", kind, change)
            operations = operations_of(self._connection, change)
            with self._writing(signature) as made:
                for one in reversed(operations) if kind == "undo" else operations:
                    made.apply(one.reversed() if kind == "undo" else one)
            return list(record.entries(self._connection, change))


def _identity(path: Path) -> tuple[int, int] | None:
    """Return what tells a file from another one of the same name."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino


def _state(opened: sqlite3.Connection, at: int | None) -> tuple[dict[str, list[rows.Row]], Head]:
    """Return the rows the survey is made of, and the end of the record they go with."""
    if at is None:
        state = {name: rows.read(opened, LAYERS[name]) for name in SURVEY_LAYERS}
        return state, record.head(opened)
    found = [entry for entry in record.entries(opened) if entry.number <= at]
    state = {name: list(record.replay(found, LAYERS[name]).values()) for name in SURVEY_LAYERS}
    return state, Head(found[-1].number, found[-1].hash, found[-1].made)


@contextlib.contextmanager
def new_project(path: Path) -> Iterator[Project]:
    """Yield a project to fill; the file stands at its path when all of it was written.

    Raises
    ------
    StoreError
        If the path exists or cannot be written; nothing is left behind then.
    """
    lock = WriterLock(path)
    try:
        sweep(path)
        with connection.created(path) as opened:
            yield Project(path, opened, lock)
    finally:
        lock.release()


def create_project(path: str | Path, name: str, who: str = "", *, timezone: str = "") -> Project:
    """Create a project file without rows and open it for writing.

    Parameters
    ----------
    path : str or Path
    name : str
        Name of the survey.
    who : str
        Name of the person.
    timezone : str
        Zone of times that state none: an IANA name or an offset.

    Raises
    ------
    StoreError
        If the path exists or cannot be written.
    """
    path = Path(path)
    signature = Signature(who or "moisturemap", "project created", kind="create")
    with new_project(path) as project, project._writing(signature) as made:
        settings = {"name": name, "project": uuid.uuid4().hex}
        settings |= {"timezone": timezone} if timezone else {}
        made.add("settings", [survey_rows.setting(key, one) for key, one in settings.items()])
    return open_project(path, writable=True)


def open_project(path: str | Path, *, writable: bool = False, wait_s: float = 0.0) -> Project:
    """Open a project file.

    Parameters
    ----------
    path : str or Path
    writable : bool
        Take the right to change it; one holder at a time. Read-only opening always works.
    wait_s : float
        How long to wait for another writer to end [s].

    Raises
    ------
    StoreError
        If it is foreign, damaged or newer (it is left untouched), or open for writing elsewhere.
    """
    path = Path(path)
    connection.look_at_header(path)
    lock = WriterLock(path, wait_s) if writable else None
    try:
        if writable:
            sweep(path)  # a writer killed just after its file stood left a second name of it
        return Project(path, connection.open_checked(path, writable=writable), lock)
    except BaseException:
        if lock is not None:
            lock.release()
        raise


def read_project(path: str | Path) -> Survey:
    """Return the survey a project file holds, held against its record of changes.

    Parameters
    ----------
    path : str or Path
    """
    with open_project(path) as project:
        faults = tuple(fault.sentence for fault in project.verify().faults)
        return dataclasses.replace(project.survey(), record_faults=faults)
