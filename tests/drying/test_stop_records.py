"""Rooms, machines, logs and holes at depth that take a latest day away."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pandas as pd
import pytest
from invented_visits import Recipe, Wet, invent
from shapely.geometry import box

from moisturemap.drying import find_stop
from moisturemap.drying.deep_stop import deep_doubt
from moisturemap.survey import AmbientReading, LoggerSeries, MachineEntry, MachineLog, Survey

ZONE = box(2.0, 2.0, 4.0, 3.0)


@pytest.fixture(scope="module")
def floor() -> Survey:
    """A small wet patch that dries, read weekly, 100 mm of concrete below it."""
    recipe = Recipe(width=6, depth=5, days=(0.0, 7.0, 14.0, 21.0, 28.0), wet_level=40.0)
    survey = invent(replace(recipe, wets=(Wet(3.0, 2.5, 40.0, 1.5, 30.0),)), 3).survey
    [room] = survey.plan.rooms
    slab = replace(room.slab, base="concrete slab", thickness_mm=100.0, drying_faces=1)
    plan = replace(survey.plan, rooms=(replace(room, slab=slab),))
    visits = [replace(one, air_rh_pct=50.0, air_temperature_c=20.0) for one in survey.visits]
    return replace(survey, plan=plan, visits=tuple(visits))


def days(survey: Survey, number: float) -> datetime:
    """A time so many days before the latest visit."""
    return survey.visits[-1].started - timedelta(days=number)


def stop_of(survey: Survey):
    return find_stop(survey, survey.visits, survey.plan.rooms[0].name)


def with_machine(survey: Survey, note: str) -> Survey:
    row = {"machine": "D1", "visit": survey.visits[-1].id, "kind": "dehumidifier", "x": 1.0}
    return replace(survey, equipment=pd.DataFrame([{**row, "y": 1.0, "note": note}]))


@pytest.mark.parametrize(
    ("note", "stops"),
    [
        *((one, True) for one in ("switched off", "defekt", "standby", "en panne", "tank full")),
        *((one, False) for one in ("", "running", "fan on max", "Stufe 2, läuft", "by the door")),
        ("defekt (cleared: A. B., 2026-03-01)", False),
    ],
)
def test_a_machine_that_may_not_work_takes_the_latest_day(floor, note, stops) -> None:
    """What is not made of words for a machine at work has to be cleared up by hand."""
    stop = stop_of(with_machine(floor, note))
    assert bool(stop.why) is stops
    assert ("machine D1" in stop.sentence) is stops


@pytest.mark.parametrize(("last", "stops"), [((24.0, 24.0), False), ((0.0, 0.0), True)])
def test_a_machine_whose_log_ends_without_work_takes_it(floor, last, stops) -> None:
    """It worked before and not in the two days before the latest visit."""
    hours = (24.0, 24.0, 24.0, *last)
    ends = [days(floor, 4.2 - k) for k in range(5)]
    entries = tuple(
        MachineEntry(when=when, run_hours=run) for when, run in zip(ends, hours, strict=True)
    )
    log = MachineLog(machine="D1", entries=entries, room=floor.plan.rooms[0].name)
    assert bool(stop_of(replace(floor, machine_logs=(log,))).why) is stops


@pytest.mark.parametrize(("covered", "stops"), [(20.0, True), (60.0, False), (None, False)])
def test_a_room_covered_while_it_is_followed_takes_it(floor, covered, stops) -> None:
    """What fell before was an open floor; a floor covered all along tells how it dries so."""
    day: date | None = None if covered is None else days(floor, covered).date()
    [room] = floor.plan.rooms
    room = replace(room, slab=replace(room.slab, covered=day))
    stop = stop_of(replace(floor, plan=replace(floor.plan, rooms=(room,))))
    assert bool(stop.why) is stops


@pytest.mark.parametrize(("humid", "stops"), [(92.0, True), (50.0, False)])
def test_a_damp_log_of_the_air_takes_it(floor, humid, stops) -> None:
    """The air of the days before counts, whatever the hour of the visit read."""
    log = tuple(AmbientReading(days(floor, k), 20.0, humid, 19.0) for k in (4, 3, 2, 1))
    latest = replace(floor.visits[-1], acclimation=log)
    assert bool(stop_of(replace(floor, visits=(*floor.visits[:-1], latest))).why) is stops


def test_a_note_of_the_survey_takes_it(floor) -> None:
    """Whatever it is kept beside."""
    noted = replace(floor, details={"note": "heating goes off on Monday"})
    assert "Noted of the survey" in stop_of(noted).sentence


@pytest.mark.parametrize(
    ("note", "stops"),
    [
        ("screed poured over this slab on 20 February", True),
        ("screed poured over this slab on 20 February (cleared: A. Berg, 2026-03-08)", False),
        ("hall by the stairs, machines running as before", False),
    ],
)
def test_a_note_of_the_survey_nobody_knows_takes_it(floor, note, stops) -> None:
    """A new wet layer was noted, and the latest day stood as before."""
    said = stop_of(replace(floor, details={"note": note})).sentence
    assert ("Noted of the survey" in said) is stops


def read_in_one_hole(survey: Survey, *read: tuple[float, float]) -> Survey:
    """Tests of one hole: days before the latest visit, and humidity."""
    row = {"hole": "H1", "method": "in-situ-rh", "depth_mm": 40.0, "x": 3.0, "y": 2.5}
    rows = [{**row, "read": days(survey, ago), "value": value} for ago, value in read]
    return replace(survey, tests=pd.DataFrame(rows))


@pytest.mark.parametrize(
    ("read", "high", "said"),
    [
        (((14.0, 92.0), (0.0, 92.0)), 5.0, "does not dry as the surface reads"),
        (((7.0, 82.0), (0.0, 90.0)), 500.0, "does not dry as the surface reads"),
        (((0.0, 95.0),), 5.0, "at best, whatever the surface shows"),
        (((14.0, 95.0), (0.0, 85.0)), 500.0, ""),
        (((14.0, 80.0), (0.0, 74.0)), 5.0, ""),
        (((28.0, 92.0), (21.0, 92.0)), 5.0, ""),
    ],
)
def test_holes_that_stay_wet_take_it(floor, read, high, said) -> None:
    """One that holds, and one that cannot come down so soon; not one that nobody read lately."""
    survey = read_in_one_hole(floor, *read)
    room = survey.plan.rooms[0].name
    found = deep_doubt(survey, survey.visits, ZONE, room, high)
    assert said in found
    assert bool(found) is bool(said)


def test_a_hole_elsewhere_tells_nothing_of_a_zone(floor) -> None:
    """Only holes in or beside it do."""
    survey = read_in_one_hole(floor, (14.0, 92.0), (0.0, 92.0))
    far = box(0.0, 0.0, 1.0, 1.0)
    assert deep_doubt(survey, survey.visits, far, survey.plan.rooms[0].name, 5.0) == ""


@pytest.mark.parametrize(("end", "stops"), [(92.0, True), (80.0, False)])
def test_a_logger_in_a_hole_counts_as_tests_do(floor, end, stops) -> None:
    """By its means of a day, a week apart."""
    hours = tuple(range(24 * 10))
    fall = (92.0 - end) / hours[-1]
    rh = tuple(92.0 - fall * hour for hour in hours)
    logger = LoggerSeries(
        id="L",
        place="hole",
        began=days(floor, 10),
        hours=hours,
        rh_pct=rh,
        temperature_c=(20.0,) * len(hours),
        x=3.0,
        y=2.5,
        depth_mm=40.0,
    )
    survey = replace(floor, loggers=(logger,))
    room = survey.plan.rooms[0].name
    assert bool(deep_doubt(survey, survey.visits, ZONE, room, 500.0)) is stops
