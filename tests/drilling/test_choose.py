"""Drill plans on surfaces whose truth is known."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from importlib.resources import files
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.anomalies import ANOMALY_COLUMNS, Anomalies, Rises
from moisturemap.anomalies.sides import DIRECTIONS
from moisturemap.drilling import (
    HOLE_COLUMNS,
    PURPOSES,
    CountRule,
    DrillOptions,
    drill_plan_table,
    plan_holes,
)
from moisturemap.drilling.objective import TERMS
from moisturemap.drilling.options import Weights
from moisturemap.drilling.site import NEAR_WALL_M
from moisturemap.drilling.sweep_first import EVERYWHERE
from moisturemap.drilling.wall_tests import METHOD
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab, unknown_service
from moisturemap.survey import READING_COLUMNS, TEST_COLUMNS, IssuedHole, Limit, Survey, Visit
from moisturemap.zones import MappedVisit, WetLevel, ZoneOptions, find_zones

SLAB = Slab("concrete slab", 150.0, heated=False)
HALL = FloorPlan((Room("hall", box(0, 0, 8, 6), SLAB),))

IN_SITU = Limit("in-situ-rh", 85.0, "%RH", "invented")
CARBIDE = Limit("carbide", 2.0, "CM-%", "invented")
HOOD = Limit("hood-rh", 75.0, "%RH", "invented")


def bump(points: np.ndarray) -> np.ndarray:
    """Two swells on an even floor, the higher at (3, 2.5)."""
    first = 60.0 * np.exp(-0.5 * ((points - (3.0, 2.5)) ** 2).sum(axis=1))
    second = 45.0 * np.exp(-0.5 * ((points - (6.5, 5.0)) ** 2).sum(axis=1) / 0.64)
    return 30.0 + first + second


def anomalies(**geometries) -> Anomalies:
    """Flagged things by name; L is a line, S a spot, M a mesh."""
    kinds = {"L": "line", "S": "spot", "M": "mesh"}
    rows = [
        dict.fromkeys(ANOMALY_COLUMNS, 0.0)
        | {"anomaly": name, "kind": kinds[name[0]], "width_m": 0.2, "geometry": geometry}
        for name, geometry in geometries.items()
    ]
    table = gpd.GeoDataFrame(rows, columns=list(ANOMALY_COLUMNS), geometry="geometry")
    return Anomalies(table, gpd.GeoDataFrame())


def survey(plan: FloorPlan, tests: pd.DataFrame | None = None) -> Survey:
    """A survey without readings."""
    made = Survey("invented", plan, {}, (Visit("v1"),), pd.DataFrame(columns=list(READING_COLUMNS)))
    return made if tests is None else replace(made, tests=tests)


@pytest.fixture(scope="module")
def planned(mapped):
    """``planned(plan, reading, found, tests, read, **options)``: a plan on a known surface."""
    cache = {}

    def make(
        plan=HALL,
        reading=bump,
        found=None,
        tests=None,
        read=None,
        issued=(),
        notes=(),
        limit=None,
        **options,
    ):
        if (plan, reading) not in cache:
            level = WetLevel(50.0, "stated", "")
            surface = mapped(plan, reading).with_wet_level(50.0)
            wet = find_zones(surface, level, plan, options=ZoneOptions(draws=200))
            cache[plan, reading] = surface, wet
        surface, wet = cache[plan, reading]
        chosen = DrillOptions(**{"places": 300, "draws": 100, **options})
        made = replace(survey(plan, tests), issued_holes=issued, limit=limit)
        if notes:
            noted = pd.DataFrame(notes, columns=["x", "y", "note"])
            made = replace(made, readings=noted.reindex(columns=list(READING_COLUMNS)))
        rooms = [room.name for room in plan.rooms] if read is None else read
        meter = SimpleNamespace(id="scan")
        clean = SimpleNamespace(locations=pd.DataFrame({"room": rooms}), instrument=meter)
        known = MappedVisit(
            made, made.visits[0], surface.domains, clean, found or anomalies(), surface, wet
        )
        return plan_holes(known, options=chosen)

    return make


def places(plan) -> list[tuple[float, float]]:
    """Coordinates of the holes."""
    return list(zip(plan.holes["x"], plan.holes["y"], strict=True))


def test_the_standards_count_with_one_hole_in_the_wettest_part(planned):
    """48 m2: three holes, the first at the higher swell, and the rule is cited."""
    plan = planned(limit=IN_SITU)
    assert list(plan.holes.columns) == list(HOLE_COLUMNS)
    assert list(plan.holes["hole"]) == ["H1", "H2", "H3"]
    assert set(plan.holes["purpose"]) <= set(PURPOSES)
    first = plan.holes.iloc[0]
    assert first["purpose"] == "wettest"
    assert np.hypot(first["x"] - 3.0, first["y"] - 2.5) < 0.4
    assert "ASTM F2170" in plan.count_rule
    assert "verify" in plan.count_rule


def test_both_wet_zones_and_the_dry_floor_get_a_hole(planned):
    """Three holes: two zones, one on the even floor."""
    read = sorted(planned().holes["expected"])
    assert read[0] < 35.0
    assert read[1] > 50.0


def test_the_plan_is_the_same_every_time(planned):
    """Deterministic."""
    pd.testing.assert_frame_equal(drill_plan_table(planned()), drill_plan_table(planned()))


def test_holes_keep_clear_of_flagged_things_and_their_footprint(planned):
    """0.3 m from a line over the wettest place, half its 0.2 m footprint added."""
    line = LineString([(0.5, 2.5), (7.5, 2.5)])
    plan = planned(found=anomalies(L1=line, S1=Point(6.5, 5.0)), count=8)
    for geometry in (line, Point(6.5, 5.0)):
        assert plan.holes.distance(geometry).min() >= 0.4
    assert any("L1" in caution for caution in plan.cautions)


def test_holes_keep_clear_of_services_joints_walls_and_each_other(planned):
    """Known services, joints and keep-clear areas 0.3 m, walls and columns 0.1 m."""
    room = Room("hall", box(0, 0, 8, 6).difference(box(3.5, 3.5, 4, 4)), SLAB)
    lines = (
        PlanLine("known-service", LineString([(3, 0), (3, 6)]), "water"),
        PlanLine("movement-joint", LineString([(0, 3), (3, 3)])),
        PlanLine("keep-clear", box(6, 4.5, 7, 5.5)),
    )
    plan = planned(FloorPlan((room,), lines), count=12)
    assert len(plan.holes) == 12
    for line in lines:
        assert plan.holes.distance(line.geometry).min() >= 0.3
    assert plan.holes.distance(room.polygon.boundary).min() >= 0.1
    for index, hole in enumerate(plan.holes.geometry):
        others = plan.holes.geometry.drop(index)
        assert others.distance(hole).min() >= 0.3


def test_no_hole_is_placed_where_clearance_cannot_be_met(planned):
    """A room full of services gets fewer holes, and the plan says why."""
    lines = tuple(
        PlanLine("known-service", LineString([(0, y), (8, y)])) for y in np.arange(0.25, 6, 0.5)
    )
    plan = planned(FloorPlan(HALL.rooms, lines))
    assert plan.holes.empty
    assert any("3 fewer than the count" in text for text in plan.statements)


def test_a_pinned_hole_stays_and_the_rest_is_planned_round_it(planned):
    """The pin counts and is marked."""
    plan = planned(pinned=((3.0, 2.5),))
    assert len(plan.holes) == 3
    pinned = plan.holes[plan.holes["status"] == "pinned"]
    assert (pinned["x"].item(), pinned["y"].item()) == (3.0, 2.5)
    assert plan.holes.iloc[0]["purpose"] == "wettest"


def test_a_wish_that_was_issued_since_is_a_hole_and_no_obstacle_to_itself(planned):
    """It was said to lie 0.00 m from a hole that is done."""
    issued = (IssuedHole(hole="H7", room="hall", x=3.0, y=2.5),)
    plan = planned(pinned=((3.0, 2.5),), issued=issued)
    assert not [text for text in plan.statements if "pinned place" in text]
    assert list(plan.holes.loc[plan.holes["hole"] == "H7", "status"]) == ["issued"]
    near = planned(pinned=((3.1, 2.5),), issued=issued)
    assert any("0.10 m from issued hole" in text for text in near.statements)


def test_a_pin_too_near_a_service_is_left_out_with_the_reason(planned):
    """The distance found and the distance wanted are said."""
    plan = planned(found=anomalies(L1=LineString([(0, 1), (8, 1)])), pinned=((4.0, 1.2),))
    assert (4.0, 1.2) not in places(plan)
    assert any("0.20 m from flagged line L1, 0.40 m wanted" in text for text in plan.statements)


def test_a_pin_off_the_floor_is_said(planned):
    """Not dropped in silence."""
    plan = planned(pinned=((40.0, 1.0),))
    assert any("off the floor" in text for text in plan.statements)
    assert any("off the floor" in text for text in plan.warnings), "the short form leaves it out"
    assert len(plan.holes) == 3


def test_a_rejected_place_gets_no_hole_and_the_count_is_kept(planned):
    """Rejecting the first hole moves it by at least the radius."""
    first = places(planned())[0]
    plan = planned(rejected=(first,))
    assert len(plan.holes) == 3
    assert plan.holes.distance(Point(first)).min() >= 0.5


def test_a_moved_hole_goes_where_it_was_moved(planned):
    """Old place rejected, new place pinned."""
    first = places(planned())[0]
    plan = planned(moved=((first, (1.0, 1.0)),))
    assert (1.0, 1.0) in places(plan)
    assert first not in places(plan)


def test_the_others_stay_where_a_hole_is_moved(planned):
    """They are kept; where all would then miss the wettest floor, one more is added."""
    first, *others = places(planned())
    near = (first[0] + 0.1, first[1])
    beside = planned(moved=((first, near),), kept=tuple(others))
    assert sorted(places(beside)) == sorted([near, *others])
    away = planned(moved=((first, (1.0, 1.0)),), kept=tuple(others))
    assert {(1.0, 1.0), *others} < set(places(away))
    assert len(away.holes) == 4


def earlier_tests(*where: tuple[float, float]) -> pd.DataFrame:
    """In-situ RH tests at places."""
    rows = [
        {"hole": f"A{i}", "x": x, "y": y, "method": "in-situ-rh"} for i, (x, y) in enumerate(where)
    ]
    return pd.DataFrame(rows, columns=list(TEST_COLUMNS))


def test_earlier_holes_are_kept_clear_of(planned):
    """A test at the wettest place moves the hole by 0.3 m and is mentioned."""
    first = places(planned())[0]
    plan = planned(tests=earlier_tests(first))
    assert plan.holes.distance(Point(first)).min() >= 0.3
    assert any("earlier hole" in text for text in plan.statements)


def test_holes_for_untested_floor_stand_off_the_earlier_ones_and_say_how_far(planned):
    """Floor round an earlier hole is drilled floor; the nearest told is the nearest there is."""
    only = Weights(**dict.fromkeys(TERMS, 0.0) | {"coverage": 1.0})
    bare = planned(weights=only, count=1)
    (middle,) = places(bare)
    plan = planned(weights=only, count=1, tests=earlier_tests((middle[0] + 0.35, middle[1])))
    (moved,) = places(plan)
    gap = float(np.hypot(moved[0] - middle[0] - 0.35, moved[1] - middle[1]))
    assert gap > 1.5
    why = str(plan.holes["why"][0])
    told = re.search(r"those drilled earlier counted: the nearest is ([\d.]+) m off", why)
    assert told is not None, why
    assert float(told[1]) == pytest.approx(gap, abs=0.1)  # set out to the tape


def test_new_holes_are_not_named_like_tests_already_made(planned):
    """A survey with holes H1 and H2 gets H3 and on."""
    tests = earlier_tests((0.5, 0.5), (0.5, 5.5)).assign(hole=["H1", "H2"])
    assert list(planned(tests=tests).holes["hole"]) == ["H3", "H4", "H5"]


def test_earlier_holes_can_count_and_the_wettest_is_still_tested(planned):
    """Three done holes on dry floor fill the count; one more goes to the peak of each wet zone."""
    tests = earlier_tests((0.5, 0.5), (0.5, 5.5), (7.5, 0.5))
    plan = planned(tests=tests, count_earlier=True)
    assert (plan.holes["status"] == "done").sum() == 3
    added = plan.holes[plan.holes["status"] == "proposed"]
    assert list(added["purpose"]) == ["wettest", "zone"]
    assert "1 hole more, so that each peak of a wet zone gets one." in plan.count_rule
    assert "where the zone reads nearly as high, and anywhere" in plan.count_rule
    assert len(planned(tests=tests, count_earlier=True, count=4).holes) == 4


def test_a_hole_tells_one_reading_in_its_reason_and_in_the_table(planned):
    """Both are the map's there: one rounded to 29 and the other to 30."""
    holes = planned(count=6).holes
    told = [re.search(r"about (\d+)", why) for why in holes["why"]]
    pairs = [(read, one) for read, one in zip(holes["expected"], told, strict=True) if one]
    assert len(pairs) >= 2
    assert all(f"{read:.0f}" == one[1] for read, one in pairs)


