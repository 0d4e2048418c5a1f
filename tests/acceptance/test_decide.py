"""The verdict on a floor: highest governs, nothing averaged, gaps said, next steps named."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from invented_tests import (
    AROUND,
    LIMIT,
    READ,
    SLAB,
    decide,
    floor,
    good_test,
    good_tests,
    hood,
    mver,
    probe,
    surface_test,
    tool,
)
from scipy.stats import norm
from shapely.geometry import box

from moisturemap.acceptance import (
    CONFLICTING,
    DecideOptions,
    asked_after,
    emission_rate,
    holes_words,
)
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.quantities import MVER_GRAMS_PER_LB
from moisturemap.survey import Instrument, Limit
from moisturemap.units import Units
from moisturemap.zones import WetLevel


@pytest.mark.thorough
def test_a_floor_with_enough_good_tests_meets_its_limit():
    """Four tests by the book, one at each wall, none near the limit."""
    decision = decide(floor(good_tests()))
    assert decision.verdict == "meets"
    assert set(decision.tests["verdict"]) == {"meets"}
    assert decision.next_steps == ()
    assert "highest result governs" in decision.reasons[0]


def test_the_highest_result_governs_and_nothing_is_averaged():
    """Three tests at 70% do not lift one at 88%."""
    tests = [*good_tests(value=70.0)[:3], good_test(4, *AROUND[3], value=88.0)]
    decision = decide(floor(tests))
    assert decision.verdict == "exceeds"
    assert "H4" in decision.reasons[0]
    assert any("Keep drying" in step and "H4" in step for step in decision.next_steps)


def test_a_covered_floor_that_exceeds_is_not_told_to_dry():
    """Under a covering it hardly does: what keeps it wet is asked for."""
    made = floor([*good_tests(value=70.0)[:3], good_test(4, *AROUND[3], value=88.0)])
    rooms = tuple(
        replace(room, slab=replace(room.slab, covered=date(2025, 9, 1))) for room in made.plan.rooms
    )
    steps = decide(replace(made, plan=replace(made.plan, rooms=rooms))).next_steps
    assert not any("Keep drying" in step for step in steps)
    assert any(step.startswith("Find what keeps H4") for step in steps)


def test_the_allowance_for_an_unchecked_probe_is_no_part_of_the_chance():
    """The chance is the symmetrical one of JCGM 106:2012 8.3.2; the 3 %RH stand beside it."""
    bare = replace(probe(), checks=())
    decision = decide(floor(good_tests(value=82.0), instruments={"P1": bare}))
    test = decision.judged[0]
    chance = norm.sf(85.0, loc=82.0, scale=test.spread.expanded / 2.0)
    assert test.against.chance_above == pytest.approx(chance, rel=1e-6)
    assert f"uncertainty alone: {100 * chance:.0f}%" in test.against.why
    assert "added against the floor and no part of that chance" in test.against.why
    assert test.against.verdict == "not proven"  # 82 + 3 is the limit itself


def test_a_brief_reason_carries_the_numbers_that_make_it_true():
    """Too close: how far below, and what is asked for by the uncertainty and by the probe."""
    bare = replace(probe(), checks=())
    decision = decide(floor(good_tests(value=78.2), instruments={"P1": bare}))
    told = decision.brief_reasons[0]
    assert "78.2 %RH is too close to the limit 85" in told
    assert "6.8 %RH below it" in told
    guard = 1.645 * decision.judged[0].spread.expanded / 2.0
    assert guard + 3.0 > 6.8  # or it would not be too close
    assert f"asks for {guard:.1f} %RH and a probe not checked" in told
    assert told.endswith("for 3 more")
    assert len(told) < 200


def test_a_profile_without_a_valid_test_has_no_verdict():
    """79 once sealed against 85 is no pass where the probe was never checked."""
    bare = replace(probe(), checks=())
    decision = decide(floor(good_tests(value=70.0), instruments={"P1": bare}))
    assert {one.standing for one in decision.judged} == {"invalid"}
    assert {one.verdict for one in decision.spots} == {"not judged"}
    for spot in decision.spots:
        assert "within the limit" not in spot.why
        assert spot.why.endswith("not counted: no test there is valid")


def test_a_floor_that_exceeds_by_invalid_tests_alone_says_so():
    """It counts as too wet, and nobody is told that a valid test says so."""
    bare = replace(probe(), checks=())
    decision = decide(floor(good_tests(value=91.0), instruments={"P1": bare}))
    assert (decision.verdict, decision.validly) == ("exceeds", False)
    assert "None that does is valid" in decision.sentence
    valid = decide(floor(good_tests(value=91.0)))
    assert (valid.verdict, valid.validly) == ("exceeds", True)


def test_a_result_whose_uncertainty_reaches_over_the_limit_is_not_proven():
    """84% against 85% with 2.2% of uncertainty proves nothing; without guard band it meets."""
    survey = floor(good_tests(value=84.0))
    assert decide(survey).verdict == "not proven"
    assert "is too close to the limit" in decide(survey).tests["why"][0]
    assert decide(survey, guard_band=False).verdict == "meets"


def test_a_hood_result_is_never_judged_by_an_in_situ_limit():
    """Different quantities: refused with words, and the floor is not proven."""
    decision = decide(floor([hood(1, 0.6, 3)]))
    assert decision.tests["standing"][0] == "valid"
    assert decision.tests["verdict"][0] == "not judged"
    assert "no conversion exists" in decision.tests["why"][0]
    assert decision.verdict == "not proven"


def profile(x: float, y: float) -> list[dict]:
    """Three depths at one spot: the surface would pass, the sealed slab would not."""
    return [
        good_test(10 + n, x + 0.1 * n, y, value=value, depth_mm=depth, hole=f"D{n}")
        for n, (depth, value) in enumerate(((15.0, 72.0), (60.0, 86.0), (120.0, 92.0)), start=1)
    ]


def test_a_dry_surface_over_a_wet_core_does_not_pass():
    """The hood reads 70%, under its limit of 75%; sealed, the slab would settle near 86%."""
    limit = Limit("hood-rh", 75.0, "%RH", "data sheet")
    hoods = [hood(n, x, y, value=70.0) for n, (x, y) in enumerate(AROUND, start=1)]
    assert decide(floor(hoods, limit=limit)).verdict == "meets"
    decision = decide(floor([*hoods, *profile(4.0, 3.0)], limit=limit))
    assert set(decision.tests["verdict"][:4]) == {"meets"}
    assert decision.verdict == "exceeds"
    (spot,) = [spot for spot in decision.spots if spot.governs]
    assert spot.estimate is not None
    assert 83 < spot.estimate.sealed.value < 90
    assert "under a covering the slab would settle at 86 %RH" in decision.reasons[0]
    assert any("sealed humidity meets 75" in step for step in decision.next_steps)


def off_the_model(held: float) -> list[dict]:
    """Alike and high at all depths in an old slab, as under a covering."""
    depths = ((20.0, held - 0.8), (60.0, held), (120.0, held + 1.3))
    return [
        good_test(10 + n, 4.0 + 0.1 * n, 3.0, value=value, depth_mm=depth, hole=f"D{n}")
        for n, (depth, value) in enumerate(depths, start=1)
    ]


def test_no_number_is_told_of_a_slab_that_the_model_does_not_fit():
    """Its readings lie above any profile: what the model makes of them lies below all of them."""
    decision = decide(floor([*good_tests(), *off_the_model(97.0)]))
    (spot,) = [spot for spot in decision.spots if spot.governs]
    assert spot.estimate is not None
    assert spot.estimate.sealed.value < 95.8
    assert spot.sealed is None
    assert spot.verdict == "exceeds"
    assert "would settle at 9" not in " ".join([spot.why, *decision.reasons])
    assert "read 95.8 to 97.9 %RH, which no drying slab fits" in spot.why
    assert decision.profile_table.set_index("spot").loc[["D1, D2, D3"], "sealed"].isna().all()


def test_several_depths_govern_beside_tests_that_meet_an_in_situ_limit():
    """The reading at 40% alone is just over; the profile says the same with its interval."""
    decision = decide(floor([*good_tests(value=76.0), *profile(4.0, 3.0)]))
    assert decision.verdict == "exceeds"
    assert decision.profile_table.set_index("spot").loc["D1, D2, D3", "verdict"] == "not proven"


@pytest.mark.thorough
def test_damp_at_depth_that_no_drying_explains_is_not_waved_through():
    """60% down to 100 mm and 98% below: fed from below; no sealed humidity, so it conflicts."""
    depths = ((15.0, 60.0), (60.0, 62.0), (145.0, 98.0))
    spot = [
        good_test(10 + n, 4.0 + 0.1 * n, 3.0, value=value, depth_mm=depth)
        for n, (depth, value) in enumerate(depths, start=1)
    ]
    decision = decide(floor([*good_tests(), *spot]))
    assert decision.verdict == CONFLICTING
    assert "lies above the limit 85" in decision.reasons[0]
    assert "do not fit a slab that has only dried" in decision.reasons[1]


def test_a_heated_screed_gets_no_sealed_humidity_and_says_why():
    """Outside the model: refused in words, tests still judged."""
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, heated=True)),))
    decision = decide(floor(good_tests(), plan=plan))
    assert all(spot.estimate is None for spot in decision.spots)
    assert any("the layer is heated" in sentence for sentence in decision.statements)


def test_too_few_tests_and_missing_places_are_asked_for_by_name():
    """One test in the west: two more by count, three by wall."""
    decision = decide(floor([good_test(1, *AROUND[0])]))
    assert decision.verdict == "not proven"
    (step,) = decision.next_steps
    told = "Three places ask for a valid test: within 0.91 m (3 ft) of the east wall"
    assert step.startswith(told)
    assert step.endswith(
        "one hole may serve several of these; the rule on number asks for two more."
    )
    assert "north wall" in step
    assert "south wall" in step


def test_what_a_plan_leaves_adds_up_with_what_is_asked_now():
    """One hole in the east serves its wall; two walls are left, and one test by number."""
    survey = floor([good_test(1, *AROUND[0])])
    decision = decide(survey)
    now = asked_after(survey, None, decision, ())
    then = asked_after(survey, None, decision, [AROUND[1]])
    assert (len(now.places), now.short) == (3, 2)
    assert (len(then.places), then.short) == (2, 1)
    assert set(then.places) < set(now.places)
    said = holes_words(now, then, 1)
    assert "of 3 places that ask for a valid test they serve 1" in said
    assert "1 more tests by the rule on number" not in said
    assert "the rule on number asks for 1 more" in said
    every = asked_after(survey, None, decision, AROUND)
    assert (every.places, every.short) == ((), 0)
    assert holes_words(now, every, 4).endswith("would ask for no more.")


def test_a_test_beyond_three_feet_stands_for_no_wall():
    """ASTM F2170 asks for 3 ft (1 m) of a wall (from memory); 0.95 m is more than 3 ft."""
    places = [*AROUND[:1], (7.05, 3.0), *AROUND[2:]]
    decision = decide(floor([good_test(n, x, y) for n, (x, y) in enumerate(places, 1)]))
    assert decision.verdict == "not proven"
    (step,) = decision.next_steps
    assert Units("us").sentence(step) == "One more test: one within 3 ft of the east wall."


class Scan:
    """What a decision uses of a study, with two wet zones."""

    def __init__(self, survey, values=(50.0, 40.0), surely=0.0) -> None:
        self.survey = survey
        self.visit = survey.visits[0]
        self.wet = self
        self.level = WetLevel(60.0, "stated", "")
        self.unsure = box(0, 0, 1, 1)
        self.instrument = Instrument("M1")
        self.zones = gpd.GeoDataFrame(
            {
                "zone": ["B", "A"],
                "peak": [min(values), max(values)],
                "sure_m2": [surely, 0.5],
                "domain": "D1",
            },
            geometry=[box(1.5, 1.5, 2.5, 2.5), box(5, 2.5, 6, 3.5)],
        )
        frame = pd.DataFrame({"x": [], "y": [], "value": [], "room": [], "flag": [], "reason": []})
        self.readings = gpd.GeoDataFrame(frame, geometry=[])
        names = ("anomaly", "confirmed", "room", "kind", "standing")
        self.anomalies = gpd.GeoDataFrame({name: [] for name in names}, geometry=[])
        self.clean = self
        self.repeat_sd = None
        self.step = 1.0
        self.moisture = self
        self.domains = (SimpleNamespace(key="D1", rooms=()),)
        self.fields: dict[str, object] = {}
        self.grid, self.dataset = _mapped(self.zones)
        self.mean = self.dataset["mean"].to_numpy()
        self.sd = np.ones_like(self.mean)
        self.unmapped_rooms = self.unread_rooms = self.unlevelled_rooms = ()


def _mapped(zones: gpd.GeoDataFrame):
    """Cells of 0.5 m: 30 on the floor, a zone's peak in its western half and 36 in the other."""
    x, y = np.meshgrid(centres := np.arange(0.25, 8.0, 0.5), centres[:12])
    mean = np.full(x.shape, 30.0)
    for zone in zones.itertuples():
        inside = shapely.intersects_xy(zone.geometry, x, y)
        west = x < zone.geometry.centroid.x
        mean[inside] = np.where(west, zone.peak, 36.0)[inside]
    grid = SimpleNamespace(
        spacing=0.5, x=centres, y=centres[:12], domain=np.zeros(x.shape, dtype=int)
    )
    return grid, {"mean": pd.DataFrame(mean)}


