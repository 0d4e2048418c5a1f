"""A test speaks for wet floor near it that is not far wetter, whatever zones the map makes."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_tests import READ, SLAB, decide, floor, good_test
from shapely.geometry import box

from moisturemap.acceptance.wet_reach import WetReadings
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import READING_COLUMNS, Instrument, ScanSettings, Visit
from moisturemap.workflow.study import study

REACH = 4.2
PLACES = np.stack([one.ravel() for one in np.meshgrid(np.arange(12.0), np.arange(3.0))], axis=1)


def readings(height: np.ndarray) -> WetReadings:
    """A strip of 12 x 3 m read every metre over a floor that reads 30, wet from 35 on."""
    room = np.full(len(height), "shop")
    return WetReadings(PLACES, 30.0 + height, height, height > 5.0, room, 0.5)


def test_a_damp_bridge_does_not_make_a_far_test_speak():
    height = np.full(len(PLACES), 10.0)
    height[PLACES[:, 0] <= 1.0] = 20.0
    height[PLACES[:, 0] >= 10.0] = 20.0
    found = readings(height).beyond(np.array([[0.0, 1.0]]), REACH)
    assert set(PLACES[found, 0]) == set(np.arange(5.0, 12.0))
    assert readings(height).value[found[0]] == 50.0
    assert not readings(height).beyond(np.array([[0.0, 1.0], [8.0, 1.0], [11.0, 1.0]]), 5.0).size


def test_a_test_at_the_foot_does_not_speak_for_the_top():
    height = np.full(len(PLACES), 8.0)
    height[PLACES[:, 0] == 2.0] = 20.0
    found = readings(height).beyond(np.array([[4.0, 1.0], [9.0, 1.0]]), REACH)
    assert set(PLACES[found, 0]) == {2.0}
    assert not readings(height).beyond(np.array([[2.0, 1.0], [9.0, 1.0]]), 6.0).size


def test_without_a_test_all_wet_floor_is_left():
    height = np.where(PLACES[:, 0] < 3.0, 9.0, 1.0)
    assert len(readings(height).beyond(np.zeros((0, 2)), REACH)) == 9


@pytest.mark.thorough
@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.integers(0, 40), min_size=36, max_size=36),
    st.lists(st.integers(0, 20), min_size=36, max_size=36),
    st.lists(st.integers(0, 35), min_size=0, max_size=4),
)
def test_readings_raised_away_from_tests_never_ask_for_less(height, more, tested):
    before = np.array(height, dtype=float)
    away = np.ones(len(before), dtype=bool)
    away[tested] = False
    after = before + np.where(away, more, 0)
    tests = PLACES[tested].reshape(-1, 2)
    had, has = (set(readings(one).beyond(tests, REACH)) for one in (before, after))
    assert had <= has


def hall(*wet: tuple[float, float]):
    """A hall of 16 x 8 m, damp along its middle, tested by each wall and at some wet places."""
    x, y = (one.ravel() for one in np.meshgrid(np.arange(0.25, 16, 0.5), np.arange(0.25, 8, 0.5)))
    value = 30.0 + np.random.default_rng(3).normal(0, 1.0, x.size)
    value += np.where((x > 1.5) & (x < 14.5) & (y > 3) & (y < 5), 16.0, 0.0)
    frame = pd.DataFrame(dict.fromkeys(READING_COLUMNS, ""), index=range(x.size))
    more = {"visit": "v1", "instrument": "scan", "repeat": 0, "time": pd.NaT}
    frame = frame.assign(x=x, y=y, value=value.round(), reading=range(1, x.size + 1), **more)
    tests = [(0.6, 1.5), (15.4, 6.5), (8.0, 0.6), (8.0, 7.4), *wet]
    return floor(
        [good_test(number, *at, value=76.0) for number, at in enumerate(tests, start=1)],
        plan=FloorPlan((Room("shop", box(0, 0, 16, 8), SLAB),)),
        visits=(Visit("v1", READ - timedelta(days=5)),),
        instruments={
            **floor([]).instruments,
            "scan": Instrument("scan", "relative", scale=(0.0, 100.0)),
        },
        readings=frame.assign(raw=frame["value"].astype(str)),
        scan=ScanSettings(dry_reference=(29.0, 30.0, 31.0, 30.0, 32.0, 29.0, 31.0, 28.0)),
    )


@pytest.mark.thorough
def test_one_test_at_an_end_of_long_wet_floor_does_not_speak_for_the_other():
    survey = hall((2.0, 4.0))
    decision = decide(survey, study(survey))
    assert decision.verdict == "not proven"
    assert any("of wet floor near (1" in reason for reason in decision.reasons)


@pytest.mark.thorough
def test_tests_within_reach_along_it_do():
    survey = hall((2.0, 4.0), (10.0, 4.0))
    assert decide(survey, study(survey)).verdict == "meets"