def test_of_holes_as_likely_the_one_that_reads_higher_is_the_wettest(planned):
    """At a chance of all but one no hole beside it reads more."""
    holes = planned(count=8).holes
    wettest = holes[holes["purpose"].eq("wettest") & holes["why"].str.startswith("No hole")]
    sure = wettest["why"].str.contains("more than 99%").all()
    assert not sure or wettest["expected"].iat[0] >= holes["expected"].max() - 1e-9


def test_a_hole_beside_an_anomaly_confirms_it(planned):
    """Asked for by name: outside its clearance, within half a metre of it."""
    line = LineString([(0.5, 5.0), (5.0, 5.0)])
    plan = planned(found=anomalies(L1=line), beside=("L1",))
    hole = plan.holes[plan.holes["purpose"] == "beside-anomaly"]
    assert 0.4 <= hole.distance(line).item() <= 0.9
    assert len(plan.holes) == 4


def test_an_unknown_anomaly_to_drill_beside_is_refused(planned):
    """The names allowed are said."""
    with pytest.raises(OptionError, match="L1"):
        planned(found=anomalies(L1=LineString([(0, 1), (8, 1)])), beside=("L2",))


def test_mesh_under_the_whole_room_does_not_forbid_drilling_but_is_said(planned):
    """A mesh cannot be kept clear of; a small one is."""
    everywhere = planned(found=anomalies(M1=box(0, 0, 8, 6)))
    assert len(everywhere.holes) == 3
    assert any("cover meter" in text for text in everywhere.statements)
    patch = box(2, 1.5, 4, 3.5)
    assert planned(found=anomalies(M1=patch)).holes.distance(patch).min() >= 0.3