def test_a_test_at_the_rim_of_the_wettest_zone_is_not_in_its_wettest_part():
    """A level too low makes one zone of all floor: where it reads wettest counts all the same."""
    for x, verdict in ((5.2, "meets"), (5.9, "not proven")):
        survey = floor([*good_tests(), good_test(5, x, 3.0, value=79.0)])
        decision = decide(survey, Scan(survey))
        assert decision.verdict == verdict
    assert decision.next_steps[0].startswith("One more test: one where zone A reads wettest, about")


def test_the_wettest_zone_of_the_scan_must_be_tested():
    """A floor tested at its walls alone leaves the wettest zone open, and says which."""
    survey = floor(good_tests())
    decision = decide(survey, Scan(survey))
    assert decision.verdict == "not proven"
    assert decision.next_steps == ("One more test: one in zone A.",)
    tested = floor([*good_tests(), good_test(5, 5.5, 3.0, value=79.0)])
    assert decide(tested, Scan(tested)).verdict == "meets"
    assert "the wettest floor among them" in decide(tested, Scan(tested)).proof


def test_a_test_in_the_zone_that_does_not_count_is_named():
    """A hole in the zone beside "found 0" reads like a slip: it is not valid, and that is said."""
    unlined = good_test(5, 5.5, 3.0, value=79.0, read=READ - timedelta(hours=25))
    survey = floor([*good_tests(), unlined])
    decision = decide(survey, Scan(survey))
    assert decision.judged[-1].standing == "invalid"
    (row,) = decision.coverage[decision.coverage["rule"] == "wettest-zone"].to_dict("records")
    assert (row["found"], row["met"]) == (0, False)
    assert row["sentence"].endswith(
        "not counted, because not valid, too old or not at the depth of the rule: H5 at 60 mm in"
        " zone A"
    )


