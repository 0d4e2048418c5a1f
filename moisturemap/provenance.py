"""Where a result came from: fingerprints of the input files, options, versions, time."""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

PACKAGES = ("moisturemap", "numpy", "scipy", "shapely", "geopandas", "xarray")


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """One input file as it was read: name, size [bytes] and SHA-256."""

    name: str
    size: int
    sha256: str


def fingerprint(path: Path) -> Fingerprint:
    """Fingerprint one file by its content."""
    content = path.read_bytes()
    return Fingerprint(path.name, len(content), hashlib.sha256(content).hexdigest())


def versions() -> dict[str, str]:
    """Return versions of this package, of what it computes with, and of Python."""
    return dict(_installed())


@cache
def _installed() -> dict[str, str]:
    found = {"python": platform.python_version()}
    for name in PACKAGES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found


@dataclass(frozen=True, slots=True)
class Provenance:
    """What a result was made from, so that it can be made again."""

    inputs: tuple[Fingerprint, ...] = ()
    options: dict[str, Any] = field(default_factory=dict)
    versions: dict[str, str] = field(default_factory=versions)
    made: datetime = field(default_factory=lambda: datetime.now(UTC))

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        content = asdict(self)
        content["made"] = self.made.isoformat(timespec="seconds")
        return content


_run: ContextVar[str] = ContextVar("run", default="")


def run_id() -> str:
    """Return the id of the run whose files are being written, "" outside of one.

    Every writer of files tells it in the file, so that files of two runs can be told apart.
    """
    return _run.get()


@contextmanager
def files_of_run(id: str) -> Iterator[None]:
    """Let the files written meanwhile tell the id of their run."""
    token = _run.set(id)
    try:
        yield
    finally:
        _run.reset(token)