def test_timber_gets_pin_tests_and_no_drilled_hole(planned):
    """P holes without depth in the timber room, H holes in the slab, never shared."""
    deck = Room("deck", box(9, 0, 12, 3), Slab("timber deck"))
    plan = planned(FloorPlan((HALL.rooms[0], deck)))
    pins = plan.holes[plan.holes["room"] == "deck"]
    assert len(pins) > 3
    assert "20 pin tests" in plan.count_rule
    assert pins["hole"].str.startswith("P").all()
    assert pins["depth_mm"].isna().all()
    assert pins["depth_note"].str.contains("no drilled RH hole").all()
    assert (plan.holes["room"] == "hall").sum() == 3
    assert any("Timber" in caution for caution in plan.cautions)


def test_a_slab_of_unknown_thickness_is_named_above_the_holes(planned):
    """No depth can be given: it is measured before anybody drills."""
    unknown = Room("store", box(9, 0, 12, 3), Slab("concrete slab"))
    plan = planned(FloorPlan((HALL.rooms[0], unknown)))
    (said,) = (one for one in plan.warnings if "No depth is given" in one)
    assert "store" in said
    assert "hall" not in said


def test_each_separately_mapped_part_gets_a_hole(planned):
    """Four pours of one room each raise three holes to four."""
    rooms = tuple(
        Room(f"bay {i}", box(4 * i, 0, 4 * i + 4, 4), Slab("slab", 120.0, pour=f"pour {i}"))
        for i in range(4)
    )
    plan = planned(FloorPlan(rooms))
    assert set(plan.holes["room"]) == {f"bay {i}" for i in range(4)}
    assert "Raised to 4" in plan.count_rule