def test_zones_surely_wet_or_at_full_scale_alike_are_each_asked_a_test():
    """A tested zone speaks for no other; of two at full scale none can be called the wettest."""
    survey = floor([*good_tests(), good_test(5, 5.2, 3.0, value=79.0)])
    assert decide(survey, Scan(survey)).verdict == "meets"
    alike = decide(survey, Scan(survey, (100.0, 100.0)))
    assert (alike.verdict, alike.next_steps) == ("not proven", ("One more test: one in zone B.",))
    sure = decide(survey, Scan(survey, surely=0.5))
    assert (sure.verdict, sure.next_steps) == ("not proven", ("One more test: one in zone B.",))
    assert "surely wet by the scan" in sure.reasons[0]
    both = floor([*good_tests(), *(good_test(5 + k, x, y, value=79.0) for k, (x, y) in BOTH)])
    assert decide(both, Scan(both, (100.0, 100.0))).verdict == "meets"


BOTH = enumerate(((5.2, 3.0), (1.7, 2.0)))


def _mapped_nothing(values: list[float], censored: str = ""):
    """A scan of the shop with readings in a row and no map."""
    readings = pd.DataFrame(
        {"visit": "v1", "x": [float(k) + 1.0 for k in range(len(values))], "y": 1.0}
    ).assign(
        value=values,
        room="shop",
        flag="clear",
        censored=censored,
        anomaly="",
        raw="",
        instrument="M1",
        reason="",
        note="",
    )
    survey = floor([*good_tests(), good_test(5, 4.0, 1.0, value=79.0)], readings=readings)
    scan = Scan(survey)
    scan.zones = scan.zones.iloc[:0]
    scan.readings = readings
    return survey, scan


