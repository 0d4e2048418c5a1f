"""Layers nobody can place, layers too young, and machines beside tests."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest
from invented_floors import made_test
from invented_tests import AROUND, READ, SLAB, decide, floor, good_tests, tool
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import EQUIPMENT_COLUMNS, Limit, Visit

HOOD = Limit("hood-rh", 85.0, "%RH", "sheet")
CARBIDE = Limit("carbide", 2.0, "CM-%", "sheet")


def on(**changes: object) -> FloorPlan:
    """The shop on another slab."""
    return FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, **changes)),))


@pytest.mark.parametrize("base", ["foo", "raised access floor panel", "sand", "magnesite screed"])
def test_a_layer_of_unknown_material_is_not_cleared(base):
    """Whether method and limit hold for it nobody can tell."""
    decision = decide(floor(good_tests(), plan=on(base=base)))
    assert decision.verdict == "not proven"


@pytest.mark.parametrize("base", ["Bodenplatte", "dalle", "slab on grade", "reinforced concrete"])
def test_words_for_slabs_are_known(base):
    """In the words people use."""
    assert decide(floor(good_tests(), plan=on(base=base))).verdict == "meets"


def test_asphalt_has_no_humidity_to_test():
    """No test in it is valid."""
    decision = decide(floor(good_tests(), plan=on(base="mastic asphalt")))
    assert decision.verdict == "not proven"
    assert all(one.standing == "invalid" for one in decision.judged)


@pytest.mark.parametrize(
    ("days", "verdict"), [(3, "not proven"), (30, "not proven"), (60, "meets")]
)
def test_no_slab_is_dry_within_a_quarter_of_a_day_a_millimetre(days, verdict):
    """By hood; 150 mm take 38 days at least, and in truth a year."""
    tests = [made_test("hood-rh", x, y, 75.0) for x, y in AROUND]
    tests = [{**one, "test": n, "hole": f"H{n}"} for n, one in enumerate(tests, 1)]
    young = on(placed=(READ - timedelta(days=days)).date())
    assert decide(floor(tests, limit=HOOD, plan=young)).verdict == verdict


@pytest.mark.parametrize(
    ("base", "verdict"), [("cement screed", "not proven"), ("rapid-drying cement screed", "meets")]
)
def test_a_screed_made_to_dry_fast_may_be_young(base, verdict):
    """Its maker says when; five days of 65 mm."""
    tests = [made_test("carbide", x, y, 1.5) for x, y in AROUND]
    tests = [
        {**one, "test": n, "hole": f"H{n}", "depth_mm": 60.0, "thickness_mm": 65.0}
        for n, one in enumerate(tests, 1)
    ]
    young = on(base=base, thickness_mm=65.0, heated=False, placed=(READ - timedelta(days=5)).date())
    found = decide(floor(tests, limit=CARBIDE, plan=young, instruments=tool("carbide")))
    assert found.verdict == verdict, found.reasons


@pytest.mark.parametrize(
    ("method", "verdict"), [("hood-rh", "not proven"), ("in-situ-rh", "meets")]
)
def test_machines_recorded_beside_tests_are_not_passed_over(method, verdict):
    """Hoods wait for an answer; beside tests in the depth they are told."""
    tests = [made_test(method, x, y, 75.0) for x, y in AROUND]
    tests = [{**one, "test": n, "hole": f"H{n}"} for n, one in enumerate(tests, 1)]
    limit = {"limit": HOOD} if method == "hood-rh" else {}
    survey = floor(tests, **limit)
    machine = {"machine": "D1", "kind": "dehumidifier", "x": 5.0, "y": 3.0}
    machine["visit"] = survey.visits[0].id
    rows = pd.DataFrame([machine]).reindex(columns=list(EQUIPMENT_COLUMNS))
    survey = replace(survey, equipment=rows)
    decision = decide(survey)
    assert decision.verdict == verdict, decision.reasons
    assert any("D1" in reason for reason in decision.reasons)


@pytest.mark.parametrize(
    ("visits", "verdict"),
    [
        ({"v0": -8.5}, "meets"),
        ({"v0": -7.5}, "not proven"),  # the hoods stood from four days before the reading on
        ({"v0": -20.0, "v2": 3.0}, "not proven"),
        ({"v0": None}, "not proven"),
        ({"v2": 3.0}, "meets"),
    ],
)
def test_machines_listed_before_and_after_a_test_stood_beside_it(visits, verdict):
    """A visit lists those that are entered anew; on no known day they may have stood there."""
    tests = [made_test("hood-rh", x, y, 75.0) for x, y in AROUND]
    tests = [{**one, "test": n, "hole": f"H{n}"} for n, one in enumerate(tests, 1)]
    survey = floor(tests, limit=HOOD)
    days = {k: None if d is None else READ + timedelta(days=d) for k, d in visits.items()}
    early = [Visit(k, d) for k, d in days.items() if k == "v0"]
    late = [Visit(k, d) for k, d in days.items() if k != "v0"]
    machine = {"machine": "D1", "kind": "dehumidifier", "x": 5.0, "y": 3.0}
    rows = pd.DataFrame([{**machine, "visit": one} for one in visits])
    survey = replace(
        survey,
        visits=(*early, *survey.visits, *late),
        equipment=rows.reindex(columns=list(EQUIPMENT_COLUMNS)),
    )
    decision = decide(survey, as_of=READ + timedelta(days=4))
    assert decision.verdict == verdict, decision.reasons


@pytest.mark.parametrize("said", ["client asked", "the probe was fine", "to be on the safe side"])
def test_a_reason_that_names_no_fault_does_not_clear_a_failure(said):
    """99 %RH, and 74 four days later."""
    first, *others = good_tests()
    wet = {**first, "test": 9, "value": 99.0}
    wet |= {k: v - timedelta(days=4) for k, v in first.items() if hasattr(v, "tzinfo")}
    again = {**first, "reread_reason": said}
    assert decide(floor([wet, again, *others])).verdict == "exceeds"