def ridge(points: np.ndarray) -> np.ndarray:
    """Two leaks as high, joined by damp floor to one zone."""
    away = [np.hypot(*(points - at).T) for at in ((1.5, 3.0), (6.5, 3.0))]
    leaks = [55.0 * np.exp(-0.5 * (one / 0.6) ** 2) for one in away]
    return 30.0 + np.maximum.reduce([*leaks, np.where(np.abs(points[:, 1] - 3.0) < 1.0, 25.0, 0.0)])


def test_each_peak_of_a_wet_zone_gets_a_hole(planned):
    """What joins two leaks makes no single one of them: the verdict asks for a test at each."""
    plan = planned(reading=ridge)
    for x in (1.5, 6.5):
        assert np.hypot(plan.holes["x"] - x, plan.holes["y"] - 3.0).min() < 0.6
    assert not any("reads wettest" in one for one in plan.unreached)


def test_exterior_walls_without_a_hole_are_named(planned):
    """With one hole most walls are unserved; with many, none."""
    one = " ".join(planned(count=1, limit=IN_SITU).statements)
    assert "within 0.91 m (3 ft) of each exterior wall" in one
    assert "each exterior wall" not in " ".join(planned(count=9, limit=IN_SITU).statements)


@pytest.mark.parametrize(
    ("limit", "document", "count"),
    [
        (None, "No limit is stated", 3),
        (IN_SITU, "ASTM F2170", 3),
        (CARBIDE, "German test practice", 3),
        (HOOD, "UK practice after BS 8201 and BS 8203", 4),
    ],
)
def test_holes_are_counted_by_the_document_of_the_limit(planned, limit, document, count):
    """48 m2; a job in one country cites no standard of another, and none where none is stated."""
    plan = planned(limit=limit)
    told = f"{plan.count_rule} {' '.join(plan.statements)}"
    assert document in told
    assert ("F2170" in told) is (limit is IN_SITU)
    assert len(plan.holes) == count
    assert ("Raised to 3" in plan.count_rule) is (limit is CARBIDE)