@pytest.mark.thorough
def test_a_scan_that_mapped_nothing_asks_for_a_test_at_its_highest_reading():
    """Where many places stand at full scale none can be named: wetter is not better."""
    low = [30.0] * 9
    for values, censored, met in (
        ([30.0, 30.0, 30.0, 80.0, *low], "", True),
        ([30.0, 30.0, 30.0, 80.0, *low, 85.0], "", False),
        ([100.0] * 12, "above", False),
    ):
        survey, scan = _mapped_nothing(values, censored)
        scan.unmapped_rooms = ("shop",)
        coverage = decide(survey, scan).coverage.set_index("rule")
        assert coverage.loc["wettest-zone", "met"] is met
        assert met or "gave no map of shop" in coverage.loc["wettest-zone", "sentence"]
    assert decide(survey, scan).verdict == "not proven"


def test_readings_above_the_level_that_left_the_map_ask_for_a_test_beside_them():
    """No zone is drawn, so the wettest floor may be what was taken for a pipe."""
    for place, met in ((3, True), (11, False)):
        values = [30.0] * 12
        values[place] = 90.0
        survey, scan = _mapped_nothing(values)
        wet = scan.readings["value"] > 60.0
        scan.readings.loc[wet, ["flag", "anomaly"]] = ["line", "L1"]
        decision = decide(survey, scan)
        covered = decision.coverage.set_index("rule").loc["wettest-zone"]
        assert covered["met"] is met
        assert "left the map as things (L1)" in covered["sentence"]
        assert met or "One more test: one beside the high reading" in decision.next_steps[-1]


