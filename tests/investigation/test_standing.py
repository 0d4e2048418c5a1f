"""Standings follow from clues and depth as the method says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.investigation import CAUSES, Answers, Observation, Story, WetPlace, explain
from moisturemap.investigation.act import ACTS
from moisturemap.investigation.act_foresight import expected_by_act
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.depth_clues import depth_clues
from moisturemap.investigation.explain import Explanation, pool
from moisturemap.investigation.histories import causes_for, histories
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import READING_SD_PCT, Reading, foresee
from moisturemap.investigation.other_clues import change_clues
from moisturemap.investigation.plan_clues import plan_clues
from moisturemap.investigation.standing import ruled_out, standings
from moisturemap.investigation.tested import DatedReading, TestedPlace

pytestmark = pytest.mark.thorough

STORY = Story(150.0, (-60.0, 0.0), placed=-900.0, covered=-500.0, ever_covered=True)
ROOM = Room("hall", box(0, 0, 10, 8), Slab(thickness_mm=150.0))


def reading(day: float, depth: float, value: float) -> Observation:
    return Observation(day, depth, value, 1.3, "probe")


def profile(now: tuple[float, float, float], before: tuple[float, float, float]) -> Explanation:
    """Weigh three depths read twice."""
    seen = [reading(0.0, d, v) for d, v in zip((15.0, 60.0, 120.0), now, strict=True)]
    seen += [reading(-60.0, d, v) for d, v in zip((15.0, 60.0, 120.0), before, strict=True)]
    return explain(STORY, seen)


@pytest.fixture(scope="module")
def rising() -> Explanation:
    """Wetter below and growing wetter: fed from below."""
    return profile((76.0, 86.0, 97.0), (74.0, 82.0, 93.0))


@pytest.fixture(scope="module")
def soaked() -> Explanation:
    """Wet on top, ordinary below."""
    return profile((97.0, 82.0, 76.0), (96.0, 80.0, 75.0))


def test_water_from_below_is_told_from_water_from_above(
    rising: Explanation, soaked: Explanation
) -> None:
    """Each speaks against the other by more than any band but the last."""
    assert rising.ratio("ground", "surface-water") > 20.0
    assert soaked.ratio("surface-water", "ground") > 20.0


def test_a_ratio_is_never_said_to_be_more_than_a_hundred(rising: Explanation) -> None:
    """The model is not better known than that."""
    ratios = [rising.behind(cause) for cause in rising.singles]
    assert max(ratios) <= 100.0
    assert min(ratios) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "wrong", [{"rh_pct": 104.0}, {"sd_pct": 0.0}, {"depth_mm": -5.0}, {"rh_pct": float("nan")}]
)
def test_a_reading_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    """Where it is made."""
    with pytest.raises(OptionError):
        Observation(**{"day": 0.0, "depth_mm": 60.0, "rh_pct": 85.0, **wrong})


def test_one_depth_is_never_firm() -> None:
    """Whatever the plan and the answers say."""
    story = Story(150.0, (0.0,), placed=-900.0, covered=-500.0, ever_covered=True)
    for value in (60.0, 75.0, 85.0, 92.0, 99.0):
        known = explain(story, [reading(0.0, 60.0, value)])
        told = history_clues(Answers.of({"pressure_test": "fell", "seen": ["liquid"]}))
        clues = [*told, *depth_clues(_place((value,)), known, ())]
        assert all(one.standing != "points-to" for one in standings(clues, known))


def test_more_holes_of_the_same_reading_say_no_more(rising: Explanation) -> None:
    """Readings of one depth and day are made one."""
    doubled = [*rising.observations, *rising.observations, *rising.observations]
    assert pool(doubled) == rising.observations
    again = explain(STORY, doubled)
    assert again.support == pytest.approx(rising.support)


def test_readings_no_history_explains_conclude_nothing() -> None:
    """A zigzag leaves every cause where the other evidence puts it, and another cause open."""
    odd = profile((96.0, 60.0, 97.0), (60.0, 97.0, 58.0))
    assert not odd.explained
    clues = depth_clues(_place((96.0, 60.0, 97.0)), odd, ())
    stands = {one.cause: one.standing for one in standings(clues, odd)}
    assert stands["other"] == "open"
    assert "points-to" not in stands.values()
    assert stands["ground"] != "against"


def test_a_valid_wet_test_excludes_no_water(rising: Explanation) -> None:
    """Exclusion needs no second kind."""
    clue = Clue("wet", "depth", "seen", "Wet.", excludes=("not-water",))
    stands = {one.cause: one.standing for one in standings([clue], rising)}
    assert stands["not-water"] == "against"


def test_one_answer_alone_never_puts_a_cause_aside(rising: Explanation) -> None:
    """One in ten answers is wrong."""
    for question, answer in (
        ("membrane", "seen-intact"),
        ("pipes", "none"),
        ("flood", "none"),
        ("cleaning", "dry"),
        ("outside_ground", "below"),
    ):
        told = history_clues(Answers.of({question: answer}))
        assert ruled_out(told) == frozenset()


def test_every_cause_stands_somewhere_and_another_cause_is_always_listed(
    rising: Explanation,
) -> None:
    """Fifteen causes, each once."""
    found = standings([], rising)
    assert sorted(one.cause for one in found) == sorted(CAUSES)
    assert {one.standing for one in found if one.cause == "other"} == {"not-looked-at"}


def test_a_zone_off_every_wall_is_not_fed_by_one() -> None:
    """The possible rim counts, not only the outline."""
    off = _wet(Point(5, 4).buffer(1.0))
    along = _wet(box(0, 2, 0.8, 5), peak=(0.2, 3.5))
    assert "wall" in {c for clue in plan_clues(off, 300.0) for c in clue.excludes}
    marks = [clue.mark("wall") for clue in plan_clues(along, 300.0)]
    assert "for" in marks
    assert "against" not in marks


def test_a_drawn_drain_under_the_peak_speaks_for_the_drain() -> None:
    """And a heating supply far away speaks against that."""
    clues = plan_clues(_wet(Point(7, 4).buffer(0.9), peak=(7.0, 4.0)), 300.0)
    assert "for" in [clue.mark("drain") for clue in clues]
    assert "against" in [clue.mark("pressure-pipe") for clue in clues]


def test_depth_is_silent_on_what_has_faded() -> None:
    """Water of an adhesive years ago shows at no depth, so depth speaks neither way."""
    old = Story(150.0, (0.0,), placed=-4000.0, covered=-3600.0, ever_covered=True)
    assert histories("adhesive", old) is None
    known = explain(old, [reading(0.0, 60.0, 85.0), reading(0.0, 120.0, 88.0)])
    assert "adhesive" in known.silent
    clues = depth_clues(_place((85.0, 88.0)), known, ())
    assert {clue.mark("adhesive") for clue in clues} <= {"silent"}


def test_the_standing_moves_with_the_evidence_one_way(rising: Explanation) -> None:
    """A further clue against a cause never opens it; one for it never closes it."""
    rng = np.random.default_rng(3)
    kinds = ("plan", "time", "air", "history", "services")
    order = {"against": 0, "not-looked-at": 1, "open": 2, "points-to": 3}
    for _ in range(60):
        clues = [
            Clue(
                str(k),
                str(rng.choice(kinds)),
                "seen",
                "Said.",
                speaks_for=(str(rng.choice(list(CAUSES))),),
                speaks_against=(str(rng.choice(list(CAUSES))),),
            )
            for k in range(6)
        ]
        cause, kind = str(rng.choice(list(CAUSES))), str(rng.choice(kinds))
        before = {one.cause: one.standing for one in standings(clues, rising)}
        worse = Clue("more", kind, "seen", "Said.", speaks_against=(cause,))
        after = {one.cause: one.standing for one in standings([*clues, worse], rising)}
        assert order[after[cause]] <= max(order[before[cause]], 1)


def _place(values: tuple[float, ...]) -> TestedPlace:
    from datetime import date

    depths = (15.0, 60.0, 120.0)[: len(values)]
    readings = tuple(
        DatedReading(date(2025, 3, 1), d, v, 1.3) for d, v in zip(depths, values, strict=True)
    )
    return TestedPlace("H1", ROOM, 5.0, 4.0, 150.0, readings)


def _wet(zone, peak=(5.0, 4.0)) -> WetPlace:
    lines = (
        PlanLine("exterior-wall", ROOM.polygon.exterior, "outer wall"),
        PlanLine("known-service", LineString([(7, 0), (7, 8)]), "kitchen waste"),
        PlanLine("known-service", LineString([(1, 0), (1, 8)]), "heating supply"),
    )
    return WetPlace(FloorPlan((ROOM,), lines), ROOM, zone, zone.buffer(0.2), peak)


def _in_a_zone(zone, peak: tuple[float, float]) -> dict[str, Clue]:
    """Clues of a zone in a room with a pipe, a drain, a door and its outer walls."""
    lines = (
        PlanLine("exterior-wall", ROOM.polygon.exterior, "outer wall"),
        PlanLine("known-service", LineString([(3, 0), (3, 8)]), "heating supply"),
        PlanLine("known-service", LineString([(7, 2), (7, 8)]), "kitchen waste"),
        PlanLine("door", LineString([(4.5, 0), (5.5, 0)]), "door"),
    )
    place = WetPlace(FloorPlan((ROOM,), lines), ROOM, zone, zone, peak)
    return {clue.key: clue for clue in plan_clues(place, 300.0)}


def test_a_zone_over_most_of_the_room_speaks_for_no_service_door_or_wall() -> None:
    """It lies at everything; a patch on one service still speaks for that one."""
    broad = _in_a_zone(box(0, 0, 9, 8), (3.1, 0.3))
    for key in ("service: pressure-pipe", "service: drain", "door", "wall-distance"):
        assert broad[key].speaks_for == ()
    assert "ground" in broad["extent"].speaks_for
    patch = _in_a_zone(Point(3.1, 4.0).buffer(1.0), (3.1, 4.0))
    assert patch["service: pressure-pipe"].speaks_for == ("pressure-pipe",)


def test_a_zone_at_a_wall_is_not_told_with_a_distance_of_nought() -> None:
    """Its peak lies far off: it reaches the wall all the same."""
    at_it = _in_a_zone(box(3, 0, 7, 7), (5.0, 3.5))["wall-distance"].sentence
    off_it = _in_a_zone(box(3, 0.3, 7, 7), (5.0, 3.5))["wall-distance"].sentence
    assert "reaches an exterior wall, its peak lies 3.5 m off." in at_it
    assert "comes within 0.3 m of an exterior wall" in off_it
    assert "0.0 m" not in at_it


def test_what_speaks_for_most_causes_has_looked_at_none() -> None:
    """Scans that rose speak for six; a door beside the zone for one."""
    rose = change_clues(0.8, 0.0)
    door = Clue("door", "plan", "seen", "At a door.", speaks_for=("surface-water",))
    stands = {one.cause: one.standing for one in standings(rose, None)}
    assert set(stands.values()) == {"not-looked-at"}
    stands = {one.cause: one.standing for one in standings([*rose, door], None)}
    assert stands["surface-water"] == "open"


def test_falling_scans_speak_for_adhesive_only_soon_after_covering() -> None:
    """Its water fades in days to weeks."""
    assert "adhesive" in change_clues(0.0, 0.8, 20.0)[0].speaks_for
    assert change_clues(0.0, 0.8, 400.0)[0].speaks_for == ("flood",)


def test_depth_in_a_floating_screed_is_silent_on_ground_and_drain() -> None:
    """Their water meets the insulation first."""
    floating = replace(STORY, thickness_mm=70.0, build_up="floating")
    assert {"ground", "drain"}.isdisjoint(causes_for(floating))
    assert "insulation" in causes_for(floating)
    assert {"ground", "drain"} <= set(causes_for(STORY))


@pytest.mark.parametrize("cause", ["construction-water", "ground", "pressure-pipe", "flood"])
def test_a_cause_has_wetted_the_slab(cause: str) -> None:
    """Somewhere to 80 %RH on a day of reading, in every history that is kept."""
    known = histories(cause, STORY)
    assert known is not None
    assert known.h_pct[:, : len(STORY.days)].max(axis=(1, 2)).min() >= 80.0


@pytest.mark.parametrize("reading_to_come", [(37.5, 0.0), (60.0, 60.0)])
def test_a_reading_is_foreseen_as_it_will_be_weighed(
    rising: Explanation, reading_to_come: tuple[float, float]
) -> None:
    """What it is expected to add to each cause is what it adds once it is taken."""
    depth, day = reading_to_come
    planned = Reading(depth, day, False)
    causes = ["ground", "drain", "pressure-pipe"]
    foreseen = np.array(
        [foresee(rising, cause, planned).log_likelihood(np.array([88.0]))[0] for cause in causes]
    )
    new = Observation(day, depth, 88.0, READING_SD_PCT, "probe")
    again = explain(STORY, [*rising.observations, new])
    added = np.array([again.support[cause] - rising.support[cause] for cause in causes])
    assert np.diff(foreseen) == pytest.approx(np.diff(added), abs=0.02)


def test_a_leak_into_the_insulation_is_not_put_aside_by_depth() -> None:
    """A screed that floats and grows wet from below: a live leak may run under it."""
    story = Story(
        *(65.0, (-60.0, 0.0)),
        placed=-729.0,
        covered=-596.0,
        ever_covered=True,
        build_up="floating",
    )
    wet = {-60.0: (80.5, 84.0, 90.5), 0.0: (82.0, 86.2, 93.1)}
    seen = [
        Observation(day, depth, value, 1.0, "probe")
        for day, values in wet.items()
        for depth, value in zip((6.5, 26.0, 52.0), values, strict=True)
    ]
    stands = {one.cause: one.standing for one in standings((), explain(story, seen))}
    for cause in ("insulation", "flood", "pressure-pipe"):
        assert stands[cause] == "open"


def _pointing(cause: str, seen: Explanation, *clues: Clue) -> str:
    """Weigh readings that one cause alone explains, with two kinds that speak for it."""
    kinds = [Clue(kind, kind, "seen", "Seen.", speaks_for=(cause,)) for kind in ("plan", "history")]
    others = frozenset(seen.singles) - {cause}
    out = Clue("gone", "depth", "seen", "Gone.", excludes=tuple(others))
    stands = standings([*kinds, out, *clues], seen.without(others))
    return next((one.cause for one in stands if one.standing == "points-to"), "")


def test_readings_in_the_floor_never_point_to_the_wall(rising: Explanation) -> None:
    """Water from both faces at once reads like it; the ground, so seen, is pointed to."""
    assert _pointing("ground", rising) == "ground"
    assert _pointing("wall", rising) == ""


def test_nothing_is_pointed_to_while_other_evidence_keeps_a_cause_open(
    rising: Explanation,
) -> None:
    """Salts that nobody put aside, with a sample that speaks for them."""
    sample = Clue("salts", "chemistry", "seen", "Salts.", speaks_for=("salts",))
    assert _pointing("ground", rising, sample) == ""


def test_a_cause_of_the_same_face_with_two_kinds_for_it_outweighs_one_spoken_against(
    rising: Explanation,
) -> None:
    """A peak on the drawn pipe whose pressure fell, far from the drawn drain."""
    pipe = Clue("pipe", "plan", "seen", "On it.", speaks_for=("pressure-pipe",))
    fell = Clue("fell", "services", "seen", "Fell.", speaks_for=("pressure-pipe",))
    far = Clue("drain", "plan", "not-seen", "Far off.", speaks_against=("drain",))
    seen = rising.without(frozenset(rising.singles) - {"pressure-pipe", "drain"})

    def drain(*clues: Clue) -> str:
        return next(one.standing for one in standings(clues, seen) if one.cause == "drain")

    level = replace(seen, support=dict.fromkeys(seen.support, 0.0))
    seen = level
    assert drain(pipe, far) == "open"
    assert drain(pipe, fell, far) == "against"
    assert drain(pipe, fell) == "open"
    doubted = Clue("short", "history", "seen", "No.", speaks_against=("pressure-pipe",))
    assert drain(pipe, fell, far, doubted) == "open"


def test_what_hangs_on_one_reading_is_not_pointed_to() -> None:
    """One high reading in an even floor: without it another cause explains the rest best."""
    lone = profile((73.0, 88.6, 79.6), (73.1, 72.9, 77.0))
    assert not lone.steady
    assert (
        profile((76.0, 86.0, 97.0), (74.0, 82.0, 93.0))
        .without(frozenset(lone.singles) - {"ground", "surface-water"})
        .steady
    )


def test_an_act_that_can_put_a_cause_aside_is_worth_more(rising: Explanation) -> None:
    """A level that holds puts a drain aside where its plan speaks against it already."""
    act = next(one for one in ACTS if one.key == "drain-test")
    far = Clue("drain", "plan", "not-seen", "Far off.", speaks_against=("drain",))
    seen = rising.without(frozenset(rising.singles) - {"ground", "drain"})
    level = replace(seen, support=dict.fromkeys(seen.support, 0.0))
    worth, touched = expected_by_act(act, [], standings([], level), level)
    more, _ = expected_by_act(act, [far], standings([far], level), level)
    assert touched == ("drain",)
    assert more > worth > 0.0


def test_a_flood_below_a_floating_screed_is_not_put_aside_by_one_answer() -> None:
    """Wet at all depths twice: water in the insulation rises for months after a flood."""
    story = Story(70.0, (-60.0, 0.0), placed=-520.0, covered=-300.0, build_up="floating")
    seen = [reading(day, d, 97.5) for day in (-60.0, 0.0) for d in (7.0, 28.0, 56.0)]
    told = [*history_clues(Answers.of({"flood": "none"})), *change_clues(0.9, 0.0, floats=True)]
    stands = {one.cause: one.standing for one in standings(told, explain(story, seen))}
    assert stands["flood"] == "open"
    assert change_clues(0.9, 0.0)[0].mark("flood") == "against"


@pytest.mark.parametrize("day", [-58.0, -25.0])
@pytest.mark.parametrize(
    "read", [(97.0, 92.0, 86.0, 84.0), (96.0, 97.0, 92.0, 88.0), (97.0, 97.0, 96.0, 95.0)]
)
def test_a_dated_flood_that_suction_drew_in_stays_open(day: float, read: tuple[float, ...]) -> None:
    """Free water for days soaks ordinary concrete deep (Hall and Hoff, from memory)."""
    story = Story(150.0, (0.0,), placed=-720.0, covered=-371.0, ever_covered=True, flood=day)
    seen = [reading(0.0, d, v) for d, v in zip((30.0, 60.0, 105.0, 135.0), read, strict=True)]
    told = history_clues(Answers.of({"flood": "2026-01-08"}))
    stands = {one.cause: one.standing for one in standings(told, explain(story, seen))}
    assert stands["flood"] in ("open", "points-to")
