"""A record taken away or lowered turns no verdict towards MEETS by itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest
from invented_tests import decide, floor, good_test, good_tests
from test_lone_reading import SPOT, write_floor

from moisturemap import read_survey, study
from moisturemap.acceptance.unmapped import places_without_map

TOLD = "Test H9, 93 %RH, was set aside on 2026-03-20 by C. Other: {why}."


def with_former(why: str, *more: dict, **changes: object):
    """The floor that meets, and a failing test that was set aside."""
    survey = floor([*good_tests(), *more])
    former = floor([{**good_test(9, 5.0, 4.0, 93.0), **changes}]).tests
    told = former.assign(told=[TOLD.format(why=why)], altered_why=[why])
    return replace(survey, former_tests=told)


@pytest.mark.parametrize("why", ["client asked", "t", "", "undo of change 2", "-"])
def test_a_failing_test_set_aside_for_no_reason_keeps_the_floor_from_meeting(why):
    """The reason must name what was wrong with it."""
    assert decide(floor(good_tests())).verdict == "meets"
    decision = decide(with_former(why))
    assert decision.verdict == "not proven"
    assert sum("Test H9, 93 %RH" in reason for reason in decision.reasons) == 1


@pytest.mark.parametrize("why", ["probe was faulty", "typo", "mistyped", "Tippfehler"])
def test_a_reason_of_substance_lets_it_go(why):
    """It is told beside the verdict by the record all the same."""
    assert decide(with_former(why)).verdict == "meets"


@pytest.mark.parametrize("why", ["entered twice", "duplicate of H1", "doppelt erfasst"])
@pytest.mark.parametrize(
    ("twin", "answered"), [((good_test(10, 5.1, 4.0, 75.0),), True), ((), False)]
)
def test_what_was_entered_twice_is_there_once_more(why, twin, answered):
    """Without a test of the same place and depth the reason is untrue, and the result stands."""
    decision = decide(with_former(why, *twin))
    assert (decision.verdict == "meets") is answered


def test_a_passing_test_set_aside_asks_nothing():
    """What met the limit spoke for the floor."""
    assert decide(with_former("client asked", value=70.0)).verdict == "meets"


@pytest.mark.parametrize(("x", "answered"), [(5.1, True), (6.5, False)])
def test_the_same_place_read_again_later_answers_for_it(x, answered):
    """A valid test of the same place and depth, read after the one that was set aside."""
    moments = ("drilled", "lined", "placed", "read")
    earlier = {name: good_test(9, 5.0, 4.0)[name] - timedelta(hours=80) for name in moments}
    survey = with_former("client asked", good_test(10, x, 4.0, 75.0), **earlier)
    reasons = " ".join(decide(survey).reasons)
    assert ("names nothing that was wrong" not in reasons) is answered


@pytest.mark.parametrize(("former", "asked"), [(70.0, True), (33.0, False)])
def test_a_reading_lowered_asks_a_test_where_it_stood(tmp_path, former, asked):
    """Whoever lowers it says that the floor is dry there."""
    survey = read_survey(write_floor(tmp_path, None, 0.0, 0.5))
    row = survey.readings.iloc[[10]].assign(value=former)
    changed = replace(survey, former_readings=pd.DataFrame(row))
    found = [
        one for one in places_without_map(changed, study(changed)) if "as first stored" in one.why
    ]
    assert [one.value for one in found] == ([former] if asked else [])
    if asked:
        assert found[0].places == ((row["x"].iloc[0], row["y"].iloc[0]),)


def test_a_reading_lowered_inside_a_zone_asks_nothing_more(tmp_path):
    """The zone asks for its test by itself."""
    survey = read_survey(write_floor(tmp_path, None, 25.0, 0.9))
    near = (survey.readings["x"] - SPOT[0]) ** 2 + (survey.readings["y"] - SPOT[1]) ** 2
    row = survey.readings.loc[[near.idxmin()]].assign(value=80.0)
    changed = replace(survey, former_readings=pd.DataFrame(row))
    made = study(changed)
    assert not made.wet.zones.empty
    asked = [one for one in places_without_map(changed, made) if "as first stored" in one.why]
    assert asked == []
