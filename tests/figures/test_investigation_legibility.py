"""The figures of an investigation and of depth profiles can be read where they are printed."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from legibility import faults
from studied import studied

import moisturemap as mm
from moisturemap.acceptance import DecideOptions, Decision
from moisturemap.figures import Format
from moisturemap.figures.depth_profile import depth_profile
from moisturemap.figures.investigation_figures import investigation_figures
from moisturemap.investigation import Investigation
from moisturemap.units import Units
from moisturemap.workflow.demo import day_after, demo_plans

pytestmark = pytest.mark.thorough

FORMS = (Format(width_mm=80), Format(width_mm=174, height_mm=98), Format(units=Units("us")))
CLINIC = demo_plans() / "clinic"


@pytest.fixture(scope="module")
def clinic() -> Investigation:
    """Return the invented clinic whose covering failed."""
    _, found = studied("clinic")
    assert found is not None
    return found


@pytest.fixture(scope="module")
def decided() -> Decision:
    """Return what its tests say on the day after the last of them."""
    survey = mm.read_survey(CLINIC)
    day = datetime.combine(day_after(survey), datetime.min.time(), UTC)
    return mm.decide(survey, options=DecideOptions(as_of=day))


@pytest.mark.parametrize("form", FORMS)
def test_where_the_water_comes_from_is_legible(clinic: Investigation, form: Format) -> None:
    """Four figures at every size and in feet."""
    figures = investigation_figures(clinic, "A clinic with a long name, ward 2, ground floor", form)
    assert set(figures) == {"cause-profiles", "cause-reach", "cause-dew-point", "cause-timeline"}
    for name, figure in figures.items():
        assert not faults(figure), name


@pytest.mark.parametrize("form", FORMS)
def test_a_depth_profile_is_legible(decided: Decision, form: Format) -> None:
    """Whether the slab is above the limit or below it; no curve runs through the limit's name."""
    spots = [one for one in decided.spots if one.estimate is not None]
    assert len(spots) > 1
    for spot in spots:
        figure = depth_profile(spot, form)
        assert not faults(figure)
        limits = [one for ax in figure.axes for one in ax.texts if "limit" in one.get_text()]
        assert len(limits) == (1 if spot.sealed is None else 2)  # nothing is told of an unlike one
        for text in limits:
            assert text.axes is not None
            assert not text.get_window_extent().overlaps(text.axes.get_window_extent())
