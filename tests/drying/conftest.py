"""Invented visits shared by the tests of this room."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from invented_visits import Invented, Recipe, Wet, invent

from moisturemap.bundles import VisitComparison
from moisturemap.workflow.drying import compare_visits

MIXED = Recipe(
    wets=(
        Wet(9.8, 7.8, 36.0, 1.5, 300.0),
        Wet(3.0, 3.5, 34.0, 1.8, 10.0),
        Wet(8.0, 2.0, 12.0, 0.9, 1e9, 0.9),
    ),
    pipe_x=5.25,
)
"""A corner that does not dry, a flood that does, a growing leak, a pipe."""


@pytest.fixture(scope="session")
def mixed_floor() -> Invented:
    """Three weekly visits of a floor with every kind of course."""
    return invent(MIXED, 4)


@pytest.fixture(scope="session")
def mixed(mixed_floor: Invented) -> VisitComparison:
    """The same, compared."""
    return compare_visits(mixed_floor.survey)
