"""Tests that were read before the floor took up water."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from invented_tests import AROUND, READ, decide, floor, good_test, good_tests, probe

from moisturemap.survey import READING_COLUMNS, Instrument, Visit

LATER = READ + timedelta(hours=12)


def scan(visit: str, rise, seed: int) -> pd.DataFrame:
    """A calm floor read every metre, and what is added at places (n, 2)."""
    xy = np.array([(x, y) for x in np.arange(0.5, 8, 1.0) for y in np.arange(0.5, 6, 1.0)])
    value = 30.0 + np.random.default_rng(seed).normal(0, 1.0, len(xy)) + rise(xy)
    frame = pd.DataFrame(dict.fromkeys(READING_COLUMNS, ""), index=range(len(xy)))
    more = {"visit": visit, "instrument": "scan", "repeat": 0, "time": pd.NaT}
    return frame.assign(x=xy[:, 0], y=xy[:, 1], value=value, **more)


def verdict(rise, tests: list[dict] | None = None, dry: tuple[tuple[float, ...], ...] = ((), ())):
    """Decide on a floor scanned before its tests were read and half a day after."""
    readings = [scan("v1", lambda xy: 0.0, 1), scan("v2", rise, 2)]
    visits = (
        Visit("v1", READ - timedelta(days=1), dry_reference=dry[0]),
        Visit("v2", LATER, dry_reference=dry[1]),
    )
    meters = {"P1": probe(), "scan": Instrument("scan", "relative", scale=(0.0, 100.0))}
    made = floor(
        tests or good_tests(value=75.0),
        visits=visits,
        instruments=meters,
        readings=pd.concat(readings, ignore_index=True).assign(reading=range(1, 97)),
    )
    return decide(made)


def near(place: tuple[float, float], reach: float = 1.0):
    """A rise of 25 around a place."""
    return lambda xy: 25.0 * (np.hypot(*(xy - place).T) < reach)


def test_a_floor_that_rose_after_its_tests_is_not_cleared():
    """A flood raises all readings; the dry references did not move."""
    decision = verdict(lambda xy: 25.0, dry=((30.0, 31.0, 30.0), (30.0, 30.0, 31.0)))
    assert decision.verdict == "not proven"
    assert any("visit v2" in one and "H1" in one and "H4" in one for one in decision.reasons)


@pytest.mark.parametrize("place", AROUND)
def test_one_tested_place_that_rose_is_named(place):
    """The others still speak for their places."""
    decision = verdict(near(place))
    number = AROUND.index(place) + 1
    (reason,) = [one for one in decision.reasons if "reads higher than before" in one]
    assert decision.verdict == "not proven"
    assert f"H{number} at" in reason
    assert sum(f"H{k} at" in reason for k in range(1, 5)) == 1


def risen(rise, **more) -> bool:
    """Whether a place is said to have risen."""
    return any("reads higher than before" in one for one in verdict(rise, **more).reasons)


@pytest.mark.thorough
def test_noise_and_the_drift_of_a_meter_are_no_rise():
    """What a calm floor shows a day later says nothing against its tests."""
    assert not risen(lambda xy: 0.0)
    assert not risen(lambda xy: 2.0)
    assert not risen(lambda xy: 4.0, dry=((30.0, 31.0, 30.0), (34.0, 34.0, 35.0)))
    assert risen(lambda xy: 9.0, dry=((30.0, 31.0, 30.0), (31.0, 31.0, 30.0)))


def test_a_test_read_again_there_since_settles_it():
    """By what it reads then."""
    place = AROUND[0]
    again = good_test(
        9,
        *place,
        75.0,
        visit="v2",
        read=LATER + timedelta(hours=4),
        placed=LATER - timedelta(hours=30),
        lined=LATER - timedelta(hours=31),
        drilled=LATER - timedelta(hours=32),
    )
    assert not risen(near(place), tests=[*good_tests(value=75.0), again])


def test_a_floor_read_twice_at_each_place_rises_as_one_read_once():
    """Also where the later walk went a quarter of a metre beside the first."""
    readings = pd.concat([scan("v1", lambda xy: 0.0, 1)] * 2 + [scan("v2", lambda xy: 25.0, 2)] * 2)
    beside = np.where(readings["visit"] == "v2", 0.25, 0.0)
    readings = readings.assign(x=readings["x"] + beside, reading=range(1, len(readings) + 1))
    visits = (
        Visit("v1", READ - timedelta(days=1), dry_reference=(30.0, 31.0, 30.0)),
        Visit("v2", LATER, dry_reference=(30.0, 30.0, 31.0)),
    )
    meters = {"P1": probe(), "scan": Instrument("scan", "relative", scale=(0.0, 100.0))}
    made = floor(good_tests(value=75.0), visits=visits, instruments=meters, readings=readings)
    assert any("reads higher than before" in one for one in decide(made).reasons)


@pytest.mark.parametrize(
    ("before", "since", "told"),
    [(0.0, 25.0, True), (25.0, 25.0, False), (0.0, 0.0, False), (25.0, 0.0, False)],
)
def test_another_meter_shows_a_tested_place_that_stands_out_since(before, since, told):
    """Scales never merge: each scan is held against its own dry floor."""
    wet, place = AROUND[0], AROUND.index(AROUND[0]) + 1
    first = scan("v1", lambda xy: before / 25.0 * near(wet)(xy), 1)
    second = scan("v2", lambda xy: since / 25.0 * near(wet)(xy), 2)
    second = second.assign(instrument="other", value=2.0 * second["value"])
    meters = {
        "P1": probe(),
        "scan": Instrument("scan", "relative", scale=(0.0, 100.0)),
        "other": Instrument("other", "relative", scale=(0.0, 200.0)),
    }
    made = floor(
        good_tests(value=75.0),
        visits=(Visit("v1", READ - timedelta(days=1)), Visit("v2", LATER)),
        instruments=meters,
        readings=pd.concat([first, second], ignore_index=True).assign(reading=range(1, 97)),
    )
    said = [one for one in decide(made).reasons if "with another meter, stands clearly" in one]
    assert bool(said) is told
    assert not told or f"H{place}" in said[0]
