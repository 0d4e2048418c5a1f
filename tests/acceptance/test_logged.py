"""Loggers and logs of machines against the tests that were read beside them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from invented_tests import AROUND, LIMIT, READ, decide, floor, good_tests, hood

from moisturemap.survey import LoggerSeries, MachineEntry, MachineLog

HOURS = tuple(float(hour) for hour in range(0, 24 * 12, 6))
BEGAN = READ - timedelta(days=8)


def logger(rh: float, place: str = "hole", **changes: object) -> LoggerSeries:
    made = {"x": 4.0, "y": 3.0, "depth_mm": 60.0, "room": "shop", "temperature_c": 20.0} | changes
    warmth = (made.pop("temperature_c"),) * len(HOURS)
    return LoggerSeries(
        id="L1",
        place=place,
        began=BEGAN,
        hours=HOURS,
        rh_pct=(rh,) * len(HOURS),
        temperature_c=warmth,
        **made,
    )


def verdict(tests: list[dict], **changes: object) -> tuple[str, str]:
    decision = decide(floor(tests, **changes))
    return decision.verdict, " ".join(decision.reasons)


@pytest.mark.parametrize(("rh", "meets"), [(84.0, True), (88.0, False)])
def test_a_logger_in_a_hole_above_the_limit_asks_for_a_test(rh: float, meets: bool):
    """The highest governs (trade practice): what reads above the limit beside tests is asked."""
    found, why = verdict(good_tests(), loggers=(logger(rh),))
    assert (found == "meets") is meets, why
    assert ("logger L1 in a hole at 60 mm of shop read 88 %RH" in why) is not meets


def test_deep_floor_is_damper_by_nature():
    assert verdict(good_tests(), loggers=(logger(95.0, depth_mm=130.0),))[0] == "meets"
    assert verdict(good_tests(), loggers=(logger(99.6, depth_mm=130.0),))[0] == "not proven"


def test_a_sensor_that_settles_is_not_yet_asked():
    settling = (98.0,) * 4 + (80.0,) * (len(HOURS) - 4)
    early = replace(logger(80.0), rh_pct=settling)
    assert verdict(good_tests(), loggers=(early,))[0] == "meets"


@pytest.mark.parametrize(
    ("air", "meets"), [({"rh": 48.0}, True), ({"rh": 90.0}, False), ({"rh": 48.0, "c": 6.0}, False)]
)
def test_a_logger_in_the_air_is_the_log_of_the_room(air: dict, meets: bool):
    """ASTM F2170: service conditions for 48 h before and during the test."""
    series = logger(air["rh"], "air", temperature_c=air.get("c", 21.0), depth_mm=None)
    found, why = verdict(good_tests(), loggers=(series,))
    assert (found == "meets") is meets, why


def test_hoods_read_drier_than_the_logged_air_are_not_valid():
    tests = [hood(n, x, y, 68.0) for n, (x, y) in enumerate(AROUND, start=1)]
    limit = replace(LIMIT, method="hood-rh")
    air = logger(90.0, "air", depth_mm=None)
    assert verdict(tests, limit=limit)[0] == "meets"
    assert verdict(tests, limit=limit, loggers=(air,))[0] == "not proven"


@pytest.mark.parametrize(
    ("days", "room", "meets"), [(2, "", False), (2, "store", True), (30, "", True)]
)
def test_a_machine_that_ran_under_hoods_by_its_log_is_asked_about(
    days: int, room: str, meets: bool
):
    """Artificial drying is off four days before and during (UK practice after BS 8203)."""
    tests = [hood(n, x, y, 68.0) for n, (x, y) in enumerate(AROUND, start=1)]
    entry = MachineEntry(when=READ - timedelta(days=days), litres=8.0, run_hours=24.0)
    log = MachineLog(machine="D1", entries=(entry,), room=room)
    found, why = verdict(tests, limit=replace(LIMIT, method="hood-rh"), machine_logs=(log,))
    assert (found == "meets") is meets, why
    assert ("the log of machine D1 has it running" in why) is not meets
