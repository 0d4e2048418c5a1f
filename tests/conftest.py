"""Shared floors: the demo surveys, studied once for all tests that look at them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from moisturemap.workflow import Study

DEMO_PLANS = Path(__file__).resolve().parent.parent / "demo_plans"


def demo_study(name: str) -> Study:
    """Study a demo floor; loads the science only for tests that ask for it."""
    from moisturemap.workflow import read_survey, study

    return study(read_survey(DEMO_PLANS / name))


@pytest.fixture(scope="session")
def bakery() -> Study:
    """The study of the invented bakery floor."""
    return demo_study("bakery")


@pytest.fixture(scope="session")
def flat() -> Study:
    """The study of the invented flat."""
    return demo_study("flat")