def test_the_wettest_hole_is_not_told_to_read_highest_of_all(planned):
    """It is the likeliest; another may read more where the map is less sure."""
    holes = planned(count=3).holes
    (why,) = holes.loc[holes["purpose"].eq("wettest"), "why"].head(1)
    assert why.startswith("No hole of this plan is likelier to lie in the twentieth of the floor")
    assert "to read highest" not in why
    assert "Highest" not in " ".join(holes["why"])


def test_the_further_holes_named_for_the_walls_are_all_the_verdict_asks_for(planned):
    """Pinned where the plan says, no wall is left; by the number of the verdict's own rule."""
    told_of = planned(count=1, limit=IN_SITU).statements
    (told,) = [one for one in told_of if "each exterior wall" in one]
    pairs = re.findall(r"\(([\d.]+), ([\d.]+)\)", told.split("that would serve them: ")[1])
    places = [tuple(float(one) for one in pair) for pair in pairs]
    plan = planned(pinned=tuple(places), count=1 + len(places), limit=IN_SITU)
    assert not any("each exterior wall" in one for one in plan.statements)
    rule = tomllib.loads(files("moisturemap.acceptance").joinpath("rules.toml").read_text("utf-8"))
    (near,) = [one for one in rule["place"] if one["kind"] == "exterior-wall"]
    assert near["within_m"] == NEAR_WALL_M
    assert near["methods"] == [METHOD]


def test_a_suspended_slab_asks_for_no_hole_at_its_walls(planned):
    """As the verdict does."""
    rooms = (replace(HALL.rooms[0], slab=replace(SLAB, on="suspended")),)
    plan = planned(replace(HALL, rooms=rooms), count=1, limit=IN_SITU)
    assert not any("each exterior wall" in one for one in plan.statements)


def test_more_holes_serve_more_purposes(planned):
    """Nine holes: wettest, zones, coverage or perimeter, calibration."""
    kinds = set(planned(count=9).holes["purpose"])
    assert "wettest" in kinds
    assert len(kinds) >= 3


def test_the_user_may_bring_a_counting_rule(planned):
    """Own rule, own citation."""
    rule = CountRule(
        id="own",
        methods=("in-situ-rh",),
        words="5 for the first 50 m2",
        document="Project specification 12, rev C",
        source="the specification",
        sureness="seen",
        first_count=5,
        first_area_m2=50.0,
        step_area_m2=50.0,
    )
    plan = planned(count_rule=rule)
    assert len(plan.holes) == 5
    assert "Project specification 12" in plan.count_rule


def test_unknown_rules_and_lengths_are_refused():
    """The keys allowed are said."""
    with pytest.raises(OptionError, match="f2170-m2"):
        DrillOptions(count_rule="no-such-rule")
    with pytest.raises(OptionError, match="clearance_m"):
        DrillOptions(clearance_m=-0.1)
    with pytest.raises(OptionError, match="1 or more"):
        DrillOptions(count=0)


def test_the_statements_say_what_the_holes_do_not_show(planned):
    """Hit chance, missed patch, passing holes."""
    text = " ".join(planned().statements)
    assert "in the twentieth of the floor that reads highest" in text
    assert "1 m radius" in text
    assert "37% of the floor" in text


def test_no_text_promises_safety(planned):
    """The word safe appears nowhere, and the cautions cover the hazards of drilling."""
    plan = planned(found=anomalies(L1=LineString([(0, 1), (8, 1)])))
    words = " ".join(
        [*plan.cautions, *plan.statements, *plan.holes["why"], *plan.holes["depth_note"]]
    ).lower()
    assert not {"safe", "safe.", "safely", "safe:"} & set(words.split())
    for hazard in ("services", "post-tension", "asbestos", "silica", "membrane", "structure"):
        assert hazard in words


def test_the_table_for_csv_has_no_geometry(planned):
    """Plain columns."""
    table = drill_plan_table(planned())
    assert type(table) is pd.DataFrame
    assert list(table.columns) == [name for name in HOLE_COLUMNS if name != "geometry"]


