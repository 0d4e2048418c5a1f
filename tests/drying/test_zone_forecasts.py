"""What is said beside the forecasts of a floor."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest
from invented_visits import Recipe, Wet, invent
from shapely.geometry import box

from moisturemap.drying.forecast import Forecast
from moisturemap.drying.machines_moved import machines_moved
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.rises import Rise
from moisturemap.drying.zone_forecasts import machines_gone, with_rises_beside
from moisturemap.survey import EQUIPMENT_COLUMNS
from moisturemap.workflow.drying import compare_visits


def with_machines(listed: dict[int, list[tuple[str, float]]], days=(0.0, 7.0, 14.0), tau=12.0):
    """A floor with a wet patch, and by visit the machines listed: kind and x."""
    recipe = Recipe(days=days, wets=(Wet(3.0, 3.5, 40.0, 1.5, tau),))
    survey = invent(recipe, 3).survey
    rows = [
        {"visit": survey.visits[k].id, "machine": f"M{n}", "kind": kind, "x": x, "y": 1.0}
        for k, machines in listed.items()
        for n, (kind, x) in enumerate(machines)
    ]
    machines = pd.DataFrame(rows, columns=list(EQUIPMENT_COLUMNS))
    return replace(survey, equipment=machines)


ONE = [("dehumidifier", 1.0)]
NEAR = [("dehumidifier", 3.0)]
TWO = [*ONE, ("air-mover", 2.0)]


@pytest.mark.parametrize(
    ("listed", "told"),
    [
        ({}, ""),
        ({0: ONE, 1: ONE, 2: ONE}, ""),
        ({2: ONE}, ""),
        ({0: ONE, 1: ONE}, "Machines are listed on v2 and none on v3:"),
        ({0: ONE}, "Machines are listed on v1 and none on v3:"),
        ({1: TWO, 2: ONE}, "Fewer machines stand on v3 than on v2:"),
        ({1: ONE, 2: TWO}, ""),
        ({1: TWO, 2: [("air-mover", 9.0), ("dehumidifier", 3.0)]}, ""),
        ({1: ONE, 2: [("dehumidifier", -9.0)]}, "Fewer machines stand on v3 than on v2:"),
    ],
)
def test_machines_that_no_longer_stand_are_told(listed, told) -> None:
    """What dried with machines dries on more slowly without them; one moved about stays."""
    known = with_machines(listed)
    room = known.plan.room_at(3.0, 3.5).name
    said = machines_gone(SimpleNamespace(survey=known, visit=known.visits[-1]), room)
    assert said.startswith(told)
    assert bool(said) is bool(told)


def test_three_visits_without_machines_tell_how_it_dries_without_them() -> None:
    """Then nothing is said."""
    known = with_machines({0: ONE}, days=(0.0, 7.0, 14.0, 21.0))
    assert machines_gone(SimpleNamespace(survey=known, visit=known.visits[-1])) == ""


def test_a_floor_tells_its_forecasts_of_machines_that_no_longer_stand() -> None:
    """No zone nor the floor gets a latest day, whatever else keeps it open."""
    days = (0.0, 7.0, 14.0, 21.0)
    floor = with_machines(dict.fromkeys(range(3), ONE), days, tau=40.0)
    gone = compare_visits(floor).drying.forecasts
    assert gone
    assert not any(math.isfinite(one.high) for one in gone)


@pytest.mark.parametrize(
    ("listed", "told"),
    [
        ({1: ONE, 2: ONE}, ""),
        ({2: ONE}, ""),
        ({1: ONE}, ""),
        ({1: ONE, 2: [("dehumidifier", 2.0)]}, ""),
        ({1: ONE, 2: [("dehumidifier", 9.0)]}, "The nearest dehumidifier stands 5.2 m from zone A"),
        ({1: ONE, 2: [*ONE, ("dehumidifier", 9.0)]}, ""),
        ({1: [("air-mover", 2.0)], 2: [("air-mover", 9.0)]}, "The nearest air mover stands 5.2 m"),
    ],
)
def test_a_machine_moved_off_a_zone_is_told(listed, told) -> None:
    """What dried beside a machine dries on otherwise without it; one that stays counts."""
    known = with_machines(listed)
    zone = box(2.0, 2.5, 4.0, 4.5)
    said = machines_moved(SimpleNamespace(survey=known, visit=known.visits[-1]), zone, "A")
    assert said.startswith(told)
    assert bool(said) is bool(told)


@pytest.mark.parametrize(
    ("listed", "moved"), [(dict.fromkeys(range(6), NEAR), None), ({4: NEAR, 5: NEAR}, 9.0)]
)
def test_a_zone_its_machines_left_gets_no_latest_day(listed, moved) -> None:
    """Beside the same machines it has one."""
    days = tuple(7.0 * k for k in range(6))
    floor = with_machines(listed, days, tau=35.0)
    if moved is not None:
        last = floor.equipment["visit"] == floor.visits[-1].id
        floor.equipment.loc[last, "x"] = moved
    found = compare_visits(floor).drying.forecasts
    assert found
    assert any(math.isfinite(one.high) for one in found) is (moved is None)


@pytest.mark.parametrize("moved", [0.0, 8.0, -8.0])
def test_a_reference_that_moved_on_the_latest_visit_leaves_no_latest_day(moved) -> None:
    """The floor reads as forecast, so the reference was likely read on other floor."""
    days = tuple(7.0 * k for k in range(6))
    wets = (Wet(3.0, 3.5, 40.0, 1.5, 35.0),)
    known = invent(Recipe(days=days, wets=wets, dry_reference=8), 3).survey
    last = known.visits[-1]
    read = tuple(value + moved for value in last.dry_reference)
    known = replace(known, visits=(*known.visits[:-1], replace(last, dry_reference=read)))
    found = compare_visits(known).drying.forecasts
    assert found
    assert any(math.isfinite(one.high) for one in found) is (moved == 0.0)


PATCH, BESIDE = box(1.0, 1.0, 3.0, 3.0), box(5.0, 3.0, 7.0, 4.0)


def with_rise(areas: list[str], rises: list[Rise]) -> Forecast:
    """The forecast of a floor whose one zone dries, where other floor rose."""
    zone = Forecast("A", 45.0, "relative", 17.0, 11.0, 34.0, "", 0.08, "")
    floor = Forecast("floor", 45.0, "relative", 17.0, 11.0, 34.0, "", 0.08, "")
    table = gpd.GeoDataFrame({"area": areas, "kind": ["rising"] * len(areas)})
    visit = SimpleNamespace(id="v6", started=None)
    wet = SimpleNamespace(zones=gpd.GeoDataFrame({"zone": ["A"]}, geometry=[PATCH]))
    latest = SimpleNamespace(visit=visit, wet=wet)
    return with_rises_beside((zone, floor), table, rises, latest, DryingOptions())[-1]


def risen(begin: str, end: str, where) -> Rise:
    return Rise(begin, end, "hall", where.area, 6.0, 3.5, 17.0, where)


@pytest.mark.parametrize(
    ("areas", "rises", "place"),
    [
        (["R1"], [], "R1"),
        ([], [risen("v5", "v6", BESIDE)], "2.0 m2 round (6.0, 3.5) in hall"),
        ([], [risen("v4", "v5", BESIDE)], ""),
        ([], [risen("v5", "v6", PATCH)], ""),
        ([], [], ""),
    ],
)
def test_a_floor_has_no_day_while_part_of_it_takes_up_water(areas, rises, place) -> None:
    """Beside "possible active leak" stood between which days the whole floor would be dry."""
    floor = with_rise(areas, rises)
    assert floor.why_open == ("rising" if place else "")
    assert math.isinf(floor.high) is bool(place)
    if place:
        assert floor.kept_wet >= 0.9
        assert f"rose on floor outside the zones ({place})" in floor.sentence
