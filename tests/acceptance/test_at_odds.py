"""Tests at odds with the plan, with their visit, with the covering and with each other."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from invented_tests import (
    AROUND,
    LIMIT,
    READ,
    SLAB,
    decide,
    floor,
    good_tests,
    hood,
    mver,
    surface_test,
    tool,
)
from shapely.geometry import LineString, box

from moisturemap.acceptance.at_odds import at_odds
from moisturemap.acceptance.covering_kinds import of_another_covering
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.survey import Limit, Visit


def hoods(rise: float = 0.0, **changes: object) -> list[dict]:
    """Four hoods, one by each wall, that all rose by so much."""
    second = {"second_value": 68.0 + rise}
    return [
        hood(n, x, y, 68.0, **{**second, **changes}) for n, (x, y) in enumerate(AROUND, start=1)
    ]


def said(tests: list[dict], **changes: object) -> str:
    """What is at odds where all tests may speak; "" for nothing."""
    limit = replace(LIMIT, method=tests[0]["method"])
    decision = decide(floor(tests, **{"limit": limit, **changes}))
    assert any(one.judged for one in decision.judged)
    return " ".join(at_odds(floor(tests, **{"limit": limit, **changes}), decision.judged))


def of_base(base: str) -> FloorPlan:
    return FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, base=base)),))


def test_a_good_record_is_at_odds_with_nothing():
    assert said(good_tests()) == said(hoods()) == ""


@pytest.mark.parametrize(
    "base",
    [
        "cement screed 65 on insulation over cellar, oak parquet still laid",
        "concrete slab under plywood overlay",
        "concrete slab with bitumen adhesive",
        "concrete slab with surface DPM",
        "Betonplatte mit Teppichkleber",
        "concrete slab, vinyl tiles not yet removed",
        "concrete slab with 3 mm latex",
        "concrete slab, sealed with primer",
        "Beton mit Altbelag",
        "dalle béton avec ancienne colle",
    ],
)
def test_a_hood_on_a_floor_that_is_named_covered_is_asked_about(base: str):
    assert "hides what the floor holds" in said(hoods(), plan=of_base(base))


@pytest.mark.parametrize(
    "base",
    [
        "concrete slab on DPM",
        "cement screed on bitumen sheet",
        "concrete slab, vinyl removed",
        "concrete slab over old tiles",
    ],
)
def test_what_lies_below_or_was_taken_up_covers_nothing(base: str):
    assert said(hoods(), plan=of_base(base)) == ""


def test_depth_of_a_covered_slab_is_read_all_the_same():
    assert said(good_tests(), plan=of_base("concrete slab, parquet still laid")) == ""


def test_a_hole_on_a_drawn_service_is_asked_about():
    """A full-depth hole there would have met it."""
    for y, met in ((3.02, True), (3.3, False)):
        loop = PlanLine("known-service", LineString([(0, y), (8, y)]), "heating loop")
        plan = replace(of_base(SLAB.base), lines=(loop,))
        assert ("lies on heating loop" in said(good_tests(), plan=plan)) is met


def test_one_hood_stands_at_one_place_at_a_time():
    assert "two places of one room" in said(hoods(hole="A"))
    first, *others = hoods()
    moved = {"placed": READ + timedelta(hours=30), "read": READ + timedelta(hours=130)}
    later = {**first, **moved, "test": 9, "second_read": READ + timedelta(hours=156)}
    assert said([first, {**later, "x": 5.0}, *others]) == ""


@pytest.mark.parametrize(("rise", "asked"), [(1.0, True), (0.5, True), (0.2, False), (-1.0, False)])
def test_hoods_that_all_rise_have_not_settled(rise: float, asked: bool):
    assert ("may still be rising" in said(hoods(rise))) is asked


def test_one_hood_that_rises_by_the_step_of_the_display_has():
    first, *others = hoods()
    assert said([{**first, "second_value": 69.0}, *others]) == ""


@pytest.mark.parametrize(
    ("days", "asked"), [(0.0, False), (-60.0, False), (80.0, True), (3.0, False), (-365.0, True)]
)
def test_a_visit_is_of_the_days_of_its_tests(days: float, asked: bool):
    visits = (Visit("v1", READ + timedelta(days=days)),)
    assert ("belong to another day" in said(good_tests(), visits=visits)) is asked


@pytest.mark.parametrize(
    ("covering", "asked"),
    [
        ("tiles; solid oak parquet in the alcove", True),
        ("Teppich und Linoleum", True),
        ("carpet tiles", False),
        ("vinyl sheet", False),
        ("PVC; 2,5 mm", False),
        ("", False),
    ],
)
def test_two_coverings_under_one_limit_are_asked_about(covering: str, asked: bool):
    found = said(good_tests(), details={"covering": covering})
    assert ("limits of their own" in found) is asked


@pytest.mark.parametrize(
    ("source", "covering", "asked"),
    [
        ("data sheet of the tile adhesive", "vinyl sheet", True),
        ("Merkblatt Fliesenkleber", "Parkett", True),
        ("data sheet of the epoxy adhesive", "vinyl sheet", False),
        ("sheet of adhesive 7, for vinyl and tiles", "vinyl tiles", False),
        ("data sheet of the adhesive", "vinyl sheet", False),
        ("data sheet of the tile adhesive", "", False),
    ],
)
def test_a_limit_of_another_covering_is_asked_about(source: str, covering: str, asked: bool):
    survey = floor([], details={"covering": covering})
    found = of_another_covering(survey, replace(LIMIT, source=source))
    assert ("of a document for another covering" in found) is asked


def test_a_limit_of_another_covering_keeps_a_floor_from_meeting():
    limit = replace(LIMIT, source="data sheet of the tile adhesive")
    decision = decide(floor(good_tests(), limit=limit, details={"covering": "vinyl sheet"}))
    assert decision.verdict == "not proven"
    assert "another covering" in " ".join(decision.reasons)


def test_what_is_at_odds_keeps_a_floor_from_meeting():
    details = {"covering": "tiles; oak parquet"}
    assert decide(floor(good_tests(), details=details)).verdict == "not proven"
    assert decide(floor(good_tests())).verdict == "meets"


def test_a_limit_told_by_mouth_is_none():
    limit = replace(LIMIT, source="verbal by phone")
    decision = decide(floor(good_tests(), limit=limit))
    assert decision.verdict == "not proven"
    assert "in writing" in " ".join(decision.reasons)


@pytest.mark.parametrize(
    ("source", "open_"),
    [
        ("sheet 12, only with DPM primer", True),
        ("sheet 12, for slabs with a membrane", True),
        ("Merkblatt 4, nur mit Grundierung", True),
        ("sheet 12, only with DPM primer (cleared: A. Berg, 2026-03-12)", False),
        ("sheet 12 (cleared: A. Berg, 2026-03-12), unless heated", True),
        ("sheet 12, revision 3", False),
    ],
)
def test_a_limit_on_a_condition_holds_once_the_condition_was_looked_into(source, open_):
    """Nobody knows from the record alone whether the primer is laid."""
    decision = decide(floor(good_tests(), limit=replace(LIMIT, source=source)))
    assert (decision.verdict == "not proven") is open_
    assert ("holds on a condition" in " ".join(decision.reasons)) is open_


@pytest.mark.parametrize(
    ("lifted", "covered"), [(None, True), (date(2026, 3, 11), True), (date(2026, 3, 2), False)]
)
def test_a_hood_on_a_floor_that_is_covered_by_its_days_is_asked_about(lifted, covered: bool):
    slab = replace(SLAB, covered=date(2026, 1, 10), lifted=lifted)
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))
    assert ("shop was covered when" in said(hoods(), plan=plan)) is covered
    assert said(good_tests(), plan=plan) == ""


@pytest.mark.parametrize(("slab_c", "asked"), [(12.0, True), (20.0, False)])
def test_a_dish_on_a_cold_slab_is_asked_about(slab_c: float, asked: bool):
    """ASTM F1869: slab and air at service conditions for 48 h before and during the test."""
    warmth = {"temperature_c": slab_c, "slab_temperature_c": slab_c}
    dishes = [
        {**mver(2.0, **warmth), "test": n, "hole": f"H{n}", "x": x, "y": y}
        for n, (x, y) in enumerate(AROUND, start=1)
    ]
    limit = Limit("mver", 3.0, "lb/1000 ft2/24 h", "sheet")
    found = said(dishes, limit=limit, instruments=tool("mver"))
    assert ("stood on a slab of 12 °C" in found) is asked


@pytest.mark.parametrize(
    ("before", "day_only", "asked"), [(1, "", True), (30, "", False), (1, "read", False)]
)
def test_no_sample_is_dried_in_an_hour(before: int, day_only: str, asked: bool):
    masses = {"wet_mass_g": 101.0, "dry_mass_g": 100.0, "tare_g": 0.0}
    taken = {"placed": None, "drilled": READ - timedelta(hours=before), "day_only": day_only}
    samples = [
        surface_test(
            n,
            x,
            y,
            "oven-dry",
            value=1.0,
            unit="mass-%",
            drying_temperature_c=105.0,
            **masses,
            **taken,
        )
        for n, (x, y) in enumerate(AROUND, start=1)
    ]
    limit = Limit("oven-dry", 4.0, "mass-%", "sheet")
    found = said(samples, limit=limit, instruments=tool("oven-dry"))
    assert ("h before its result" in found) is asked


@pytest.mark.parametrize(
    ("taken", "day_only", "asked"),
    [
        (READ.replace(hour=0), "drilled read", True),
        (READ.replace(hour=0), "drilled", True),
        (READ.replace(hour=0) - timedelta(days=1), "drilled read", False),
        (READ.replace(hour=0) - timedelta(days=1), "drilled", False),
    ],
)
def test_no_sample_is_dried_on_the_day_it_was_taken(taken, day_only: str, asked: bool):
    """Weighings a day apart (ISO 12570, from memory): a day without a time hides no such haste."""
    read = READ.replace(hour=0) if "read" in day_only else READ.replace(hour=23)
    masses = {"wet_mass_g": 101.0, "dry_mass_g": 100.0, "tare_g": 0.0}
    times = {"placed": None, "drilled": taken, "read": read, "day_only": day_only}
    x, y = AROUND[0]
    sample = surface_test(
        1, x, y, "oven-dry", value=1.0, unit="mass-%", drying_temperature_c=105.0, **masses, **times
    )
    limit = Limit("oven-dry", 4.0, "mass-%", "sheet")
    found = said([sample], limit=limit, instruments=tool("oven-dry"))
    assert ("on the day of its result" in found) is asked


@pytest.mark.parametrize(
    ("details", "asked"),
    [
        ({"covering": "vinyl sheet, laid 20 Feb 2026"}, True),
        ({"covering": "LVT installed March 1"}, True),
        ({"covering": "vinyl, already down"}, True),
        ({"covering": "vinyl tiles laid and failing"}, True),
        ({"note": "covering is down since 1 March"}, True),
        ({"note": "vinyl laid on 1 March, came loose"}, True),
        ({"covering": "loose laid vinyl"}, False),
        ({"covering": "glued-down LVT, to be laid in May"}, False),
        ({"covering": "vinyl sheet laid in wet adhesive"}, False),
        ({"covering": "vinyl, not yet laid"}, False),
        ({"covering": "vinyl, laid 1998, removed in January"}, False),
        ({"covering": "LVT installed March 1 (cleared: A. Berg, 2026-03-12)"}, False),
        ({"note": "slab laid on 1 March 2025"}, False),
    ],
)
def test_a_covering_that_lies_by_its_words_asks_for_its_day(details, asked: bool):
    """Read beneath a covering a floor is no longer as it was when it was covered."""
    told = said(good_tests(), details=details)
    assert ("states the day it was covered" in told) is asked
    slab = replace(SLAB, covered=date(2026, 2, 20))
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))
    assert "states the day" not in said(good_tests(), details=details, plan=plan)
