"""Loggers and logs of machines that contradict what a floor is cleared by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from invented_tests import AROUND, READ, SLAB, decide, floor, good_tests, hood, surface_test, tool
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import (
    AmbientReading,
    Limit,
    LoggerSeries,
    MachineEntry,
    MachineLog,
    Survey,
    Visit,
)

ROOM = Room("shop", box(0, 0, 8, 6), replace(SLAB, service_temperature_c=20.0, service_rh_pct=50.0))
AT_TEST = (0.6, 3.0)


def logger(
    place: str, rh: Sequence[float], warmth: float = 20.0, ended: datetime = READ, **more: object
) -> LoggerSeries:
    """A series of six-hourly entries up to a moment."""
    began = ended - timedelta(hours=6 * (len(rh) - 1))
    hours = tuple(6.0 * n for n in range(len(rh)))
    warm = (warmth,) * len(rh)
    made = {"room": "shop", "depth_mm": 60.0 if place == "hole" else None, **more}
    return LoggerSeries(
        id="L1", place=place, began=began, hours=hours, rh_pct=tuple(rh), temperature_c=warm, **made
    )


def with_logger(one: LoggerSeries, **changes: object) -> Survey:
    return floor(good_tests(), plan=FloorPlan((ROOM,)), loggers=(one,), **changes)


def test_a_logger_below_the_limit_in_ordinary_air_says_nothing():
    hole = logger("hole", [79.0] * 20)
    air = logger("air", [50.0] * 20)
    assert decide(with_logger(hole)).verdict == "meets"
    assert decide(with_logger(air)).verdict == "meets"


@pytest.mark.parametrize(
    "one",
    [
        logger("hole", [91.0] * 20),
        logger("hole", [70.0] * 16 + [88.0] * 8, ended=READ + timedelta(days=2)),
        logger("hole", [91.0] * 20, room="", x=4.0, y=3.0),
        logger("hole", [91.0] * 20, room=""),
    ],
)
def test_a_hole_that_reads_above_the_limit_is_conflicting_evidence(one):
    """The highest governs (ASTM F2170, secondary); of a logger it proves nothing, either way."""
    decision = decide(with_logger(one))
    assert decision.verdict == "not proven"
    assert "logger L1, sealed 60 mm deep in shop, reads" in decision.reasons[0]


def test_a_hole_that_dried_before_the_tests_contradicts_nothing():
    falls = logger("hole", [95.0] * 12 + [80.0] * 8)
    long_ago = logger("hole", [95.0] * 12, ended=READ - timedelta(days=20))
    assert decide(with_logger(falls)).verdict == "meets"
    assert decide(with_logger(long_ago)).verdict == "meets"


def test_a_test_where_the_logger_sits_settles_it_unless_it_rose_since():
    there = logger("hole", [91.0] * 20, x=AT_TEST[0], y=AT_TEST[1])
    rose = replace(there, began=there.began + timedelta(days=2))
    assert decide(with_logger(there)).verdict == "meets"
    assert decide(with_logger(rose)).verdict == "not proven"


def test_a_deep_sensor_is_held_by_what_a_covering_would_face():
    """Deep floor is damper than what settles under a covering; far above the limit it is wet."""
    damper = logger("hole", [86.0] * 20, depth_mm=140.0)
    wet = logger("hole", [97.0] * 20, depth_mm=140.0)
    assert decide(with_logger(damper)).verdict == "meets"
    assert decide(with_logger(wet)).verdict == "not proven"


def test_a_wet_hole_contradicts_a_limit_of_another_quantity():
    made = {"value": 1.5, "unit": "CM-%", "sample_mass_g": 50.0, "placed": None}
    tests = [surface_test(n, *place, "carbide", **made) for n, place in enumerate(AROUND, 1)]
    changes = {"limit": Limit("carbide", 2.0, "CM-%", "sheet 5"), "plan": FloorPlan((ROOM,))}
    changes["instruments"] = tool("carbide")
    dry = floor(tests, loggers=(logger("hole", [88.0] * 20),), **changes)
    wet = floor(tests, loggers=(logger("hole", [96.0] * 20),), **changes)
    assert not any("logger" in one for one in decide(dry).reasons)
    assert any("logger L1" in one for one in decide(wet).reasons)


@pytest.mark.parametrize(
    "one",
    [
        logger("air", [90.0] * 20),
        logger("surface", [90.0] * 20),
        logger("air", [50.0] * 20, 6.0),
        logger("air", [65.0] * 20),
        logger("air", [90.0] * 6 + [50.0] * 2),
    ],
)
def test_air_that_was_not_as_stated_or_not_in_service_is_not_proven(one):
    """48 h at service conditions before and during a test (ASTM F2170 section 9, secondary)."""
    decision = decide(with_logger(one))
    assert decision.verdict == "not proven"
    assert "logger L1 has" in decision.reasons[0]


def _air(when: datetime, warmth: float, rh: float) -> AmbientReading:
    return AmbientReading(when=when, air_temperature_c=warmth, air_rh_pct=rh)


@pytest.mark.parametrize(("hours", "verdict"), [(20, "not proven"), (100, "meets")])
def test_a_cold_entry_of_the_log_while_a_test_ran_is_asked_about(hours, verdict):
    times = [READ - timedelta(hours=12 * n) for n in range(12)]
    log = [_air(when, 20.0, 50.0) for when in times]
    cold = READ - timedelta(hours=hours)
    log.append(_air(cold, 4.0, 90.0))
    visit = Visit("v1", READ, acclimation=tuple(sorted(log, key=lambda one: one.when)))
    tests = good_tests()
    survey = floor(tests, plan=FloorPlan((ROOM,)), visits=(visit,))
    assert decide(survey).verdict == verdict


def machine(days: Sequence[int], room: str = "shop", hours: float = 24.0) -> MachineLog:
    entries = [MachineEntry(when=READ + timedelta(days=n), run_hours=hours) for n in days]
    return MachineLog(machine="D1", entries=tuple(entries), room=room)


@pytest.mark.parametrize(
    ("log", "asked"),
    [
        (machine(range(-9, 0)), True),
        (machine(range(-9, 0), ""), True),
        (machine(range(-20, -9)), False),
        (machine(range(-9, 0), hours=0.0), False),
        (machine(range(1, 4)), False),
    ],
)
def test_a_machine_that_ran_by_its_log_in_the_room_of_hoods_is_asked_about(log, asked):
    """Artificial drying is off four days before a hood and under it (after BS 8203, secondary)."""
    tests = [hood(n, *place, value=70.0) for n, place in enumerate(AROUND, 1)]
    survey = floor(tests, machine_logs=(log,), limit=Limit("hood-rh", 75.0, "%RH", "sheet 4"))
    assert any("the log of D1" in one for one in decide(survey).reasons) is asked


def test_beside_tests_in_the_depth_a_running_machine_is_told():
    survey = floor(good_tests(), machine_logs=(machine(range(-9, 0)),))
    decision = decide(survey)
    assert decision.verdict == "meets"
    assert any("the log of D1" in one for one in decision.reasons)
