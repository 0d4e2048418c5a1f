"""Limits, materials and dates that do not fit the floor, and results that can only be slips.

Floors that a user without knowledge of the rules wrote, and that were once said to meet.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from invented_floors import made_test
from invented_tests import AROUND, READ, SLAB, decide, floor, good_test, good_tests, probe, tool
from shapely.geometry import LineString, box

from moisturemap.acceptance.coverage import distinct_places
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.slab import driest_at_age
from moisturemap.survey import Limit


@pytest.mark.parametrize("day", [READ.date(), (READ - timedelta(hours=26)).date()])
def test_a_slab_is_not_drilled_on_the_day_it_was_placed(day):
    """Hole and reading are later than the slab."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, placed=day)),))
    decision = decide(floor(good_tests(value=70.0), plan=plan))
    assert decision.verdict == "not proven"
    assert any("one of the dates is wrong" in one for one in decision.reasons)


def test_a_slab_drier_than_its_age_leaves_any_concrete_is_not_cleared():
    """Half-space (Crank 1975, eq. 3.13): 60 mm down after 6 days hardly a thing has changed."""
    reach = 60.0 / (2.0 * (65.0 * 6.0) ** 0.5)
    assert driest_at_age(60.0, 6.0) == pytest.approx(30.0 + 55.0 * math.erf(reach))
    for days, met in ((6, False), (90, True)):
        placed = (READ - timedelta(days=days)).date()
        plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, placed=placed)),))
        decision = decide(floor(good_tests(value=77.0), plan=plan))
        assert (decision.verdict == "meets") is met
        assert any("leave any concrete" in one for one in decision.reasons) is not met


@pytest.mark.parametrize("base", ["", "concrete", "screed", "Estrich", "screed on concrete slab"])
@pytest.mark.parametrize("bound", [75.0, 85.0])
def test_a_base_nobody_named_is_not_cleared_by_a_limit_too_high_for_calcium_sulphate(base, bound):
    """It may be calcium sulphate, for which limits stay at 75 %RH (BS 8203, secondary)."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, base=base)),))
    tests, limit = good_tests(value=60.0), Limit("in-situ-rh", bound, "%RH", "sheet 3")
    decision = decide(floor(tests, plan=plan, limit=limit))
    asked = any(one.startswith("name the base of shop (concrete slab") for one in decision.reasons)
    if bound == 85.0:
        assert (decision.verdict, asked) == ("not proven", True)
    else:
        assert not asked
        assert (decision.verdict == "meets") is bool(base), decision.reasons


@pytest.mark.parametrize("base", ["screed", "cement screed"])
def test_emission_tests_ask_what_they_stand_on(base):
    """ASTM F1869 is not for gypsum concrete (clause 1.2)."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, base=base)),))
    tests = [made_test("hood-rh", *place, 60.0) for place in AROUND]
    decision = decide(floor(tests, plan=plan, limit=Limit("mver", 3.0, "lb/1000 ft2/24 h", "s")))
    asked = any("on which emission tests do not hold" in one for one in decision.reasons)
    assert asked is (base == "screed")


def test_oven_results_of_an_unnamed_base_are_held_against_the_limit_of_calcium_sulphate():
    """4 mass-% is a limit of concrete."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, base="screed")),))
    decision = decide(floor(good_tests(), plan=plan, limit=Limit("oven-dry", 4.0, "mass-%", "s")))
    assert any("for which the limit 4 is too high" in one for one in decision.reasons)


def carbide_floor(
    base: str,
    value: float,
    bound: float,
    source: str = "sheet",
    depth_mm: float | None = None,
    also: tuple[dict, ...] = (),
    **slab: object,
):
    """A small floor tested by carbide, with samples large enough for any screed."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 5), replace(SLAB, base=base, **slab)),))
    more = {"sample_mass_g": 100.0, "marked_point": "yes", "heating_off_hours": 100.0}
    more |= {} if depth_mm is None else {"depth_mm": depth_mm, "thickness_mm": 65.0}
    tests = [
        {**made_test("carbide", *place, value), **more, "hole": f"C{n}"}
        for n, place in enumerate(AROUND)
    ]
    limit = Limit("carbide", bound, "CM-%", source)
    return decide(floor([*tests, *also], plan=plan, limit=limit, instruments=tool("carbide")))


