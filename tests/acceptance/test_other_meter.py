"""What a second meter read is never passed over in silence."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from moisturemap import read_survey, study
from moisturemap.acceptance import DecideOptions, decide
from moisturemap.results.brief import brief_study
from moisturemap.survey import Instrument, Survey
from moisturemap.workflow.judge import judge
from moisturemap.zones import choose_wet_level
from moisturemap.zones.options import LevelOptions
from moisturemap.zones.other_meter import meters_told, places_of_other_meters

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"
B = Instrument("scanner B", "relative", scale=(0.0, 1000.0))


def with_second(survey: Survey, wet: float, *, first: bool = False, every: int = 1) -> Survey:
    """Read the places of the last scan again with another meter, with a wet patch of its own."""
    last = survey.readings[survey.readings["visit"] == survey.scanned_visit().id]
    patch = np.hypot(last["x"] - 3.5, last["y"] - 7.0) < 1.2
    values = np.where(patch, wet, 300.0 + np.arange(len(last)) % 7 * 5.0)
    again = last.assign(instrument=B.id, value=values, raw=[f"{one:g}" for one in values])
    both = [again[::every], survey.readings] if first else [survey.readings, again[::every]]
    readings = pd.concat(both, ignore_index=True)
    return replace(survey, readings=readings, instruments={**survey.instruments, B.id: B})


@pytest.fixture(scope="module")
def bakery() -> Survey:
    """Return the bakery with its last scan alone."""
    return read_survey(DEMO)


def test_the_highest_of_a_second_meter_is_asked_for_a_test(bakery: Survey) -> None:
    """It stands in no zone, as scales never merge."""
    (found,) = places_of_other_meters(with_second(bakery, 930.0), None)
    assert found.value == 930.0
    assert np.hypot(found.places[0][0] - 3.5, found.places[0][1] - 7.0) < 1.2
    assert "scanner B" in found.why
    assert "scanner A" in found.why


def test_alike_readings_of_a_second_meter_ask_for_nothing_and_are_named(bakery: Survey) -> None:
    """Noise is no wet place; that the meter was read is said all the same."""
    plain = with_second(bakery, 330.0)
    assert places_of_other_meters(plain, None) == ()
    (told,) = meters_told(plain, None)
    assert "scanner A was mapped" in told
    assert "of scanner B stand in no map" in told


def test_a_few_readings_of_a_second_meter_ask_for_a_test(bakery: Survey) -> None:
    """Nine readings do not tell what is usual, and may all be of wet floor."""
    count = (bakery.readings["visit"] == bakery.scanned_visit().id).sum()
    few = with_second(bakery, 330.0, every=int(count // 8) + 1)
    assert len(places_of_other_meters(few, None)) == 1


def test_a_floor_of_one_meter_is_as_before(bakery: Survey) -> None:
    """Nothing is said where there is nothing to say."""
    assert places_of_other_meters(bakery, None) == ()
    assert meters_told(bakery, None) == ()


@pytest.mark.parametrize("first", [True, False])
def test_a_dry_reference_is_of_the_meter_it_is_like(bakery: Survey, first: bool) -> None:
    """The order of the files does not lend the reference of one meter to the other."""
    both = with_second(bakery, 930.0, first=first)
    visit = both.scanned_visit()
    own = choose_wet_level(both, visit, np.full(20, 30.0), options=LevelOptions(meter="scanner A"))
    other = choose_wet_level(
        both, visit, np.full(20, 300.0), options=LevelOptions(meter="scanner B")
    )
    assert own.how == "dry-reference"
    assert other.value is None
    assert "are of scanner A" in other.explanation


@pytest.mark.thorough
def test_a_scan_after_the_day_of_the_decision_counts_for_nothing(bakery: Survey) -> None:
    """It is named, and the floor is judged as one without that scan."""
    tests = bakery.tests["read"].dropna()
    day = max(pd.Timestamp(one).to_pydatetime() for one in tests) + timedelta(hours=1)
    late = tuple(replace(one, started=datetime(2031, 3, 4, 9, tzinfo=UTC)) for one in bakery.visits)
    found = judge(replace(bakery, visits=late), options=DecideOptions(as_of=day))
    assert any("later than the day of the decision" in one for one in found.decision.reasons)
    wettest = found.decision.coverage.set_index("rule").loc["wettest-zone", "sentence"]
    assert "no scan was given" in wettest


@pytest.mark.parametrize(("stated", "said"), [(49.0, True), (5.0, False), (None, False)])
def test_a_recorded_risk_stands_in_the_sentence_of_a_floor_that_meets(
    bakery: Survey, stated: float | None, said: bool
) -> None:
    """A risk of 49% is as good as no guard band, and a reader must know."""
    from moisturemap.acceptance.rule import packaged_rules
    from moisturemap.acceptance.sentence import choices_words

    limit = replace(bakery.limit, risk_pct=stated)
    sentence = choices_words(0.05, packaged_rules(), {"bakery": limit, "": None})
    assert ("49%" in sentence) is said


@pytest.mark.parametrize("room", [True, False])
def test_a_limit_above_95_pct_rh_clears_no_floor(bakery: Survey, room: bool) -> None:
    """Such a limit is a slip, of the floor or of one room."""
    limit = replace(bakery.limit, value=99.0)
    name = bakery.plan.rooms[0].name
    odd = replace(bakery, room_limits={name: limit}) if room else replace(bakery, limit=limit)
    found = decide(odd)
    assert found.verdict != "meets"
    assert any("above every limit known for its method (95)" in one for one in found.reasons)


@pytest.mark.thorough
def test_the_map_says_where_a_second_meter_reads_high(bakery: Survey) -> None:
    """Not on its map, whose scale it does not read on, but in what is said of it."""
    told = " ".join(brief_study(study(with_second(bakery, 900.0))).split())
    assert "stand in no map, as scanner A was mapped, and the highest stands out" in told
    assert "stands out clearly: 900 at (" in told
