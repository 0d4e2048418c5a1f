"""Readings of which no zone speaks keep a floor from passing: off plan, under a level too high."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import box

from moisturemap import read_survey, study
from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.floorplan import FloorPlan
from moisturemap.floorplan.joint import polygons_of
from moisturemap.survey import USED_FLAGS, ScanSettings

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"
WORDS = "above the wet level lie in no room of the plan"


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