def test_a_scan_that_left_a_room_out_says_so():
    """No zone on what was read tells nothing of a room nobody read, unless it was tested."""
    tested = floor([*good_tests(), good_test(5, 5.5, 3.0, value=79.0)])
    scan = Scan(tested)
    scan.zones = scan.zones.iloc[:0]
    scan.unread_rooms = tuple(room.name for room in tested.plan.rooms)
    covered = decide(tested, scan).coverage.set_index("rule").loc["wettest-zone"]
    assert covered["met"] is True
    assert "it did not read" in covered["sentence"]
    here = tested.plan.rooms[0].name
    apart = floor(good_tests())
    only_by_wall = decide(apart, scan).coverage.set_index("rule").loc["wettest-zone"]
    assert here in only_by_wall["sentence"]


def test_every_room_and_every_pour_must_be_tested():
    """A store on a thinner slab without a test is named."""
    store = Room("store", box(8.2, 0, 12, 6), replace(SLAB, thickness_mm=100.0))
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), SLAB), store))
    decision = decide(floor(good_tests(), plan=plan))
    coverage = decision.coverage.set_index("rule")
    assert coverage.loc["each-room", "sentence"] == "no valid test in store"
    assert not coverage.loc["each-pour", "met"]
    assert any("in store" in step for step in decision.next_steps)


