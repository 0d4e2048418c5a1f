"""Readings above the wet level that lie in no room keep a floor from passing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from shapely.geometry import box

from moisturemap import read_survey, study
from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.floorplan import FloorPlan
from moisturemap.floorplan.joint import polygons_of

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"
WORDS = "above the wet level lie in no room of the plan"


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
