"""What the meter is taken to be off by, and when that is not believed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented_visits import Recipe, Wet, invent

from moisturemap.drying import DRIED
from moisturemap.drying.meter_step import floor_steps
from moisturemap.survey import clean_readings
from moisturemap.workflow.drying import compare_visits


@pytest.mark.thorough
def test_a_reference_that_grows_damp_makes_no_floor_dry() -> None:
    """The same readings on each visit, the dry reference 12 % of the scale higher at the end."""
    recipe = Recipe(days=(0.0, 7.0, 14.0), dry_reference=8, width=6, depth=5)
    survey = invent(recipe, 3).survey
    same = survey.readings[survey.readings["visit"] == survey.visits[0].id]
    readings = pd.concat([same.assign(visit=one.id) for one in survey.visits], ignore_index=True)
    known = survey.visits[0].dry_reference
    for rise, doubted in ((0.0, False), (6.0, True)):
        visits = [
            replace(one, dry_reference=tuple(v + rise * k for v in known))
            for k, one in enumerate(survey.visits)
        ]
        found = compare_visits(replace(survey, visits=tuple(visits), readings=readings)).drying
        assert ("more than a meter drifts" in found.statements[0]) is doubted
        assert not np.any(found.change.dataset["verdict"].to_numpy() == DRIED)


@pytest.mark.thorough
def test_a_whole_floor_that_falls_at_once_gets_no_latest_day() -> None:
    """The dry floor with it: another setting of the meter, whose readings name an early day.

    Without the step the same floor is not doubted, and where later visits read as low as the one
    that fell they stay in doubt with it.
    """
    days, wet = (0.0, 7.0, 14.0, 21.0, 28.0), Wet(3.0, 3.5, 40.0, 1.5, 30.0)
    calm = compare_visits(invent(Recipe(days=days, wets=(wet,)), 3).survey).drying
    assert not any(one.doubted for one in calm.series.offsets)
    for offsets, doubted in (
        ((0.0, 0.0, 0.0, 0.0, -10.0), ["v5"]),
        ((0.0, 0.0, 0.0, -10.0, -10.0), ["v4", "v5"]),
    ):
        survey = invent(Recipe(days=days, wets=(wet,), offsets=offsets, dry_reference=0), 3).survey
        found = compare_visits(survey).drying
        assert [one.visit for one in found.series.offsets if one.doubted] == doubted
        assert f"On {', '.join(doubted)} the whole floor reads lower" in found.statements[0]
        assert not np.any(found.change.dataset["verdict"].to_numpy() == DRIED) or len(doubted) > 1
        assert all(one.why_open for one in found.forecasts)


@pytest.mark.thorough
def test_another_gain_is_doubted_like_another_zero() -> None:
    """All readings 0.6 of what they were: the driest third falls, too, which no patch does."""
    wet = Wet(3.0, 3.5, 40.0, 1.5, 30.0)
    survey = invent(Recipe(days=(0.0, 7.0, 14.0, 21.0), wets=(wet,), dry_reference=0), 3).survey
    last = survey.readings["visit"] == "v4"
    value = survey.readings["value"].where(~last, (0.6 * survey.readings["value"]).round())
    found = compare_visits(replace(survey, readings=survey.readings.assign(value=value))).drying
    assert [one.visit for one in found.series.offsets if one.doubted] == ["v4"]
    assert "On v4 the whole floor reads lower" in found.statements[0]


@pytest.mark.thorough
def test_references_that_begin_after_the_fall_do_not_clear_it() -> None:
    """They tell the visits after it against one another, not against those before."""
    days, wet = (0.0, 7.0, 14.0, 21.0, 28.0), Wet(3.0, 3.5, 40.0, 1.5, 30.0)
    offsets = (0.0, 0.0, 0.0, -10.0, -10.0)
    recipe = Recipe(days=days, wets=(wet,), offsets=offsets, dry_reference=8)
    survey = invent(recipe, 3).survey
    visits = [
        one if k > 2 else replace(one, dry_reference=()) for k, one in enumerate(survey.visits)
    ]
    found = compare_visits(replace(survey, visits=tuple(visits))).drying
    assert [one.visit for one in found.series.offsets if one.doubted] == ["v4", "v5"]
    assert all(one.why_open for one in found.forecasts)


def steps_of(recipe: Recipe, *, wet_level: float | None = 45.0) -> list[float]:
    survey = invent(recipe, 3).survey
    clean = [clean_readings(survey, one.id) for one in survey.visits]
    return list(floor_steps(clean, np.array(recipe.days), 1.0, wet_level))


def test_the_driest_third_tells_another_zero_from_two_visits_on() -> None:
    """Dry floor hardly moves; without a wet level, or where it is damp, two visits do not tell."""
    wets = (Wet(3.0, 3.5, 40.0, 1.5, 30.0),)
    two = Recipe(days=(0.0, 7.0), wets=wets)
    lower = replace(two, offsets=(0.0, -7.0))
    assert steps_of(two) == [0.0, 0.0]
    assert steps_of(lower)[1] == pytest.approx(-7.0, abs=1.0)
    assert steps_of(lower, wet_level=None) == [0.0, 0.0]
    assert steps_of(lower, wet_level=31.0) == [0.0, 0.0]
    wide = replace(lower, wets=(Wet(3.0, 3.5, 40.0, 2.5, 30.0),))
    assert steps_of(wide, wet_level=36.0)[1] < -5.0
    three = Recipe(days=(0.0, 3.0, 10.0), wets=wets, offsets=(0.0, 0.0, -5.1))
    assert steps_of(three)[2] < -3.0
    back = steps_of(replace(three, offsets=(0.0, -7.0, 0.0)))
    assert back[1] < -5.0
    assert back[2] > 5.0


@pytest.mark.parametrize("by", [-2.0, -1.5])
def test_a_meter_that_creeps_down_dries_no_floor(by: float) -> None:
    """Nothing dries and each visit reads a little less: no step shows it, the sum does."""
    days = tuple(7.0 * k for k in range(5))
    still = Recipe(days=days, wets=(Wet(3.0, 3.5, 40.0, 1.5, 1e5),))
    crept = steps_of(replace(still, offsets=tuple(by * k for k in range(5))))
    assert sum(crept) == pytest.approx(4 * by, abs=1.0)
    assert crept[1] < 0.0
    assert steps_of(still) == [0.0] * 5


@pytest.mark.parametrize("tau", [10.0, 30.0, 90.0])
def test_floor_that_dries_beside_dry_floor_is_no_creep_of_the_meter(tau: float) -> None:
    """The driest third stays or falls a little, the wet part by several times as much."""
    days = tuple(7.0 * k for k in range(5))
    drying = Recipe(days=days, wets=(Wet(3.0, 3.5, 40.0, 1.5, tau),))
    assert steps_of(drying) == [0.0] * 5
    assert steps_of(replace(drying, offsets=(0.0, -0.8, -1.6, -2.4, -3.2)))[4] > -1.0


@pytest.mark.thorough
def test_a_second_visit_on_another_zero_clears_no_floor_and_names_no_day() -> None:
    """A zone a few units above the wet level, and a wetter one, read 7.5 lower the second time."""
    wet, days = Wet(3.0, 3.5, 0.0, 1.5, 40.0), (0.0, 7.0)
    for rise, mapped in ((20.0, False), (40.0, True)):
        recipe = Recipe(days=days, wets=(replace(wet, rise=rise),), offsets=(0.0, -7.5))
        found = compare_visits(invent(recipe, 3).survey).drying
        assert [one.visit for one in found.series.offsets if one.fell] == ["v2"]
        told = " ".join(found.statements)
        assert "On v2 the whole floor reads lower" in found.statements[0]
        assert "that read wet before would still read wet" in told
        assert ("that may be the zero of the meter alone" in told) is not mapped
        assert bool(found.forecasts) is mapped
        assert all(one.why_open == "zero" and np.isinf(one.high) for one in found.forecasts)
        assert "reads at or below" not in told
        # as much floor as was wet before may still be
        assert found.wet_areas[1].high_m2 > 0.7 * found.wet_areas[0].area_m2


@pytest.mark.thorough
def test_a_floor_that_rises_again_is_compared_on_its_own_zero() -> None:
    """One visit of three on another zero: no rise of the floor, and the last is not doubted."""
    wets = (Wet(3.0, 3.5, 40.0, 1.5, 30.0),)
    recipe = Recipe(days=(0.0, 7.0, 14.0), wets=wets, offsets=(0.0, -7.0, 0.0))
    found = compare_visits(invent(recipe, 3).survey).drying
    assert [one.visit for one in found.series.offsets if one.fell] == ["v2"]
    assert found.statements[0].startswith("On v2 the whole floor reads lower")
    assert found.leak is None
    assert not any(one.why_open == "zero" for one in found.forecasts)