def test_rooms_with_limits_of_different_methods_are_covered_apart():
    """A timber store judged by pins asks for no in-situ test, nor the slab for pins."""
    store = Room("store", box(8.2, 0, 12, 6), replace(SLAB, base="timber deck"))
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), SLAB), store))
    pins = Limit("pin", 12.0, "%MC", "wood maker")
    survey = floor(good_tests(), plan=plan, room_limits={"store": pins})
    coverage = decide(survey).coverage
    counts = coverage[coverage["rule"].isin(["f2170-m2", "pin"])]
    assert list(counts["needed"]) == [3, 20]
    assert "48.0 m2" in counts["sentence"].iloc[0]
    assert list(coverage.loc[coverage["rule"] == "each-room", "met"]) == [True, False]


def test_counts_follow_the_unit_the_job_is_reported_in():
    """95 m2 is under 100 m2 but over 1000 ft2: 3 tests or 4."""
    plan = FloorPlan((Room("shop", box(0, 0, 10, 9.5), SLAB),))
    survey = floor(good_tests(), plan=plan)
    for units, needed in (("metric", 3), ("feet", 4)):
        table = decide(survey, units=units).coverage
        assert table["needed"][0] == needed
    with pytest.raises(OptionError, match="metric, feet"):
        DecideOptions(units="yards")


def test_the_air_of_the_tests_is_told_but_does_not_decide():
    """Two tests in air of 34 %RH: said in the coverage, as advice."""
    tests = [*good_tests()[:2], *good_tests(air_rh_pct=34.0)[2:]]
    decision = decide(floor(tests))
    row = decision.coverage.set_index("rule").loc["service-conditions"]
    assert "2 of 4 judged tests" in row["sentence"]
    assert not row["required"]
    assert decision.verdict == "meets"


def test_a_decision_can_be_made_again():
    """Options, rules and versions are kept, and the day needs its zone."""
    decision = decide(floor(good_tests()))
    assert decision.provenance.options["rules"] == ["rules.toml"]
    with pytest.raises(OptionError, match="zone"):
        DecideOptions(as_of=READ.replace(tzinfo=None))


def test_the_time_to_wait_stands_beside_rules_of_thumb():
    """A test above the limit gets the interval of the physics, and the trade's rules beside it."""
    decision = decide(floor(good_tests(value=88.0)))
    assert any("sealed humidity meets 85" in step for step in decision.next_steps)
    assert any("28 to 30 days for each 25.4 mm" in said for said in decision.statements)


def test_an_old_test_is_asked_for_again():
    """Six weeks later the oldest test no longer carries the verdict."""
    decision = decide(floor(good_tests()), as_of=READ + timedelta(days=42))
    assert decision.verdict == "not proven"
    assert any("42 days old" in step for step in decision.next_steps)


def test_without_a_limit_nothing_is_judged_and_the_limit_is_asked_for():
    """A number without a limit proves nothing."""
    decision = decide(floor(good_tests(), limit=None))
    assert decision.verdict == "not proven"
    assert set(decision.tests["verdict"]) == {"not judged"}
    assert decision.next_steps[0].startswith("State the limit")


def test_without_tests_nothing_is_proven():
    """An empty table of tests is not proven, not an error."""
    decision = decide(replace(floor(good_tests()), tests=floor(good_tests()).tests.iloc[:0]))
    assert decision.verdict == "not proven"
    assert "No test speaks for the floor" in decision.proof