def test_a_room_nobody_read_foretells_no_reading(planned):
    """A hole there has no expected reading and says that nobody read the room."""
    two = FloorPlan((Room("hall", box(0, 0, 8, 6), SLAB), Room("store", box(8, 0, 12, 6), SLAB)))
    plan = planned(two, read=["hall"], count=6)
    unread = plan.holes[plan.holes["room"] == "store"]
    assert len(unread) > 0
    assert unread["expected"].isna().all()
    assert unread["why"].str.contains("Nobody read store").all()
    assert not unread["why"].str.contains("reads about|mapped at about", regex=True).any()
    assert plan.holes[plan.holes["room"] == "hall"]["expected"].notna().all()


def test_a_zone_without_a_hole_is_never_passed_over_in_silence(planned):
    """A zone under a flagged thing and one the count leaves out are named, with what to do."""
    over = planned(found=anomalies(S1=Point(6.5, 5.0).buffer(1.5)), count=3)
    assert over.unreached == over.statements[: len(over.unreached)]
    assert len(over.unreached) == 1
    assert "keeps the clearance of flagged spot S1" in over.unreached[0]
    assert "It lies in no wet zone." not in over.holes["why"].iloc[0]
    one = planned(count=1)
    assert len(one.unreached) == 1
    assert "Raise the count or pin a hole" in one.unreached[0]
    assert planned(count=3).unreached == ()


def risen(x: float, y: float, reach: float = 0.8) -> Rises:
    """Readings every 0.25 m over the hall that rise 12 noise sd over their sides near a place."""
    across, up = np.meshgrid(np.arange(0.125, 8, 0.25), np.arange(0.125, 6, 0.25))
    points = np.column_stack([across.ravel(), up.ravel()])
    near = np.hypot(*(points - (x, y)).T) < reach
    over = np.repeat(np.where(near, 12.0, 0.0)[:, None], DIRECTIONS, axis=1)
    return Rises(points, over, np.zeros_like(over), 1.0, 1.0, 0.13, np.zeros(len(points)))


def test_holes_keep_off_what_rises_sharply_though_nothing_is_named(planned):
    """Beside the zones no hole stands where readings rise as over metal, however many are asked."""
    bare = planned(count=20).holes
    assert np.hypot(bare["x"] - 1.0, bare["y"] - 5.0).min() < 0.8
    plan = planned(found=replace(anomalies(), rises={"D1": risen(1.0, 5.0)}), count=20)
    assert np.hypot(plan.holes["x"] - 1.0, plan.holes["y"] - 5.0).min() > 0.8
    assert not any("rise as they may over a pipe" in text for text in plan.statements)


def test_a_wet_zone_that_rises_sharply_keeps_its_hole_and_asks_for_a_sweep(planned):
    """Wet floor may not go untested; the hole is named with what to do before drilling."""
    plan = planned(found=replace(anomalies(), rises={"D1": risen(6.5, 5.0, 1.8)}))
    inside = np.hypot(plan.holes["x"] - 6.5, plan.holes["y"] - 5.0) < 1.1
    assert inside.sum() == 1
    name = plan.holes["hole"][inside].iloc[0]
    asked = [text for text in plan.statements if "rise as they may over a pipe" in text]
    assert len(asked) == 1
    assert asked[0].startswith(f"At {name} ")
    assert "Sweep first: the readings rise" in plan.holes["set_out"][inside].iloc[0]


def standing(x: float, y: float) -> Rises:
    """Return calm readings every 0.25 m but one, 12 noise sd over both sides, as at (x, y)."""
    calm = risen(-9.0, -9.0)
    stands = np.where(np.hypot(*(calm.points - (x, y)).T) < 0.01, 12.0, 0.0)
    return replace(calm, stands=stands)


def test_no_hole_stands_near_a_reading_that_stands_out_sharply(planned):
    """0.4 m and the tape's 0.02 m, at the top of a wet zone as elsewhere; the zone keeps a hole."""
    bare = planned(count=20).holes
    for x, y in ((6.625, 5.125), (1.125, 4.875)):
        at = np.hypot(bare["x"] - x, bare["y"] - y)
        plan = planned(found=replace(anomalies(), rises={"D1": standing(x, y)}), count=20)
        gone = np.hypot(plan.holes["x"] - x, plan.holes["y"] - y)
        assert gone.min() >= 0.4
        assert gone.min() < at.min() + 0.9
    assert (np.hypot(plan.holes["x"] - 6.5, plan.holes["y"] - 5.0) < 1.1).any()


def test_a_surely_wet_zone_sharp_all_over_keeps_its_hole(planned):
    """Wet floor may not go untested for that; beside the zones nothing stands there."""
    rises = risen(-9.0, -9.0)
    rises = replace(rises, stands=np.full(len(rises.points), 12.0))
    plan = planned(found=replace(anomalies(), rises={"D1": rises}))
    assert (np.hypot(plan.holes["x"] - 6.5, plan.holes["y"] - 5.0) < 1.1).any()
    assert (plan.holes["expected"] > 35.0).all()


