"""What the meter is taken to be off by, and when that is not believed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented_visits import Recipe, Wet, invent

from moisturemap.drying import DRIED
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
        assert f"From {doubted[0]} on the whole floor reads lower" in found.statements[0]
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
    assert "From v4 on the whole floor reads lower" in found.statements[0]


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