def test_a_room_may_have_its_own_limit():
    """A wood floor at 65% in the store, resilient at 85% in the shop."""
    store = Room("store", box(8.2, 0, 12, 6), SLAB)
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), SLAB), store))
    wood = Limit("in-situ-rh", 65.0, "%RH", "wood maker")
    tests = [*good_tests(), good_test(5, 10, 3)]
    decision = decide(floor(tests, plan=plan, room_limits={"store": wood}))
    assert list(decision.tests["verdict"]) == ["meets"] * 4 + ["exceeds"]
    assert list(decision.tests["limit"]) == [85.0] * 4 + [65.0]


def test_a_later_reading_of_the_same_hole_takes_its_place():
    """The hole that failed a month ago and passes now is judged by the reading now."""
    month = timedelta(days=30)
    early = {
        name: value - month
        for name, value in good_test(1, *AROUND[0]).items()
        if name in ("drilled", "lined", "placed", "read")
    }
    old = {**good_test(9, *AROUND[0], value=91.0, hole="H1"), **early}
    instruments = {
        "P1": replace(
            probe(),
            checks=tuple(
                replace(one, when=one.when - shift)
                for shift in (month, timedelta())
                for one in probe().checks
            ),
        )
    }
    decision = decide(floor([old, *good_tests()], instruments=instruments))
    assert decision.verdict == "meets"
    assert "takes its place" in decision.tests["why"][0]


def test_a_replaced_test_that_was_not_valid_is_told_so_in_one_place():
    """Another section calls it not valid: the table of tests does not say less."""
    early = {
        name: value - timedelta(days=30)
        for name, value in good_test(1, *AROUND[0]).items()
        if name in ("drilled", "lined", "placed", "read")
    }
    old = {**good_test(9, *AROUND[0], value=91.0, hole="H1"), **early, "conditioned_hours": 1.0}
    found = decide(floor([old, *good_tests()])).unjudged["why"].iloc[0]
    assert "takes its place" in found
    assert "it was not valid by itself: " in found


def test_full_scale_results_exceed_and_are_never_averaged():
    """Written as above 100: at or above the end of the scale."""
    tests = good_tests()
    tests[0] = {**tests[0], "value": 99.0, "censored": "above"}
    decision = decide(floor(tests))
    assert decision.tests["verdict"][0] == "exceeds"


def test_mver_follows_from_masses_and_a_wrong_stated_result_is_said():
    """4.2 g in 66 h through 460 cm2; the sheet says 3.1 lb."""
    limit = Limit("mver", 3.0, "lb/1000 ft2/24 h", "data sheet")
    test = mver(3.1, mass_start_g=30.0, mass_end_g=34.2, dome_area_cm2=460.0)
    decision = decide(floor([test], limit=limit, instruments=tool("mver")))
    assert decision.tests["value"][0] == pytest.approx(emission_rate(4.2, 460.0, 66.0))
    assert "does not follow from the masses" in decision.tests["reasons"][0]
    assert decision.verdict == "exceeds"


def test_mver_in_grams_is_held_against_a_limit_in_pounds():
    """One quantity in two units: 14.6 g/m2 in 24 h is 3 lb."""
    limit = Limit("mver", 3.0, "lb/1000 ft2/24 h", "data sheet")
    test = mver(10.0, unit="g/m2/24 h")
    decision = decide(floor([test], limit=limit, instruments=tool("mver")))
    assert decision.tests["value"][0] == pytest.approx(10.0 / MVER_GRAMS_PER_LB)
    assert decision.tests["verdict"][0] == "meets"


def test_carbide_follows_from_masses():
    """0.8 g of water in 50 g is 1.6 CM-%."""
    limit = Limit("carbide", 2.0, "CM-%", "data sheet")
    test = surface_test(
        1, 0.6, 3, "carbide", value=None, unit="CM-%", sample_mass_g=50.0, water_mass_g=0.8
    )
    decision = decide(floor([test], limit=limit, instruments=tool("carbide")))
    assert decision.tests["value"][0] == pytest.approx(1.6)
    assert decision.tests["verdict"][0] == "meets"


