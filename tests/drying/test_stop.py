"""What the records of the latest visit say against a latest day."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from invented_visits import Recipe, Wet, invent

from moisturemap.drying import find_stop
from moisturemap.drying.damp_air import break_even, dry_humidity, too_damp
from moisturemap.drying.noted import latest_notes
from moisturemap.survey import Limit, Survey, Visit
from moisturemap.survey.drying_note_words import note_kind
from moisturemap.workflow.drying import compare_visits

SATURATION_PA = {10.0: 1228.2, 12.0: 1402.8, 19.0: 2197.8, 20.0: 2339.2}
"""Over water, ASHRAE Handbook - Fundamentals (2017), chapter 1, table 3 (from memory)."""


def air(key: str, air_c: float, rh: float, slab_c: float | None = None) -> Visit:
    """A visit with a record of the air."""
    return Visit(key, air_temperature_c=air_c, air_rh_pct=rh, slab_temperature_c=slab_c)


def limit(value: float, unit: str = "%RH") -> Limit:
    """A limit of the job."""
    return Limit("hood-rh", value, unit, "invented")


GOOD = [air(f"v{k}", 20.0, 50.0, 19.0) for k in range(1, 5)]


@pytest.mark.parametrize(("air_c", "rh", "slab_c"), [(12, 85, 10), (20, 50, 19), (20, 97, 19)])
def test_the_break_even_humidity_is_that_of_a_table_of_pressures(air_c, rh, slab_c) -> None:
    """Vapour pressure of the room over that of saturation at the slab."""
    expected = rh * SATURATION_PA[air_c] / SATURATION_PA[slab_c]
    assert break_even(air("v1", air_c, rh, slab_c)) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("latest", "wanted", "told"),
    [
        (air("v5", 20, 50, 19), None, ""),
        (air("v5", 12, 85, 10), None, "a slab at 10.0 °C does not dry below 97 %RH, and 75 %RH"),
        (air("v5", 20, 97, 19), None, "takes up water, however wet it is"),
        (air("v5", 20, 80), None, "a slab as warm as the air does not dry below 80 %RH"),
        (air("v5", 20, 65, 18.5), None, "on average: how fast it fell then"),
        (air("v5", 20, 60, 19), None, ""),
        (air("v5", 20, 60, 19), limit(63), "63 %RH is wanted at most"),
        (air("v5", 18, 85, 18), limit(90), "75 %RH is wanted at most"),
        (air("v5", 18, 85, 18), limit(2.0, "CM-%"), "75 %RH is wanted at most"),
        (Visit("v5"), None, ""),
    ],
)
def test_air_in_which_the_slab_does_not_dry_is_told(latest, wanted, told) -> None:
    """By the vapour pressure at its surface against that of the room."""
    said = too_damp([*GOOD, latest], wanted)
    assert told in said
    assert bool(said) is bool(told)


def test_a_limit_in_another_unit_leaves_the_hood_limit() -> None:
    """It tells no equilibrium humidity."""
    assert [dry_humidity(one) for one in (None, limit(0.5, "CM-%"), limit(70))] == [75, 75, 70]


@pytest.mark.parametrize(
    ("note", "kind"),
    [
        ("ceiling still dripping near column, bucket emptied", "water"),
        ("Decke tropft noch", "water"),
        ("flaque, fuite au mur", "water"),
        ("leak repaired, still dripping", "water"),
        ("leak not repaired", "water"),
        ("machines and heating taken away this evening, windows stay open", "changed"),
        ("D1 tripped? fans off on arrival", "changed"),
        ("removed two air movers", "changed"),
        ("Trockner abgebaut", "changed"),
        ("Heizung ausgefallen seit Montag", "changed"),
        ("surface warmed with heat gun and wiped before reading", "treated"),
        ("Stelle trockengewischt", "treated"),
        ("", ""),
        ("no leak found", ""),
        ("leak repaired on Monday", ""),
        ("12 l water from the dehumidifier tank", ""),
        ("machines were not switched off", ""),
        ("fans off for the readings", ""),
        ("dust wiped off", ""),
        ("door to yard, cold corner", ""),
        ("heating on, 20 C", ""),
        ("fans 2 m off the wall", ""),
        ("took readings near the fan", ""),
        ("took the fans home", "changed"),
    ],
)
def test_what_a_note_tells_of(note: str, kind: str) -> None:
    """Words of water, of machines and heating taken away, of surfaces warmed or wiped."""
    assert note_kind(note) == kind


@pytest.fixture(scope="module")
def drying_floor() -> Survey:
    """A small wet patch that dries, read weekly."""
    recipe = Recipe(width=6, depth=5, days=(0.0, 7.0, 14.0, 21.0, 28.0), wet_level=40.0)
    return invent(replace(recipe, wets=(Wet(3.0, 2.5, 40.0, 1.5, 30.0),)), 3).survey


def changed(survey: Survey, **latest: object) -> Survey:
    """The same floor with another record of the latest visit."""
    return replace(survey, visits=(*survey.visits[:-1], replace(survey.visits[-1], **latest)))


@pytest.mark.parametrize(
    ("latest", "why", "water"),
    [
        ({}, "", False),
        ({"note": "ceiling still dripping"}, "noted", True),
        ({"note": "fans taken away"}, "noted", False),
        ({"air_temperature_c": 20.0, "air_rh_pct": 97.0, "slab_temperature_c": 19.0}, "air", False),
        ({"air_temperature_c": 68.0, "air_rh_pct": 50.0}, "record", False),
        ({"slab_temperature_c": 66.0}, "record", False),
        ({"air_rh_pct": 0.5}, "record", False),
    ],
)
def test_what_the_latest_visit_says_stops_a_latest_day(drying_floor, latest, why, water) -> None:
    """Its note before its air."""
    survey = changed(drying_floor, **latest)
    stop = find_stop(survey, survey.visits, survey.plan.rooms[0].name)
    assert (stop.why, stop.water) == (why, water)
    assert ("No latest day" in stop.sentence) is bool(why)


@pytest.mark.parametrize(
    "note",
    [
        *("power off from tonight", "windows left on tilt", "grinding with water", "roof open"),
        *("sprinkler test tomorrow", "pallets stacked on the wet area", "read through the vinyl"),
        *("read with another pad", "tank full, had stopped", "new pour next door", "frost"),
        "Fenster auf Kipp",
    ],
)
def test_a_note_nobody_knows_to_be_harmless_stops_a_latest_day(drying_floor, note) -> None:
    """No list of what changes drying is complete; a question costs a minute."""
    survey = changed(drying_floor, note=note)
    room = survey.plan.rooms[0].name
    stop = find_stop(survey, survey.visits, room)
    assert stop.why == "noted"
    assert note in stop.sentence
    cleared = changed(drying_floor, note=f"{note} (cleared: A. B., 2026-03-12)")
    assert find_stop(cleared, cleared.visits, room).why == ""


@pytest.mark.parametrize(
    "note",
    [
        *("machines running, tank emptied, 12 l", "same grid, same meter", "heating on, 20 C"),
        *("weekly visit", "no leak found", "alle Geräte laufen", "drying continues, no change"),
    ],
)
def test_a_note_of_drying_that_goes_on_does_not(drying_floor, note) -> None:
    """Words for machines at work and for visits on which nothing changed."""
    survey = changed(drying_floor, note=note)
    assert find_stop(survey, survey.visits, survey.plan.rooms[0].name).why == ""


def test_a_floor_with_a_note_of_water_gets_no_latest_day(drying_floor) -> None:
    """It is quoted first, "not before" stays, and no chance is told by the readings alone."""
    found = compare_visits(changed(drying_floor, note="ceiling still dripping")).drying
    assert found.statements[0].startswith("Noted on v5: 'ceiling still dripping'.")
    assert found.forecasts
    for one in found.forecasts:
        assert (one.why_open, one.high) == ("noted", math.inf)
        assert math.isfinite(one.low)
        assert "Chance that something keeps it wet" not in one.sentence
        assert one.kept_wet >= 0.5
    assert "No latest day. Noted on v5: 'ceiling still dripping'." in found.forecasts[0].sentence


def test_notes_beside_readings_of_the_latest_visit_count(drying_floor) -> None:
    """Those of a visit before it do not: what it read since tells of them."""
    table = drying_floor.readings.copy()
    for visit, count in (("v4", 0), ("v5", 1)):
        rows = table.index[table["visit"] == visit][:3]
        noted = table.assign(note=table["note"].where(~table.index.isin(rows), "wiped dry"))
        own = next(one for one in drying_floor.visits if one.id == "v5")
        found = latest_notes(own, replace(drying_floor, readings=noted))
        assert len(found) == count
    assert found[0].quoted.startswith("Noted beside 3 readings of v5, the first at (")
    assert "read it again as it is" in found[0].sentence
