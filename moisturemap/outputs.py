"""Files and folders written beside their place, then renamed into it: whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

from moisturemap.errors import MoistureMapError, OutputError

UNFINISHED = ".unfinished-"
"""Stands in the name of what is being written; whatever a killed writer left is told by it."""

FREE_AT_LEAST = 1_000_000
"""Free space below which a failure without a reason of its own is taken as a full disk [bytes].

Our choice: libraries that write GeoPackage and NetCDF lose the reason; their smallest file is
about 100 kB.
"""

_ABANDONED_S = 86_400.0
"""Age from which an unfinished file is taken as left by a killed writer [s]; our choice: a day."""

_AS_BEFORE = "what was there before is as it was"
_ADVICE = {
    errno.ENOSPC: f"the disk is full. Free some space and try again; {_AS_BEFORE}",
    errno.EDQUOT: f"your share of the disk is used up. Free some space; {_AS_BEFORE}",
    errno.EROFS: "the disk can only be read. Choose another folder",
    errno.EACCES: "you may not write here. Choose another folder",
    errno.EPERM: "you may not write here. Choose another folder",
    errno.ENOENT: "there is no such folder, and it cannot be made. Choose another",
    errno.ENOTDIR: "a file stands where a folder is needed. Choose another folder",
    errno.EEXIST: "a file stands where a folder is needed. Choose another folder",
    errno.EISDIR: "a folder stands where the file should be. Choose another name",
    errno.ENAMETOOLONG: "the name is too long. Choose a shorter one",
    errno.EFBIG: f"the disk takes no file of this size; {_AS_BEFORE}",
    errno.EIO: f"the disk failed while writing. Check it; {_AS_BEFORE}",
}


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn the failures of writing to a path into one plain sentence.

    Raises
    ------
    OutputError
        When the system, or a library below us on a full disk, could not write.
    """
    try:
        yield
    except MoistureMapError:
        raise
    except OSError as error:
        reason = _ADVICE.get(error.errno or 0, f"{error.strerror or error}; {_AS_BEFORE}")
        message = f"{_meant(path)}: {reason}"
        raise OutputError(message) from error
    except Exception as error:
        if _disk_is_full(path, error):
            reason = _ADVICE[errno.ENOSPC]
        elif type(error).__module__.startswith("pyogrio"):  # it loses the system's own reason
            reason = f"it cannot be written ({str(error)[:200]}). Check the disk; {_AS_BEFORE}"
        else:
            raise
        message = f"{_meant(path)}: {reason}"
        raise OutputError(message) from error


def _meant(path: Path) -> Path:
    """Return the place a name of ours for something unfinished stands beside."""
    name, mark, _ = path.name.partition(UNFINISHED)
    return path.with_name(name.removeprefix(".")) if mark else path


def _disk_is_full(path: Path, error: Exception) -> bool:
    if any(word in str(error).lower() for word in ("no space left", "disk is full")):
        return True
    folder = next((one for one in (path, *path.parents) if one.is_dir()), None)
    return folder is not None and shutil.disk_usage(folder).free < FREE_AT_LEAST


def beside(path: Path) -> Path:
    """Return a name in the same folder, so on the same disk, that nobody else uses."""
    return path.with_name(f".{path.name[:100]}{UNFINISHED}{secrets.token_hex(4)}{path.suffix[:9]}")


@contextlib.contextmanager
def replaced_file(path: Path) -> Iterator[Path]:
    """Yield a name to write under; on success the file takes the place of the old one.

    Raises
    ------
    OutputError
        When it cannot be written; the old file is as it was then.
    """
    with _staged_file(path) as unfinished:
        yield unfinished
        sync(unfinished)
        unfinished.replace(path)


@contextlib.contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Yield a name to write under; on success the file stands at its place, which must be free.

    Raises
    ------
    OutputError
        When the place is taken, also by somebody who came in between, or cannot be written.
    """
    _refuse_taken(path)
    with _staged_file(path) as unfinished:
        yield unfinished
        sync(unfinished)
        try:
            # a link fails where something stands, a rename would overwrite it
            os.link(unfinished, path)
        except FileExistsError:
            _refuse_taken(path)
            raise
        except OSError:  # no hard links on this disk
            _refuse_taken(path)
            unfinished.rename(path)


@contextlib.contextmanager
def _staged_file(path: Path) -> Iterator[Path]:
    unfinished = beside(path)
    with told(path):
        sweep(path, _ABANDONED_S)
        try:
            yield unfinished
            sync(path.parent)
        finally:
            unfinished.unlink(missing_ok=True)


@contextlib.contextmanager
def new_folder(path: Path) -> Iterator[Path]:
    """Yield a folder to fill; on success it stands at its place, which must be free or empty.

    Raises
    ------
    OutputError
        When the place is taken or cannot be written.
    """
    if path.is_dir() and any(path.iterdir()):
        message = f"{path}: not empty. Choose another folder; nothing is overwritten"
        raise OutputError(message)
    with told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished = beside(path)
        unfinished.mkdir()
        try:
            yield unfinished
            sync(*sorted(unfinished.rglob("*")), unfinished)
            if path.is_dir():
                path.rmdir()
            unfinished.rename(path)
            sync(path.parent)
        finally:
            shutil.rmtree(unfinished, ignore_errors=True)


def sync(*paths: Path) -> None:
    """Have the system put files, or the names in folders, on the disk before we go on."""
    for path in paths:
        if path.is_dir() and os.name == "nt":  # folders cannot be opened there
            continue
        descriptor = os.open(path, os.O_RDONLY if os.name != "nt" else os.O_RDWR)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def sweep(path: Path, older_than_s: float = 0.0) -> None:
    """Remove what killed writers of a path left; all of it only with the right to write there."""
    for left in path.parent.glob(f".{_literal(path.name[:100])}{UNFINISHED}*"):
        if older_than_s and time.time() - left.stat().st_mtime < older_than_s:
            continue
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)


def _literal(name: str) -> str:
    return "".join(f"[{sign}]" if sign in "*?[" else sign for sign in name)


def _refuse_taken(path: Path) -> None:
    if path.exists():
        message = f"{path}: already exists. Choose another name; nothing is overwritten"
        raise OutputError(message)
