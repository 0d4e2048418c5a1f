"""Readings of which no zone speaks keep a floor from passing: off plan, under a level too high."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap import read_survey, study
from moisturemap.acceptance import unmapped
from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.floorplan.joint import polygons_of
from moisturemap.survey import USED_FLAGS, Instrument, ScanSettings
from moisturemap.zones import standing_out

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"
WORDS = "above the wet level lie in no room of the plan"

NO_REFERENCE = SimpleNamespace(dry_reference=())


@pytest.mark.thorough
def test_a_wet_part_taken_off_the_plan_still_asks_for_a_test() -> None:
    """The wettest quarter of a floor is cut off its plan: what was read there is not forgotten."""
    survey = read_survey(DEMO)
    whole = study(survey, with_holes=False)
    assert not any(WORDS in one.why for one in places_without_map(survey, whole))
    top = survey.readings.sort_values("value").iloc[-1]
    room = survey.plan.rooms[0]
    cut = box(top["x"] - 1.0, top["y"] - 1.0, top["x"] + 1.0, top["y"] + 1.0)
    parts = polygons_of(room.polygon.difference(cut))
    left = max(parts, key=lambda one: one.area)
    plan = FloorPlan((replace(room, polygon=left),), survey.plan.lines)
    smaller = replace(survey, plan=plan)
    found = [
        one
        for one in places_without_map(smaller, study(smaller, with_holes=False))
        if WORDS in one.why
    ]
    assert len(found) == 1
    assert found[0].value == top["value"]


@pytest.mark.parametrize(
    ("scan", "why"),
    [
        (ScanSettings(wet_level=90.0), "stand far above the floor around them"),
        (ScanSettings(dry_reference=(70.0, 71.0, 69.0)), "reads above half of the floor"),
    ],
)
def test_a_level_too_high_asks_for_a_test_at_the_highest_reading(
    scan: ScanSettings, why: str
) -> None:
    """No zone is drawn under it; the wettest floor is asked for all the same."""
    survey = replace(read_survey(DEMO), scan=scan)
    mapped = study(survey, with_holes=False)
    assert mapped.zones.empty
    (found,) = (one for one in places_without_map(survey, mapped) if why in one.why)
    used = mapped.readings[mapped.readings["flag"].isin(USED_FLAGS)]
    assert found.value == used["value"].max()


@pytest.mark.thorough
def test_wet_floor_beside_a_zone_is_asked_for_as_without_one() -> None:
    """A level under which one high place makes the only zone hides the rest of the wet floor."""
    survey = read_survey(DEMO)
    readings = survey.readings.copy()
    corner = int(readings["value"].argmin())
    block = np.hypot(readings["x"] - readings["x"][corner], readings["y"] - readings["y"][corner])
    readings.loc[block < 1.0, ["value", "raw"]] = [95.0, "95"]
    high = replace(survey, readings=readings, scan=ScanSettings(wet_level=75.0))
    mapped = study(high, with_holes=False)
    assert not mapped.zones.empty
    found = [one for one in places_without_map(high, mapped) if "far above" in one.why]
    assert max(one.value for one in found) == 95.0
    assert any(50.0 < one.value < 75.0 for one in found)


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ({"anomaly": "L1"}, 1),
        ({"anomaly": "L1", "confirmed": True}, 0),
        ({"anomaly": "L2"}, 0),
    ],
)
def test_a_line_that_a_narrow_wet_band_reads_like_is_swept_before_a_floor_meets(
    changed: dict[str, object], asked: int
) -> None:
    """No test beside it settles it; a line that hides nothing, or is confirmed, asks nothing."""
    survey = read_survey(DEMO)
    mapped = study(survey, with_holes=False)
    table = mapped.anomalies.head(1).assign(**{"confirmed": False, "standing": "thing", **changed})
    readings = mapped.readings.copy()
    high = readings["value"].nlargest(3).index
    readings.loc[high, ["flag", "anomaly"]] = ["line", "L1"]
    found = replace(mapped.found, table=table, readings=readings)
    places = places_without_map(survey, replace(mapped, found=found))
    swept = [one for one in places if one.instead]
    assert len(swept) == asked
    assert all("sweep the scanner across it" in one.instead for one in swept)


SOUTH = LineString([(0.5, 0.5), (5.5, 0.5)])


@pytest.mark.parametrize(
    ("readings", "service", "swept", "asked"),
    [
        (12, None, False, 1),
        (2, None, False, 0),
        (12, SOUTH, False, 0),
        (12, None, True, 0),
        (4, SOUTH, False, 1),
    ],
)
def test_a_row_far_above_the_floor_and_below_the_level_is_tested_beside(
    readings: int, service: LineString | None, swept: bool, asked: int
) -> None:
    """Rain at the foot of a wall reads like a pipe along it; it met without a word."""
    lines = () if service is None else (PlanLine("known-service", service, "pipe"),)
    plan = FloorPlan((Room("shop", box(0, 0, 6, 4)),), lines)
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0.25, 6, 0.5), np.arange(0.5, 4, 0.5)))
    table = pd.DataFrame({"x": x, "y": y, "value": 30 + np.arange(x.size) % 3 - 1.0})
    table = table.assign(flag="clear", anomaly="", censored="")
    row = np.flatnonzero(y == 0.5)[:readings]
    table.loc[row, ["value", "flag", "anomaly"]] = [52.0, "line", "L1"]
    if swept:
        across = pd.DataFrame({"x": 3.1, "y": 0.2 + 0.1 * np.arange(9), "value": 30.0})
        table = pd.concat([table, across.assign(flag="clear", anomaly="", censored="")])
    named = {"anomaly": "L1", "kind": "line", "standing": "thing", "room": "shop"}
    study_ = SimpleNamespace(
        readings=table.reset_index(drop=True),
        anomalies=gpd.GeoDataFrame([named], geometry=[SOUTH]),
        survey=SimpleNamespace(plan=plan, scan=NO_REFERENCE),
        visit=NO_REFERENCE,
        wet=SimpleNamespace(level=SimpleNamespace(value=60.0), unsure=box(0, 0, 0, 0)),
        clean=SimpleNamespace(repeat_sd=1.0, instrument=Instrument("meter")),
    )
    found = unmapped._below_the_level(study_)
    assert len(found) == asked
    assert all(one.within_m == 1.0 and one.value == 52.0 for one in found)


def test_dry_floor_read_again_beside_a_small_wet_patch_says_nothing_of_it() -> None:
    """A patch seen on a grid of 0.25 m was forgotten after one of 1 m that passed it."""
    x, y = (
        part.ravel() for part in np.meshgrid(np.arange(0.125, 6, 0.25), np.arange(0.125, 4, 0.25))
    )
    places = np.column_stack([x, y])
    value = 30 + 45 * np.exp(-0.5 * ((x - 2.5) ** 2 + (y - 3.5) ** 2) / 0.27**2)
    patch = value > 60
    beside = unmapped._read_again(places, value, np.array([[2.1, 3.1], [4.5, 1.5]]))
    assert not beside[patch].any()
    on_it = unmapped._read_again(places, value, np.array([[2.45, 3.55]]))
    assert on_it[patch].all()
    wide = np.where(x < 3, 70.0, 30.0)
    coarse = np.column_stack(
        [part.ravel() for part in np.meshgrid([0.5, 1.5, 2.5], [0.5, 1.5, 2.5, 3.5])]
    )
    assert unmapped._read_again(places, wide, coarse)[x < 2.9].all()


def test_readings_far_above_a_floor_read_twice_are_one_group() -> None:
    """A test at the peak of a wet bump speaks for its rim, however often each place was read."""
    places = np.array([(x, y) for x in np.arange(0.25, 6, 0.5) for y in np.arange(0.25, 4, 0.5)])
    bump = 45.0 * np.exp(-((places[:, 0] - 4.5) ** 2 + (places[:, 1] - 1.0) ** 2) / 2.0)
    value = np.random.default_rng(1).normal(30.0, 1.0, len(places)) + bump
    once = pd.DataFrame({"x": places[:, 0], "y": places[:, 1], "value": value, "flag": "clear"})
    twice = pd.concat([once, once.assign(value=once["value"] + 0.5)])
    plan = FloorPlan((Room("hall", box(0, 0, 6, 4)),))
    mapped = SimpleNamespace(
        readings=twice,
        clean=SimpleNamespace(repeat_sd=0.4, instrument=Instrument("meter")),
        wet=SimpleNamespace(level=SimpleNamespace(value=45.0), unsure=Point()),
        survey=SimpleNamespace(plan=plan, scan=NO_REFERENCE),
        visit=NO_REFERENCE,
    )
    (high,) = standing_out.standing_out(mapped)
    assert high.value == twice["value"].max()


def scanned(value, **columns) -> SimpleNamespace:
    """A floor of 6 by 4 m read every 0.5 m, no zone drawn."""
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0.25, 6, 0.5), np.arange(0.25, 4, 0.5)))
    noise = np.random.default_rng(3).normal(0.0, 1.0, x.size)
    usual = {"flag": "clear", "raw": "30", "note": "", "reason": "", "visit": "v2"}
    table = pd.DataFrame({"x": x, "y": y, "value": value(x, y) + noise} | usual | columns)
    level = SimpleNamespace(value=80.0)
    return SimpleNamespace(
        readings=table,
        visit=SimpleNamespace(id="v2", dry_reference=()),
        clean=SimpleNamespace(repeat_sd=0.8, step=1.0, instrument=Instrument("meter")),
        wet=SimpleNamespace(level=level, unsure=Point(), zones=gpd.GeoDataFrame(geometry=[])),
        survey=SimpleNamespace(plan=FloorPlan((Room("shop", box(0, 0, 6, 4)),)), scan=NO_REFERENCE),
    )


@pytest.mark.parametrize(
    ("value", "asked"),
    [
        (lambda x, y: 30.0 + 5.0 * x, True),
        (lambda x, y: np.where(x > 3.0, 42.0, 30.0), True),
        (lambda x, y: np.full(x.size, 30.0), False),
    ],
)
def test_a_floor_that_rises_to_one_side_is_tested_there_whatever_the_level(value, asked) -> None:
    """A level far too high, or none, drew no zone, and tests at the dry side met."""
    found = standing_out.uneven(scanned(value))
    assert bool(found) is asked
    assert all(min(x for x, _ in one.places) > 2.5 for one in found)


@pytest.mark.parametrize(
    ("note", "asked"),
    [
        ("standing water, pipe leaking?", 1),
        ("wet to touch", 1),
        ("nass am Rand", 1),
        ("wet, no access beyond", 1),
        ("dry at the wall, damp in the middle", 1),
        ("not wet", 0),
        ("no signs of damp", 0),
        ("damp-proof course ends", 0),
        ("behind the shelf", 0),
    ],
)
@pytest.mark.parametrize("blank", [True, False])
def test_a_note_of_water_asks_for_a_test_there(note: str, asked: int, blank: bool) -> None:
    """Beside a dry reading as in place of one."""
    scan_ = scanned(lambda x, y: np.full(x.size, 30.0))
    change = {"note": note} | ({"raw": "", "flag": "not-numeric"} if blank else {})
    for name, text in change.items():
        scan_.readings.loc[40, name] = text
    found = unmapped._written(scan_)
    assert len(found) == asked
    assert all(one.places == ((2.25, 1.75),) and note in one.why for one in found)


def test_what_stood_far_above_the_floor_on_a_part_not_walked_again_is_asked() -> None:
    """A patch of an earlier visit, below the level; the later visit walked the other half."""
    study_ = scanned(lambda x, y: np.full(x.size, 30.0))
    before = study_.readings.iloc[:3].assign(visit="v1", value=[48.0, 31.0, 29.0])
    standing = pd.concat([before, study_.readings]).assign(instrument="meter")
    (high,) = unmapped._earlier(study_, standing)
    assert high.value == 48.0
    assert "far above the floor were not read again" in high.why


def test_the_rim_of_a_doubtful_peak_asks_for_no_test_of_its_own() -> None:
    """A test beside the peak was refused for the clear readings at its foot."""
    study_ = scanned(lambda x, y: np.full(x.size, 30.0))
    table = study_.readings
    at = table.set_index(["x", "y"]).index
    table.loc[at == (3.25, 2.25), ["value", "flag"]] = [72.0, "contested"]
    table.loc[at == (3.25, 2.75), "value"] = 42.0
    (high,) = standing_out.standing_out(study_)
    assert high.places[0] == (3.25, 2.25)


def test_the_highest_clear_reading_is_not_called_the_highest_of_all() -> None:
    """64 was called the highest where 73 is listed as contested, and a test stands at that."""
    study_ = scanned(lambda x, y: np.full(x.size, 30.0))
    at = study_.readings.set_index(["x", "y"]).index
    study_.readings.loc[at == (3.25, 2.25), ["value", "flag"]] = [73.0, "contested"]
    study_.readings.loc[at == (1.25, 3.75), "value"] = 64.0
    by_value = {one.value: one.where for one in standing_out.standing_out(study_)}
    assert by_value[73.0] == "at the highest of them"
    assert by_value[64.0] == "at the highest of them that is not contested"


def test_of_two_peaks_alike_side_by_side_neither_is_the_rim_of_the_other() -> None:
    """One is doubtful, the other is not, and a test is asked."""
    study_ = scanned(lambda x, y: np.full(x.size, 30.0))
    at = study_.readings.set_index(["x", "y"]).index
    study_.readings.loc[at == (3.25, 2.25), ["value", "flag"]] = [60.0, "contested"]
    study_.readings.loc[at == (3.25, 2.75), "value"] = 60.0
    assert len(standing_out.standing_out(study_)) == 2
