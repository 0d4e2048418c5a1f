"""A wet patch that a scan soon after reads as dry is not settled by it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from invented_tests import READ, decide, floor, good_test, good_tests

from moisturemap.drilling import DrillOptions, plan_holes
from moisturemap.results.brief import brief_study
from moisturemap.survey import READING_COLUMNS, Instrument, ScanSettings, Survey, Visit
from moisturemap.workflow.check import check_survey
from moisturemap.workflow.study import study
from moisturemap.zones.fell_fast import fell_fast

X, Y = (one.ravel() for one in np.meshgrid(np.arange(0.25, 8, 0.5), np.arange(0.25, 6, 0.5)))


def scan(visit: str, seed: int, patch_m: float, height: float) -> pd.DataFrame:
    """A dry floor of 8 x 6 m with one wet patch."""
    value = 30.0 + np.random.default_rng(seed).normal(0, 1.0, X.size)
    value += np.where(np.hypot(X - 5.75, Y - 4.25) < patch_m, height, 0.0)
    frame = pd.DataFrame(dict.fromkeys(READING_COLUMNS, ""), index=range(X.size))
    more = {"visit": visit, "instrument": "scan", "repeat": 0, "time": pd.NaT}
    return frame.assign(x=X, y=Y, value=value.round(), **more)


def twice(apart: timedelta | None, patch_m: float = 0.8, later: float = 0.0) -> Survey:
    """The floor read wet, and so long after with what is left of the patch; tested where dry."""
    first = READ - timedelta(days=30)
    readings = pd.concat([scan("v1", 1, patch_m, 36.0), scan("v2", 2, patch_m, later)])
    readings = readings.assign(reading=range(1, len(readings) + 1))
    return floor(
        good_tests(value=75.0),
        visits=(Visit("v1", first), Visit("v2", None if apart is None else first + apart)),
        instruments={
            **floor([]).instruments,
            "scan": Instrument("scan", "relative", scale=(0.0, 100.0)),
        },
        readings=readings.assign(raw=readings["value"].astype(str)).reset_index(drop=True),
        scan=ScanSettings(wet_level=45.0, dry_reference=(29.0, 30.0, 31.0, 30.0)),
    )


def verdict(survey: Survey) -> tuple[str, str]:
    decision = decide(survey, study(survey))
    return decision.verdict, "; ".join(decision.reasons)


@pytest.mark.thorough
@pytest.mark.parametrize("apart", [timedelta(0), timedelta(hours=1), timedelta(days=3), None])
def test_a_dry_scan_soon_after_does_not_settle_a_wet_one(apart: timedelta | None):
    found, why = verdict(twice(apart))
    assert found == "not proven"
    assert "had lost more than half of their height" in why


def test_a_dry_scan_a_week_after_does():
    assert verdict(twice(timedelta(days=7)))[0] == "meets"


def test_one_high_reading_read_again_at_once_was_a_slip():
    assert verdict(twice(timedelta(hours=1), patch_m=0.3))[0] == "meets"


@pytest.mark.thorough
def test_a_third_scan_later_settles_it():
    survey = twice(timedelta(hours=1))
    third = scan("v3", 3, 0.8, 0.0).assign(reading=range(1000, 1000 + X.size))
    third = third.assign(raw=third["value"].astype(str))
    readings = pd.concat([survey.readings, third], ignore_index=True)
    visits = (*survey.visits, Visit("v3", READ - timedelta(days=10)))
    assert verdict(replace(survey, readings=readings, visits=visits))[0] == "meets"


def test_the_patch_alone_read_again_and_wet_still_is_not_fallen():
    survey = twice(timedelta(hours=1), patch_m=1.1)
    first = survey.readings[survey.readings["visit"] == "v1"]
    again = first[first["value"] > 50].assign(visit="v2")
    assert len(again) >= 10
    readings = pd.concat([first, again.assign(reading=range(500, 500 + len(again)))])
    why = verdict(replace(survey, readings=readings.reset_index(drop=True)))[1]
    assert "had lost" not in why


SOON = twice(timedelta(hours=1))
OFFSETS = np.arange(-1.6, 1.7, 0.2)


def test_check_and_map_tell_what_was_read_wet_an_hour_before():
    lost = "had lost more than half of their height"
    assert any(lost in one.sentence for one in check_survey(SOON).remarks if one.level == "warning")
    assert lost in " ".join(brief_study(study(SOON)).split())
    later = twice(timedelta(days=7))
    assert not any(lost in one.sentence for one in check_survey(later).remarks)


@pytest.mark.thorough
def test_the_drill_plan_has_a_hole_there_beyond_the_count():
    without = plan_holes(study(twice(timedelta(days=7))))
    plan = plan_holes(study(SOON))
    asked = plan.holes[plan.holes["purpose"] == "read-high"]
    assert len(asked) == 1
    assert len(plan.holes) == len(without.holes) + 1
    assert "1 hole more, where another scan" in plan.count_rule
    (high,) = fell_fast(SOON, study(SOON))
    hole = asked.iloc[0]
    away = np.hypot(*(np.array(high.places) - [hole["x"], hole["y"]]).T)
    assert away.min() <= high.within_m
    assert hole["why"] == high.sentence


def test_a_valid_test_at_that_hole_settles_it():
    mapped = study(SOON)
    hole = mapped.drill_plan.set_index("purpose").loc["read-high"]
    there = good_test(9, float(hole["x"]), float(hole["y"]), value=76.0)
    tested = floor([*good_tests(value=75.0), there])
    assert verdict(replace(SOON, tests=tested.tests))[0] == "meets"


def test_a_rejected_hole_moves_within_reach_and_a_chosen_count_holds():
    mapped = study(SOON)
    first = mapped.drill_plan.set_index("purpose").loc["read-high"]
    away = DrillOptions(rejected=((float(first["x"]), float(first["y"])),), count=4)
    holes = plan_holes(mapped, options=away).holes
    assert len(holes) == 4
    again = holes.set_index("purpose").loc["read-high"]
    assert np.hypot(again["x"] - first["x"], again["y"] - first["y"]) > 0.1


def test_where_no_hole_can_stand_the_plan_says_so():
    first = study(SOON).survey.plan
    (high,) = fell_fast(SOON, study(SOON))
    x, y = np.mean(high.places, axis=0)
    rejected = tuple((float(x + a), float(y + b)) for a in OFFSETS for b in OFFSETS)
    assert first.room_at(float(x), float(y)) is not None
    plan = plan_holes(study(SOON), options=DrillOptions(rejected=rejected))
    assert "read-high" not in set(plan.holes["purpose"])
    assert any("another scan or another meter read high" in one for one in plan.unreached)
