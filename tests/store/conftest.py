"""Fixtures of the project file."""

from __future__ import annotations

from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.survey import Survey

from .job import make_survey


@pytest.fixture
def survey() -> Survey:
    return make_survey()


@pytest.fixture
def packed(survey: Survey, tmp_path: Path) -> Path:
    """The path of a project file that holds the survey."""
    path = tmp_path / "job.gpkg"
    store.pack(survey, path, "A. Tester")
    return path