@pytest.mark.parametrize("count", [2, 3, 6])
def test_the_top_of_a_smooth_wet_patch_gets_its_hole_though_it_stands_out_sharply(planned, count):
    """Every reading within 0.8 m of the peak stands over both of its sides, as a smooth peak does.

    A hole at the rim reads half as wet, or less, and the floor between was never tested.
    """
    rises = risen(-9.0, -9.0)
    near = np.hypot(*(rises.points - (3.0, 2.5)).T) < 0.8
    rises = replace(rises, stands=np.where(near, 12.0, 0.0))
    plan = planned(found=replace(anomalies(), rises={"D1": rises}), count=count)
    assert plan.holes["expected"].max() > 30.0 + 0.75 * 60.0
    assert not any("reads wettest" in text for text in plan.unreached)


def test_a_zone_whose_top_no_hole_reaches_is_named_with_what_to_do(planned):
    """A thing over the peak leaves a hole at the rim, of which the plan says what it is worth."""
    plan = planned(found=anomalies(S1=Point(3.0, 2.5).buffer(0.6)), count=6)
    assert any("where wet zone" in text and "reads wettest" in text for text in plan.unreached)


@pytest.mark.parametrize("note", ["PT tendon marked on floor", "Heizkreis"])
def test_holes_keep_clear_of_services_that_a_note_names(planned, note):
    """0.3 m from the place of the reading, and the plan quotes the note."""
    places = [tuple(one) for one in planned(count=8).holes[["x", "y"]].to_numpy()]
    noted = [(x + 0.1, y, note) for x, y in places] + [(0.5, 0.5, "by the door")]
    plan = planned(count=8, notes=noted)
    for x, y, _ in noted[:-1]:
        assert np.hypot(plan.holes["x"] - x, plan.holes["y"] - y).min() >= 0.3
    assert any(note in text and "locate it" in text for text in plan.warnings)
    assert not any("by the door" in text for text in plan.warnings)


def test_holes_keep_clear_of_a_note_nobody_knows(planned):
    """No list of words decides alone what may lie below."""
    (x, y), *_ = planned(count=4).holes[["x", "y"]].to_numpy()
    plan = planned(count=4, notes=[(x + 0.1, y, "see sketch 4"), (0.5, 0.5, "by the door")])
    assert np.hypot(plan.holes["x"] - x - 0.1, plan.holes["y"] - y).min() >= 0.3
    assert any("'see sketch 4'" in one for one in plan.warnings)
    assert not any("by the door" in one for one in plan.warnings)


def test_a_harmless_note_beside_a_hole_is_quoted_with_it(planned):
    """But one of wet floor, which the map tells."""
    (x, y), *_ = planned(count=4).holes[["x", "y"]].to_numpy()
    noted = [(x + 0.1, y, "second walk"), (x, y + 0.1, "wet to touch"), (0.5, 0.5, "by the door")]
    plan = planned(count=4, notes=noted)
    beside = plan.holes[np.hypot(plan.holes["x"] - x, plan.holes["y"] - y) < 0.2]
    (said,) = beside["set_out"]
    assert "'second walk'" in said
    assert "wet to touch" not in said
    assert not plan.holes["set_out"].str.contains("by the door").any()


def test_holes_keep_clear_of_what_a_sweep_has_shown_in_a_wet_zone_too(planned):
    """Along the whole course the sweep was read across."""
    course = np.column_stack([np.arange(0.0, 10.0, 0.1), np.full(100, 5.0)])
    rises = replace(risen(-9.0, -9.0), peaks=course)
    plan = planned(found=replace(anomalies(), rises={"D1": rises}), count=20)
    assert len(plan.holes)
    assert (np.abs(plan.holes["y"] - 5.0) >= 0.4).all()


def some_of(rises: Rises, kept: np.ndarray) -> Rises:
    """Return what some readings (n,) tell."""
    rows = {name: getattr(rises, name)[kept] for name in ("points", "over", "beside", "stands")}
    return replace(rises, **rows)


def read_every(metres: int) -> Rises:
    """Calm readings of the hall, every 0.25 m or every so many metres."""
    fine = risen(-9.0, -9.0)
    kept = np.ones(len(fine.points), dtype=bool)
    if metres:
        kept = (np.round(fine.points / 0.125) % (8 * metres) == 1).all(axis=1)
    return some_of(fine, kept)


