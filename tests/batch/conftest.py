"""Small invented floors, done once for all tests that look at the dataset."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from invented_jobs import write_floors

DAY = date(2026, 3, 20)


@pytest.fixture(scope="session")
def floors(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three floors and a broken one."""
    return write_floors(tmp_path_factory.mktemp("floors"), 3)


@pytest.fixture(scope="session")
def finished(floors: Path, tmp_path_factory: pytest.TempPathFactory):
    """The folder of a finished run over them, and its result."""
    from moisturemap.batch import BatchOptions, run_batch

    out = tmp_path_factory.mktemp("out")
    return out, run_batch(floors, out, options=BatchOptions(workers=1), today=DAY)
