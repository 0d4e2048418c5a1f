"""One writer at a time: a lock the operating system drops when the writer ends or dies."""

from __future__ import annotations

import contextlib
import errno
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


_REASONS = {
    errno.ENOLCK: "this folder cannot hold locks (a network share?)",
    errno.EOPNOTSUPP: "this folder cannot hold locks (a network share?)",
    errno.EROFS: "the folder cannot be written: its disk can only be read",
    errno.EACCES: "the folder cannot be written: you have no right to",
    errno.EPERM: "the folder cannot be written: you have no right to",
    errno.ENOSPC: "the folder cannot be written: the disk is full",
    errno.EDQUOT: "the folder cannot be written: your share of the disk is used up",
    errno.ENOENT: "there is no such folder",
    errno.ENOTDIR: "a file stands where the folder should be",
    errno.ELOOP: "its links lead in a circle",
    errno.EMFILE: "this program has too many files open; close some jobs",
    errno.ENFILE: "this computer has too many files open; close some programs",
}
"""Why a lock could not be made, by the system's error number."""

_FOR_PROJECTS = "Open the project read-only, or copy it to a folder on this computer"


class WriterLock:
    """The right to write at one path, held until :meth:`release`.

    The lock file stands beside the file a link leads to, so that two names of one file share it.

    Raises
    ------
    StoreError
        If another process or program part holds it, or the folder cannot hold a lock.
    """

    def __init__(self, project: Path, wait_s: float = 0.0) -> None:
        self.project = project
        real = _real(project)
        self.path = real.with_name(real.name + ".lock")
        self._file = self._acquire(time.monotonic() + wait_s)

    def _acquire(self, deadline: float) -> BinaryIO:
        while True:
            try:
                file = self._try()
            except OSError as error:
                reason = _REASONS.get(error.errno or 0, f"no lock can be made ({error.strerror})")
                message = f"{self.project}: {reason}. {_FOR_PROJECTS}"
                raise StoreError(message) from error
            if file is not None:
                return file
            if time.monotonic() >= deadline:
                message = (
                    f"{self.project}: open for writing elsewhere{self._owner()}. Close it there "
                    "first, or open it read-only here; one writer at a time"
                )
                raise StoreError(message)
            time.sleep(0.02)

    def _try(self) -> BinaryIO | None:
        file = self.path.open("a+b")
        try:
            _take(file)
        except (BlockingIOError, PermissionError):  # held by somebody else (Windows: the latter)
            file.close()
            return None
        except OSError:
            file.close()
            raise
        # another holder may have removed the file between our opening and our locking it
        if not self._is_ours(file):
            file.close()
            return None
        note = {"process": os.getpid(), "computer": platform.node()}
        note["since"] = datetime.now(UTC).isoformat(timespec="seconds")
        file.truncate(0)
        file.write(b" " * _OWNER_AT + json.dumps(note).encode())
        file.flush()
        return file

    def _is_ours(self, file: BinaryIO) -> bool:
        try:
            return os.path.samestat(os.fstat(file.fileno()), self.path.stat())
        except FileNotFoundError:
            return False

    def still_held(self) -> None:
        """Make sure before each write that nobody took the lock file away.

        A lock file that was deleted is made again, unless another writer came in between.

        Raises
        ------
        StoreError
            When somebody else writes there now.
        """
        if self._file.closed or self._is_ours(self._file):
            return
        lost, self._file = self._file, self._acquire(time.monotonic())
        lost.close()

    def _owner(self) -> str:
        try:
            with self.path.open("rb") as file:
                file.seek(_OWNER_AT)
                note = json.loads(file.read())
            return f" (process {note['process']} on {note['computer']}, since {note['since']})"
        except (OSError, ValueError, KeyError, TypeError):
            return ""

    def release(self) -> None:
        """Give the right back; harmless when done twice."""
        if self._file.closed:
            return
        ours = self._is_ours(self._file)
        if sys.platform == "win32":  # an open file cannot be removed there
            self._file.close()
        if ours:
            with contextlib.suppress(OSError):
                self.path.unlink()
        self._file.close()


def _real(project: Path) -> Path:
    try:
        return project.resolve()
    except (OSError, RuntimeError):  # links in a circle: told when the lock is made
        return project.absolute()
