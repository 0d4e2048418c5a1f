"""Where no day can be named for a failing test, and by what air one is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.slab import Wait
from moisturemap.survey import AmbientReading, Survey, Visit
from tests.acceptance.invented_tests import AS_OF, READ, SLAB, decide, floor, good_test

VISIT = Visit("v1", READ, air_temperature_c=20.0, air_rh_pct=50.0, slab_temperature_c=20.0)


def _survey(*values: float, slab: Slab = SLAB, visit: Visit = VISIT, **test: Any) -> Survey:
    """Tests of one hole, two weeks apart, the last on the day of the visit."""
    tests = []
    for number, value in enumerate(values, start=1):
        back = timedelta(days=14.0 * (len(values) - number))
        times = {
            name: READ - back - timedelta(hours=hours)
            for name, hours in (("drilled", 27), ("lined", 26), ("placed", 26), ("read", 0))
        }
        tests.append({**good_test(1, 2.0, 2.0, value, **times, **test), "test": number})
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))
    return replace(floor(tests), plan=plan, visits=(visit,))


def _wait(*values: float, **known: Any) -> Wait:
    (spot,) = decide(_survey(*values, **known)).spots
    assert spot.wait is not None
    return spot.wait


@pytest.mark.parametrize("air", [30.0, 75.0])
def test_the_recorded_air_is_used(air: float) -> None:
    """Of visits and tests alike."""
    visit = replace(VISIT, air_rh_pct=air)
    wait = _wait(90.0, visit=visit, air_rh_pct=air, air_temperature_c=20.0)
    assert f"recorded near {air:.0f} %RH" in wait.sentence


def test_air_is_brought_to_the_temperature_of_the_slab() -> None:
    """Air of 60 %RH at 20 C is 82 %RH at 15 C: 2338.8 Pa over 1705.6 (ASHRAE 2017, from memory)."""
    cold = {"slab_temperature_c": 15.0, "temperature_c": 15.0}
    visit = replace(VISIT, air_rh_pct=60.0, slab_temperature_c=15.0)
    wait = _wait(92.0, visit=visit, air_rh_pct=60.0, air_temperature_c=20.0, **cold)
    assert "82 %RH at the temperature of the slab, is near the limit" in wait.why_none


def test_without_air_it_is_said_what_is_assumed() -> None:
    """Nothing in visits, logs or tests."""
    wait = _wait(90.0, visit=Visit("v1", READ), air_rh_pct=None, air_temperature_c=None)
    assert "no air is recorded" in wait.sentence


def test_the_acclimation_log_counts_too() -> None:
    """Where the visit states none."""
    log = (AmbientReading(READ, 20.0, 84.0, 20.0),)
    visit = Visit("v1", READ, acclimation=log)
    assert _wait(90.0, visit=visit, air_rh_pct=None, air_temperature_c=None).why_none


@pytest.mark.parametrize("on", ["ground", "below-ground", ""])
@pytest.mark.parametrize("membrane", ["none", "damaged"])
def test_a_slab_wetted_from_below_gets_no_day(on: str, membrane: str) -> None:
    """The ground goes on wetting it."""
    wait = _wait(90.0, slab=replace(SLAB, on=on, membrane=membrane))
    assert "the ground goes on wetting the slab" in wait.why_none
    assert "No day can be named" in wait.sentence


def test_a_suspended_slab_needs_no_membrane() -> None:
    """Nor does one over a membrane that was seen get a word on what lies below."""
    assert not _wait(90.0, slab=replace(SLAB, on="suspended", membrane="none")).why_none
    seen = _wait(90.0, slab=replace(SLAB, membrane="seen-intact"))
    assert "not recorded" not in seen.sentence
    assert "What lies below it is not recorded" in _wait(90.0).sentence


def test_a_covered_slab_gets_no_day() -> None:
    """Nor one that was covered in between; one that will be covered does."""
    covered = replace(SLAB, covered=date(2025, 9, 1))
    assert "covered on 2025-09-01" in _wait(90.0, slab=covered).why_none
    lifted = replace(covered, lifted=date(2026, 1, 10))
    assert "to 2026-01-10 and evened out" in _wait(90.0, slab=lifted).why_none
    later = replace(SLAB, covered=(AS_OF + timedelta(days=30)).date())
    assert not _wait(90.0, slab=later).why_none


def test_tests_that_rise_get_no_day() -> None:
    """By more than one probe in one hole differs: find the water."""
    wait = _wait(88.0, 89.0, 90.0)
    assert "rises: 88.0 %RH on 2026-02-09, 90.0 %RH on 2026-03-09" in wait.why_none
    assert "find the water" in wait.why_none


def test_a_fall_is_credited_no_faster_than_it_was() -> None:
    """The slower the tests fell to it, the later; a fast fall changes nothing."""
    fast, slow = _wait(95.0, 92.5, 90.0).days, _wait(90.6, 90.3, 90.0).days
    assert fast.value < slow.value
    assert fast.low < slow.low
    steady = decide(_survey(90.1, 90.0, 90.0))
    assert steady.spots[0].wait is not None
    assert steady.spots[0].wait.days.value == float("inf")


@pytest.mark.parametrize("plan", [100.0, 150.0, 200.0])
def test_of_two_thicknesses_the_later_day_is_given(plan: float) -> None:
    """What the hole and the slab state: no end is sooner than by either alone."""
    slab = replace(SLAB, thickness_mm=plan)
    both = _wait(90.0, slab=slab, depth_mm=60.0, thickness_mm=150.0)
    alone = [
        _wait(90.0, slab=replace(SLAB, thickness_mm=one), depth_mm=60.0) for one in (plan, 150.0)
    ]
    for end in ("low", "value", "high"):
        assert getattr(both.days, end) >= max(getattr(one.days, end) for one in alone)
    assert ("150 mm thick and 200 mm" in both.sentence) == (plan == 200.0)


def test_a_worse_record_brings_no_end_forward() -> None:
    """A test that is not valid is less sure; that alone is no drier slab."""
    good = _wait(90.0).days
    poor = _wait(90.0, service_conditions=False, drift_pct=None, conditioned_hours=None).days
    for end in ("low", "value", "high"):
        assert getattr(poor, end) >= getattr(good, end)