def test_readings_far_apart_ask_once_for_a_sweep_at_every_hole(planned):
    """Every metre a pipe passes between the readings; every 0.25 m each course is read."""
    for metres, said in ((0, False), (1, True)):
        plan = planned(found=replace(anomalies(), rises={"D1": read_every(metres)}))
        told = plan.holes["set_out"].str.contains("Sweep first: a pipe here would not show")
        assert not told.any()
        assert (EVERYWHERE in plan.warnings) == said
        assert (EVERYWHERE in plan.statements) == said


def test_a_few_holes_beyond_the_readings_say_to_sweep_first(planned):
    """Where most of the floor was read closely a mark tells the others apart."""
    fine = read_every(0)
    kept = fine.points[:, 0] < 6.0
    rises = some_of(fine, kept)
    found = replace(anomalies(), rises={"D1": rises})
    plan = planned(found=found, pinned=((7.0, 2.0),), count=5)
    told = plan.holes["set_out"].str.contains("Sweep first: a pipe here would not show")
    assert told[plan.holes["status"] == "pinned"].all()
    assert not told[plan.holes["x"].between(0.6, 5.4) & plan.holes["y"].between(0.6, 5.4)].any()
    assert EVERYWHERE not in plan.warnings


GAS = replace(HALL, lines=(PlanLine("known-service", LineString([(0, 3), (8, 3)]), "gas"),))


@pytest.mark.parametrize("clearance", [0.0, 0.1])
def test_no_option_takes_the_clearance_of_a_known_service_away(planned, clearance):
    """Refused pins and the clearance that stays are among the warnings."""
    plan = planned(GAS, clearance_m=clearance, pinned=((4.0, 3.1), (4.0, 4.0)))
    line = GAS.lines[0].geometry
    assert len(plan.holes)
    assert plan.holes.geometry.distance(line).min() >= 0.3 - 1e-9
    told = " ".join(plan.warnings)
    assert "0.10 m from known service gas" in told
    assert "0.30 m is kept all the same" in told
    assert set(plan.warnings) <= set(plan.statements)


def test_a_hole_drilled_near_a_known_service_is_named_with_its_distance(planned):
    """With the hole and among the warnings."""
    plan = planned(GAS, done=((4.0, 3.1),))
    row = plan.holes[plan.holes["status"] == "done"].iloc[0]
    assert "Only 0.10 m from known service gas" in row["set_out"]
    assert any(f"{row['hole']} stands only 0.10 m" in one for one in plan.warnings)


def test_what_the_plan_draws_unknown_is_named_and_kept_clear_of(planned):
    """As if it were a service."""
    odd = replace(HALL, lines=(unknown_service(LineString([(0, 3), (8, 3)]), "blorp"),))
    plan = planned(odd, clearance_m=0.0)
    assert plan.holes.geometry.distance(odd.lines[0].geometry).min() >= 0.3 - 1e-9
    assert any("Kind 'blorp' is not known: kept clear of as a service" in w for w in plan.warnings)


def test_floor_heating_stands_first_among_cautions_and_warnings(planned):
    """Where it is, and only there."""
    heated = replace(HALL, rooms=(replace(HALL.rooms[0], slab=replace(SLAB, heated=True)),))
    plan = planned(heated)
    assert plan.cautions[0] == plan.warnings[0]
    assert "only at marked test points" in plan.cautions[0]
    assert not any("heating" in text.lower() for text in planned(HALL).warnings)
    assert not any("Floor heating" in text for text in planned(HALL).cautions)


def test_heating_that_nobody_ruled_out_is_to_be_found_out(planned):
    """An unstated thing is no cleared thing."""
    unknown = replace(HALL, rooms=(replace(HALL.rooms[0], slab=replace(SLAB, heated=None)),))
    plan = planned(unknown)
    assert plan.cautions[0] == plan.warnings[0]
    assert "neither stated nor ruled out in hall" in plan.cautions[0]


def test_a_room_in_which_no_hole_can_stand_is_named(planned):
    """A closet crossed by services gets no hole, and the plan says what is in the way."""
    rooms = (Room("hall", box(0, 0, 8, 6), SLAB), Room("closet", box(8, 0, 8.9, 1.2), SLAB))
    lines = tuple(
        PlanLine("known-service", LineString([(x, 0), (x, 1.2)]), name)
        for x, name in ((8.25, "water"), (8.65, "waste"))
    )
    plan = planned(FloorPlan(rooms, lines))
    named = [text for text in plan.unreached if text.startswith("No hole can stand in closet")]
    assert len(named) == 1
    assert "known service water, known service waste" in named[0]
