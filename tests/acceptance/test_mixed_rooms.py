"""Results, layers and records that do not go together: each was once said to meet.

Floors and records by a user who knew the trade and not the rules.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from invented_floors import made_test
from invented_tests import AROUND, READ, SLAB, decide, floor, good_test, good_tests, hood, tool
from invented_tests import probe as made_probe
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Limit

UNITS = {"pin": "%MC", "carbide": "CM-%", "oven-dry": "mass-%", "mver": "lb/1000 ft2/24 h"}
OWN = {"shop": Limit("in-situ-rh", 85.0, "%RH", "sheet 2")}
PINS = Limit("pin", 14.0, "%MC", "sheet of the parquet")


def by_tool(method: str, x: float, y: float, value: float) -> dict:
    """A test of any method by a tool T."""
    made = {**made_test(method, x, y, value), "method": method, "instrument": "T"}
    return made | {"unit": UNITS.get(method, "%RH"), "species": "oak", "hole": "X", "test": 20}


def pins_of(value: float, **changes: object) -> list[dict]:
    """A test with pins by each wall."""
    every = [{**by_tool("pin", *place, value), "instrument": "P1", **changes} for place in AROUND]
    return [{**one, "hole": f"N{n}", "test": n} for n, one in enumerate(every)]


def plan(**slab: object) -> FloorPlan:
    """The shop on another layer."""
    return FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, **slab)),))


@pytest.mark.parametrize(
    "astray", [{"x": 40.0}, {"room": "kichen"}, {"x": None, "y": None}], ids=str
)
@pytest.mark.parametrize("limits", [{}, {"limit": None, "room_limits": OWN}], ids=["one", "own"])
def test_a_failing_result_of_no_room_speaks_against_the_job(astray, limits):
    """Also where limits are stated room by room and none for the whole."""
    wet = {**good_test(9, 4.0, 3.0, value=99.0), **astray}
    assert decide(floor(good_tests(), **limits)).verdict == "meets"
    assert decide(floor([*good_tests(), wet], **limits)).verdict == "exceeds"


@pytest.mark.parametrize(
    ("base", "method", "value", "wet"),
    [
        ("concrete slab", "carbide", 3.5, True),
        ("concrete slab", "carbide", 1.9, False),
        ("concrete slab", "oven-dry", 7.9, True),
        ("concrete slab", "mver", 9.0, True),
        ("calcium sulphate screed", "oven-dry", 1.9, True),
        ("calcium sulphate screed", "oven-dry", 0.8, False),
    ],
)
def test_a_result_above_every_covering_contradicts_a_limit_of_coverings(base, method, value, wet):
    """2 CM-%, 4 mass-%, 5 lb/1000 ft2/24 h; a quarter by mass in calcium sulphate."""
    limit = Limit("hood-rh", 75.0, "%RH", "sheet")
    tests = [hood(n, x, y, value=65.0) for n, (x, y) in enumerate(AROUND, 1)]
    extra = by_tool(method, 4.0, 3.0, value)
    instruments = {"P1": made_probe(), "T": tool(method)["P1"]}
    made = floor([*tests, extra], plan=plan(base=base), limit=limit, instruments=instruments)
    said = [one for one in decide(made).reasons if one.startswith("X") and "is wet" in one]
    assert bool(said) is wet


@pytest.mark.parametrize(
    ("method", "value", "wet"),
    [
        ("hood-rh", 93.0, True),
        ("hood-rh", 80.0, True),
        ("hood-rh", 70.0, False),
        ("oven-dry", 15.0, True),
        ("oven-dry", 10.0, False),
    ],
)
def test_timber_is_held_against_air_in_balance_and_against_the_oven(method, value, wet):
    """Wood Handbook (FPL-GTR-282), Table 4-2: 14.4 % at 75 %RH and 21 C, 13.5 at 70."""
    extra = by_tool(method, 4.0, 3.0, value)
    instruments = {**tool("pin"), "T": made_probe()}
    timber = plan(base="timber boards", on="suspended")
    made = floor([*pins_of(9.0), extra], plan=timber, limit=PINS, instruments=instruments)
    said = [one for one in decide(made).reasons if one.startswith("X") and "is wet" in one]
    assert bool(said) is wet


@pytest.mark.parametrize(("membrane", "met"), [("none", False), ("damaged", False), ("seen", True)])
def test_a_slab_the_ground_goes_on_wetting_is_not_cleared_for_a_covering(membrane, met):
    """Whatever it reads today; a barrier is laid against just that."""
    wetted = plan(membrane=membrane)
    assert (decide(floor(good_tests(), plan=wetted)).verdict == "meets") is met
    barrier = Limit("in-situ-rh", 95.0, "%RH", "sheet of the barrier")
    assert decide(floor(good_tests(), plan=wetted, limit=barrier)).verdict == "meets"


@pytest.mark.parametrize("base", ["heated cement screed", "Heizestrich CT-C25-F5"])
def test_a_layer_heated_by_its_name_and_not_by_the_record_is_settled_first(base):
    """It has lower limits and is tested otherwise."""
    tests = [{**one, "marked_point": True, "heating_off_hours": 120.0} for one in good_tests()]
    for heated, met in ((False, False), (None, False), (True, True)):
        decision = decide(floor(tests, plan=plan(base=base, heated=heated)))
        assert (decision.verdict == "meets") is met, decision.reasons
    unheated = decide(floor(tests, plan=plan(base="unheated cement screed", heated=False)))
    assert unheated.verdict == "meets"


def test_calcium_sulphate_is_not_cleared_as_for_a_barrier():
    """No barrier is laid on it, and BS 8203 asks for 75 %RH (secondary)."""
    gypsum = plan(base="calcium sulphate screed")
    for bound, met in ((75.0, True), (95.0, False)):
        limit = Limit("in-situ-rh", bound, "%RH", "sheet")
        made = floor(good_tests(value=68.0), plan=gypsum, limit=limit)
        assert (decide(made).verdict == "meets") is met


def test_timber_above_any_limit_known_is_not_cleared():
    """Nothing is laid on timber of 26 %MC, whatever limit was typed."""
    limit = Limit("pin", 30.0, "%MC", "sheet")
    timber = plan(base="timber boards", on="suspended")
    made = floor(pins_of(26.0), plan=timber, limit=limit, instruments=tool("pin"))
    decision = decide(made)
    assert decision.verdict == "not proven"
    assert any("above every limit known" in one for one in decision.reasons)


@pytest.mark.parametrize(("value", "met"), [(1.3, True), (1.75, False), (1.8, False)])
def test_a_limit_not_said_to_be_for_heated_screeds_asks_to_prove_theirs(value, met):
    """With the uncertainty, as any limit: 1.7 does not prove 1.8."""
    more = {"marked_point": True, "heating_off_hours": 120.0, "sample_mass_g": 100.0}
    tests = [
        {**made_test("carbide", *place, value), **more, "hole": f"C{n}"}
        for n, place in enumerate(AROUND)
    ]
    limit = Limit("carbide", 2.0, "CM-%", "sheet")
    heated = plan(base="cement screed", heated=True)
    made = floor(tests, plan=heated, limit=limit, instruments=tool("carbide"))
    assert (decide(made).verdict == "meets") is met


def test_a_floor_covered_before_its_tests_were_read_is_said_to_be():
    """What they show is not how dry it was on the day."""
    covered = plan(covered=(READ - timedelta(days=2)).date())
    reasons = decide(floor(good_tests(), plan=covered)).reasons
    assert any("shop was covered on" in one for one in reasons)


def test_a_correction_that_is_in_a_reading_of_pins_is_said_beside_it():
    """Whoever reads 12 must see that the meter showed 8."""
    timber = plan(base="timber boards", on="suspended")
    decision = decide(
        floor(pins_of(12.0, correction=4.0), plan=timber, limit=PINS, instruments=tool("pin"))
    )
    assert all("a correction of +4 is in it" in why for why in decision.tests["why"])
