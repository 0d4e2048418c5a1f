"""One writer at a time: a lock the operating system drops when the writer ends or dies."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from moisturemap.errors import StoreError

_OWNER_AT = 16
"""The locked byte is the first; the owner's note starts here, so that others may read it."""


def _lock_windows(file: BinaryIO) -> None:
    import msvcrt

    file.seek(0)
    getattr(msvcrt, "locking")(file.fileno(), getattr(msvcrt, "LK_NBLCK"), 1)  # noqa: B009


def _lock_posix(file: BinaryIO) -> None:
    import fcntl

    fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


_take: Callable[[BinaryIO], None] = _lock_windows if sys.platform == "win32" else _lock_posix


class WriterLock:
    """The right to change one project file, held until :meth:`release`.

    Raises
    ------
    StoreError
        If another process or program part holds it, or the folder cannot be written.
    """

    def __init__(self, project: Path, wait_s: float = 0.0) -> None:
        self.path = project.with_name(project.name + ".lock")
        self._file = self._acquire(project, time.monotonic() + wait_s)

    def _acquire(self, project: Path, deadline: float) -> BinaryIO:
        while True:
            try:
                file = self._try()
            except OSError as error:
                message = (
                    f"{project}: the folder cannot be written ({error.strerror}). Open the project "
                    "read-only, or copy it to a folder you may write in"
                )
                raise StoreError(message) from error
            if file is not None:
                return file
            if time.monotonic() >= deadline:
                message = (
                    f"{project}: the project is open for writing elsewhere{self._owner()}. Close "
                    "it there first, or open it read-only here; one writer at a time"
                )
                raise StoreError(message)
            time.sleep(0.02)

    def _try(self) -> BinaryIO | None:
        file = self.path.open("a+b")
        try:
            _take(file)
            # Another holder may have removed the file between our opening and our locking it.
            same = os.path.samestat(os.fstat(file.fileno()), self.path.stat())
        except (BlockingIOError, PermissionError, FileNotFoundError):
            same = False
        if not same:
            file.close()
            return None
        note = {"process": os.getpid(), "computer": platform.node()}
        note["since"] = datetime.now(UTC).isoformat(timespec="seconds")
        file.truncate(0)
        file.write(b" " * _OWNER_AT + json.dumps(note).encode())
        file.flush()
        return file

    def _owner(self) -> str:
        try:
            with self.path.open("rb") as file:
                file.seek(_OWNER_AT)
                note = json.loads(file.read())
            return f" (process {note['process']} on {note['computer']}, since {note['since']})"
        except (OSError, ValueError, KeyError):
            return ""

    def release(self) -> None:
        """Give the right back; harmless when done twice."""
        if self._file.closed:
            return
        if sys.platform == "win32":  # an open file cannot be removed there
            self._file.close()
        with contextlib.suppress(OSError):
            self.path.unlink()
        self._file.close()