def test_the_chance_anywhere_is_stated_and_passes_nothing():
    """Four tests leave a chance that some cell exceeds, larger the nearer the limit."""
    far, near = (decide(floor(good_tests(value=value))).chance for value in (70.0, 82.0))
    assert far is not None
    assert near is not None
    assert far.chance_any < near.chance_any
    assert 0 < near.expected_share < near.chance_any <= 1
    assert {"x", "y", "room", "chance"} == set(near.cells.columns)


def test_statements_never_say_safe_or_passed():
    """Words of the decision keep to meets, exceeds and not proven."""
    for survey in (floor(good_tests()), floor(good_tests(value=88.0))):
        decision = decide(survey)
        said = " ".join(
            [
                decision.sentence,
                *decision.reasons,
                *decision.next_steps,
                *decision.statements,
                decision.proof,
            ]
        ).casefold()
        assert " safe" not in said
        assert "scan is comparative" in said


def test_limit_and_tests_need_no_scan_at_all():
    """The scan adds a question, not a verdict."""
    assert LIMIT.source
    assert decide(floor(good_tests())).curves == ()


def test_the_count_of_tests_is_that_of_the_stricter_unit():
    """ASTM F2170 10.1 pairs 1000 ft2 with 100 m2, which are not the same area."""
    from shapely.geometry import box as square

    from moisturemap.acceptance.cover import Ground
    from moisturemap.acceptance.coverage import cover
    from moisturemap.acceptance.rule import packaged_rules
    from moisturemap.floorplan import FloorPlan, Room, Slab

    hall = Room("hall", square(0, 0, 190, 1), Slab(thickness_mm=120.0))
    ground = Ground("in-situ-rh", (hall,), FloorPlan((hall,)), None)
    asked = {
        units: next(c.needed for c in cover((), ground, packaged_rules(), units))
        for units in ("metric", "feet", "stricter")
    }
    assert asked == {"metric": 4, "feet": 5, "stricter": 5}


def test_a_wet_place_nobody_read_again_stands():
    """Reading a dry corner later does not make the wet floor of the first visit dry."""
    survey, scan = _mapped_nothing([30.0] * 12)
    early = scan.readings.assign(visit="v0", y=4.5, x=scan.readings["x"] * 0.6)
    early.loc[5, "value"] = 90.0
    visits = (replace(survey.visits[0], id="v0"), survey.visits[0])
    both = pd.concat([early, scan.readings], ignore_index=True)
    decision = decide(replace(survey, readings=both, visits=visits), scan)
    covered = decision.coverage.set_index("rule").loc["wettest-zone"]
    assert covered["met"] is False
    assert "visit v0" in covered["sentence"]
    again = both.assign(y=1.0)
    later = decide(replace(survey, readings=again, visits=visits), scan)
    assert later.coverage.set_index("rule").loc["wettest-zone", "met"] is True


@pytest.mark.thorough
def test_a_part_nobody_read_asks_for_a_test_in_it():
    """And so do words where numbers should stand, and a map that cannot tell."""
    survey, scan = _mapped_nothing([30.0] * 12)
    away = replace(survey, tests=survey.tests.assign(x=1.0, y=1.0))
    part = decide(away, scan).coverage.set_index("rule").loc["wettest-zone", "sentence"]
    assert "nobody read" in part
    scan.unsure = box(0, 0, 8, 6)
    for written in (
        "wet",
        "Err",
        "----",
        "out of range?",
        "===",
        "puddle",
        "trempé",
        "see photo",
        "wet carpet",
    ):
        scan.readings.loc[2, ["flag", "raw", "value"]] = ["not-numeric", written, float("nan")]
        words = decide(away, scan).coverage.set_index("rule").loc["wettest-zone", "sentence"]
        assert f"no reading was written ({written!r})" in words
    for not_read in (
        "-",
        "column",
        "cupboard",
        "covered",
        "orange mat",
        "no access",
        "n/a",
        "nicht gemessen",
    ):
        scan.readings.loc[2, "raw"] = not_read
        words = decide(away, scan).coverage.set_index("rule").loc["wettest-zone", "sentence"]
        assert "no reading was written" not in words
