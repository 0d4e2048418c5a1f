"""What is worked out once in a run of tests, whichever of its workers asks first."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from pathlib import Path
from shutil import rmtree
from tempfile import gettempdir
from typing import TypeVar

Made = TypeVar("Made")

RUN = "PYTEST_XDIST_TESTRUNUID"
"""Tells the run a worker belongs to; unset where there is but one process."""


def folder_of(run: str) -> Path:
    """Return where a run keeps what its workers share."""
    return Path(gettempdir()) / f"moisturemap-tests-{run}"


def kept(name: str, make: Callable[[], Made]) -> Made:
    """Return what ``make`` returns: made here, or read as another worker of this run left it.

    Two workers that ask at once both make it.
    """
    run = os.environ.get(RUN)
    if run is None:
        return make()
    path = folder_of(run) / f"{name}.pickle"
    if path.exists():
        found: Made = pickle.loads(path.read_bytes())
        return found
    made = make()
    path.parent.mkdir(exist_ok=True, mode=0o700)
    part = path.with_suffix(f".{os.getpid()}")
    part.write_bytes(pickle.dumps(made, protocol=pickle.HIGHEST_PROTOCOL))
    part.replace(path)
    return made


def drop(run: str) -> None:
    """Remove what the workers of a run shared."""
    rmtree(folder_of(run), ignore_errors=True)