@pytest.mark.parametrize("base", ["calcium sulphate screed", "CAF-C30-F6", "Anhydritestrich"])
def test_a_limit_of_cement_does_not_clear_calcium_sulphate(base):
    """DIN 18560-1 (secondary): 0.5 CM-% for calcium sulphate, 2.0 for cement."""
    assert carbide_floor(base, 0.3, 0.5, heated=False).verdict == "meets"
    wrong = carbide_floor(base, 1.2, 2.0, heated=False)
    assert wrong.verdict == "not proven"
    assert any("limit of cement screed does not hold" in one for one in wrong.reasons)


def test_a_heated_screed_needs_a_limit_that_is_said_to_be_for_heated_ones():
    """EN 1264-4:2021 Table 2 (secondary): 1.8 CM-% for cement."""
    assert carbide_floor("cement screed", 1.3, 2.0, heated=True).verdict == "meets"
    over = carbide_floor("cement screed", 1.82, 2.2, heated=True)
    assert over.verdict == "not proven"
    assert any("say so in its source" in one for one in over.reasons)
    stated = "sheet 7, heated screeds under tile"
    assert carbide_floor("cement screed", 1.82, 2.2, stated, heated=True).verdict == "meets"
    unheated = carbide_floor("cement screed", 1.82, 2.2, "sheet 7, unheated screeds", heated=True)
    assert unheated.verdict == "not proven"


@pytest.mark.parametrize(
    "base", ["concrete", "screed", "topping", "", "CT-C30-F5", "screed on concrete slab"]
)
def test_a_layer_of_which_too_little_is_stated_is_not_cleared_by_carbide(base):
    """Neither by leaving out the material nor by a name that says little."""
    assert carbide_floor("cement screed", 1.2, 2.0, heated=False).verdict == "meets"
    assert carbide_floor(base, 1.2, 2.0, heated=None).verdict == "not proven"


def test_a_limit_of_a_barrier_is_said_beside_the_verdict():
    """It clears the floor for what its document names, not for a covering."""
    assert "as for a moisture barrier" in carbide_floor("concrete slab", 3.0, 4.0).sentence
    assert "barrier" not in carbide_floor("concrete slab", 1.2, 2.0).sentence


def test_a_test_without_a_place_may_be_of_a_hole_that_counts():
    """Taking a place from the record makes no further place of it."""
    near = [good_test(k, 1.0 + 0.2 * k, 1.0, value=77.0) for k in range(2)]
    judged = decide(floor(near)).judged
    assert distinct_places(judged) == 1
    lost = [near[0], {**near[1], "x": None, "y": None, "room": "shop"}]
    assert distinct_places(decide(floor(lost)).judged) == 1


@pytest.mark.parametrize("stated", [0.0, 0.015])
def test_a_certificate_too_good_to_be_true_makes_no_result_surer(stated):
    """0, or a fraction for per cent: the usual uncertainty counts."""
    meter = {"P1": replace(probe(), uncertainty=stated)}
    usual = {"P1": replace(probe(), uncertainty=2.0)}
    made = [decide(floor(good_tests(value=83.3), instruments=one)) for one in (meter, usual)]
    spreads = [one.judged[0].spread.expanded for one in made]
    assert spreads[0] >= 0.9 * spreads[1]


@pytest.mark.parametrize(("depth", "met"), [(60.0, True), (65.0, True), (90.0, False)])
def test_a_sample_deeper_than_the_layer_is_no_sample_of_it(depth, met):
    """65 mm of screed: what comes from below is of another layer."""
    decision = carbide_floor(
        "cement screed", 1.2, 2.0, heated=False, thickness_mm=65.0, depth_mm=depth
    )
    assert (decision.verdict == "meets") is met


@pytest.mark.parametrize("source", ["", "  "])
def test_a_limit_without_a_document_clears_nothing(source):
    """It holds by what sets it."""
    decision = decide(floor(good_tests(), limit=Limit("in-situ-rh", 85.0, "%RH", source)))
    assert decision.verdict == "not proven"
    assert any("no document is named" in one for one in decision.reasons)


def test_a_limit_kept_for_a_room_that_is_gone_is_not_passed_over():
    """The room may have got another name, and the limit of the floor may be higher."""
    gone = {"kiln": Limit("in-situ-rh", 75.0, "%RH", "sheet 2")}
    decision = decide(floor(good_tests(), room_limits=gone))
    assert decision.verdict == "not proven"
    assert any("stated for 'kiln'" in one for one in decision.reasons)


@pytest.mark.parametrize(
    ("humidity", "bound", "verdict"),
    [
        (89.0, 2.0, "meets"),
        (93.0, 2.0, "not proven"),  # the record is bare, so it asks to be repeated
        (93.0, 3.5, "meets"),  # a barrier laid on damp floor, as its document says
        (96.0, 3.5, "not proven"),
    ],
)
def test_a_humid_floor_contradicts_a_limit_of_coverings(humidity, bound, verdict):
    """Of coverings no limit above 90 %RH is usual (trade sheets, secondary); project choice."""
    bare = {"hole": "X", "x": 4.0, "y": 2.5, "method": "in-situ-rh", "value": humidity}
    bare |= {"unit": "%RH", "visit": "v1", "test": 99, "read": READ}
    decision = carbide_floor("cement screed", 1.2, bound, heated=False, also=(bare,))
    assert decision.verdict == verdict, decision.reasons


@pytest.mark.parametrize(
    "source",
    [
        *("?", "tbc", "none", "n.a.", "not known", "asked for, awaiting reply", "as last job"),
        *("the client", "Dave", "experience", "foreman, told on site", "superseded edition"),
        *("expired data sheet 2009", "draft of the sheet", "memory", "Dave, 12 March"),
        *("AI assistant", "asked an AI", "forum", "a video"),
        *("unknown", "-", "x", "internet", "to be confirmed", "wird nachgereicht", "à confirmer"),
    ],
)
def test_a_limit_whose_document_is_none_clears_nothing(source: str):
    decision = decide(floor(good_tests(), limit=Limit("in-situ-rh", 85.0, "%RH", source)))
    assert decision.verdict == "not proven"
    assert any(f"{source!r} stands for it" in one for one in decision.reasons)


@pytest.mark.parametrize(
    "source", ["sheet 12", "BS 8203:2017", "email of 3 March", "maker's sheet", "Merkblatt TB-12"]
)
def test_a_limit_with_a_document_holds(source: str):
    limit = Limit("in-situ-rh", 85.0, "%RH", source)
    assert decide(floor(good_tests(), limit=limit)).verdict == "meets"


@pytest.mark.parametrize(
    ("words", "heats"),
    [
        *(("with UFH", True), ("FBH", True), ("radiant", True), ("with hydronic loop", True)),
        *(("with heating circuits", True), ("chauffant", True), ("no UFH", False)),
    ],
)
def test_words_of_heating_in_the_base_of_an_unheated_layer_are_asked_about(words, heats: bool):
    """EN 1264-4: heated screeds have a lower limit and marked points."""
    slab = replace(SLAB, base=f"cement screed, {words}", heated=False)
    decision = decide(floor(good_tests(), plan=FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))))
    assert any("that it is heated is denied" in one for one in decision.reasons) is heats


@pytest.mark.parametrize(
    ("name", "ends", "asked"),
    [("UFH loop 1", 8, True), ("heating feed", 8, False), ("UFH loop 1", 0.3, False)],
)
def test_a_heating_loop_drawn_through_an_unheated_room_is_asked_about(name, ends, asked: bool):
    lines = (PlanLine("known-service", LineString([(0, 4.5), (ends, 4.5)]), name),)
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), SLAB),), lines)
    decision = decide(floor(good_tests(), plan=plan))
    assert any(f"the plan draws {name!r} through shop" in one for one in decision.reasons) is asked
    assert (decision.verdict == "meets") is not asked
