"""Forecasts: ends, open ends, the chance of a source, and what the last one was wrong about."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from moisturemap.bundles import VisitComparison
from moisturemap.drying import (
    AirHistory,
    DepthTest,
    DryingOptions,
    DryLevel,
    Forecast,
    ForecastBasis,
    KnownSlab,
    ZoneCourse,
)
from moisturemap.drying.courses import FED_BELOW
from moisturemap.drying.forecast import forecast_floor, forecast_zone, look_back
from moisturemap.drying.plateau import stops_above
from moisturemap.drying.stop import Stop
from moisturemap.drying.zone_forecasts import known_slab
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import Visit

DRY = DryLevel(30.0, 2.0, "as supplied")
OPTIONS = DryingOptions()
NOON = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)


def _course(levels: list[float], sd: float = 1.0, step: float = 7.0) -> ZoneCourse:
    days = step * np.arange(len(levels))
    return ZoneCourse("A", days, np.array(levels), np.full(len(levels), sd))


def _forecast(levels: list[float], target: float = 42.0, **basis: object) -> Forecast:
    return forecast_zone(
        _course(levels),
        target,
        DRY,
        OPTIONS,
        ForecastBasis(**basis),  # type: ignore[arg-type]
    )


@pytest.mark.thorough
def test_a_clear_fall_gets_both_ends() -> None:
    """And the ends are in order round the even chance."""
    found = _forecast([80, 66, 56, 49.5, 44.5])
    assert found.why_open == ""
    assert found.low < found.days < found.high
    assert "90% interval" in found.sentence


def test_machines_that_no_longer_stand_take_the_latest_day_away() -> None:
    """It was named by a fall with them; "not before" stays, for zone and floor."""
    levels = [80.0, 66.0, 56.0, 49.5, 44.5]
    stand, gone = _forecast(levels), _forecast(levels, stop=Stop("machines", "Machines are gone."))
    assert math.isfinite(stand.high)
    assert (gone.why_open, gone.high, gone.low) == ("machines", math.inf, stand.low)
    assert "Machines are gone." in gone.sentence
    floor = forecast_floor([gone], OPTIONS)
    assert floor is not None
    assert (floor.why_open, floor.high) == ("machines", math.inf)
    assert "No latest day: machines that stood before" in floor.sentence


def test_air_or_a_note_takes_the_latest_day_away_before_all_that_the_fit_leaves_open() -> None:
    """Two visits alone leave it open, too; a rise goes first."""
    for why in ("air", "noted"):
        stop = Stop(why, "No latest day: invented.")
        for levels in ([80.0, 66.0, 56.0, 49.5, 44.5], [80.0, 60.0]):
            found = _forecast(levels, stop=stop)
            assert (found.why_open, found.high) == (why, math.inf)
            assert found.sentence.endswith("No latest day: invented.")
            floor = forecast_floor([found], OPTIONS)
            assert floor is not None
            assert floor.why_open == why
            assert "Chance that" not in floor.sentence
    assert _forecast([80.0, 60.0], stop=stop, rising=True).why_open == "rising"


def test_ends_are_named_as_days_of_the_calendar() -> None:
    """From the latest visit on, the last one rounded up."""
    found = _forecast([80, 66, 56, 49.5, 44.5], latest=NOON)
    assert "2026-03-" in found.sentence or "2026-04-" in found.sentence


def test_two_visits_name_the_earliest_day_alone() -> None:
    """A freshly wetted slab falls fastest at first: no even chance, no latest day."""
    found = _forecast([80.0, 60.0])
    assert found.why_open == "few-visits"
    assert np.isnan(found.days)
    assert "not before" in found.sentence
    assert "even chance" not in found.sentence
    assert "third visit" in found.sentence


def test_a_zone_that_does_not_fall_has_no_latest_day() -> None:
    """But an earliest one, and a high chance that something keeps it wet."""
    found = _forecast([60, 60.5, 59.8, 60.2], 45.0, latest=NOON)
    assert math.isinf(found.high)
    assert found.low > 5.0
    assert found.kept_wet > 0.15
    assert "not before" in found.sentence or "not within" in found.sentence
    assert "look for the source" in found.sentence


def test_the_chance_of_a_source_is_always_said() -> None:
    """Also where a latest day is given, and where the target is met."""
    for levels, target in (
        ([80, 66, 56, 49.5, 44.5], 42.0),
        ([60, 50, 38], 45.0),
        ([60, 60], 45.0),
    ):
        assert "Chance that something keeps it wet" in _forecast(levels, target).sentence


def test_a_target_below_the_dry_level_is_never_met() -> None:
    """Drier air is needed first."""
    assert "drier air" in _forecast([60, 50, 43], 25.0).sentence


def test_a_target_within_the_error_of_dry_floor_has_no_latest_day() -> None:
    """What dry floor reads must be known better first."""
    found = _forecast([60, 50, 43, 38], 31.0)
    assert found.why_open == "asymptote"
    assert "dry references" in found.sentence.casefold()


def test_a_rise_between_visits_is_counted_from() -> None:
    """Earlier visits of a place that was wetted again do not speak for its drying."""
    found = _forecast([50, 44, 70, 61, 54, 48.5])
    assert "readings rose between visits 2 and 3" in found.sentence
    assert found.mixture is not None
    assert found.mixture.rewetted[2] > 0.9


@pytest.mark.parametrize("plateau", [0.0, 15.0])
def test_a_place_that_was_wetted_again_gets_no_latest_day(plateau: float) -> None:
    """Whether what let the water in stopped or still holds 15 units: the source is named first."""
    days = np.array([0.0, 4, 9, 16, 25, 35, 46, 60])
    again = plateau + 45.0 * np.exp(-(days - 20.0) / 12.0)
    level = 30.0 + np.where(days < 20.0, 60.0 * np.exp(-days / 12.0), again)
    course = ZoneCourse("A", days, level, np.full(8, 0.8))
    found = forecast_zone(course, 31.0 + plateau, DryLevel(30.0, 0.5, "as supplied"), OPTIONS)
    assert found.why_open == "rewetted"
    assert math.isinf(found.high)
    assert math.isfinite(found.low)
    assert "between visits 4 and 5: find and stop the source" in found.sentence
    whole = forecast_floor([found], OPTIONS)
    assert whole is not None
    assert "readings of a zone rose between two visits" in whole.sentence


def test_a_level_that_has_come_to_a_stop_gets_no_latest_day() -> None:
    """A fall of less than the noise does not carry to a target far below."""
    assert stops_above(_course([80.0, 62.0, 53.0, 52.8]), 42.0)
    assert stops_above(_course([80.0, 62.0, 53.0, 53.5]), 42.0)
    assert not stops_above(_course([80.0, 66.0, 56.0, 49.5]), 42.0)
    assert not stops_above(_course([80.0, 62.0, 53.0, 52.8]), 53.0)
    assert math.isinf(_forecast([80.0, 62.0, 53.0, 52.8]).high)


@pytest.mark.parametrize(
    ("thickness", "levels"),
    [
        (150.0, [75.5, 63.1, 54.6, 48.6, 44.6]),
        (150.0, [77.2, 61.0, 51.3, 45.0, 40.8]),
        (65.0, [77.2, 61.0, 51.3, 45.0, 40.8]),
    ],
)
def test_a_dry_skin_over_a_wet_core_gets_no_latest_day(
    thickness: float, levels: list[float]
) -> None:
    """Five visits in eight days see the skin alone; the core meets the target after 33 to 50."""
    course = ZoneCourse("A", 2.0 * np.arange(5), np.array(levels), np.full(5, 0.64))
    basis = ForecastBasis(KnownSlab(thickness, 1, 413.0, 0.0))
    found = forecast_zone(course, 34.06, DryLevel(31.3, 0.75, "as supplied"), OPTIONS, basis)
    assert found.why_open == "far"
    assert math.isnan(found.days)
    assert "cover too short a time" in found.sentence


@pytest.mark.parametrize("thickness", [None, 65.0, 150.0])
def test_long_visits_rule_a_slow_core_out(thickness: float | None) -> None:
    """Seventy days of one rate keep their latest day."""
    days = 7.0 * np.arange(11)
    course = ZoneCourse("A", days, 31.0 + 40.0 * np.exp(-days / 30.0), np.full(11, 0.7))
    basis = ForecastBasis(KnownSlab(thickness, 1, None, 0.0))
    found = forecast_zone(course, 33.0, DryLevel(31.0, 0.5, "as supplied"), OPTIONS, basis)
    assert math.isfinite(found.high)


@pytest.mark.parametrize(
    ("share", "days", "visits"), [(0.45, 9.0, 3), (0.35, 10.0, 4), (0.4, 7.0, 4)]
)
def test_a_leak_that_still_falls_fast_gets_no_latest_day(
    share: float, days: float, visits: int
) -> None:
    """It holds a share of 60 units, and three or four weekly visits see the fall towards it."""
    time = 7.0 * np.arange(visits)
    level = 30.0 + 60.0 * (share + (1.0 - share) * np.exp(-time / days))
    found = _forecast(list(level), 42.0, slab=KnownSlab(100.0, 1))
    assert found.why_open in ("kept-wet", "far")
    assert math.isinf(found.high)
    assert "Chance that something keeps it wet" in found.sentence


def test_the_even_chance_is_not_looked_for_far_beyond_the_visits() -> None:
    """Two weeks of a slow fall tell of no latest day, eight weeks of the same fall do."""
    days = np.array([0.0, 7.0, 14.0, 28.0, 42.0, 56.0, 70.0, 84.0])
    level = 30.0 + 40.0 * 0.5 ** (days / 60.0)
    sd = np.full(8, 0.3)
    dry = DryLevel(30.0, 0.5, "as supplied")
    short, long = (
        forecast_zone(ZoneCourse("A", days[:n], level[:n], sd[:n]), 35.0, dry, OPTIONS)
        for n in (3, 8)
    )
    assert short.why_open == "far"
    assert "too short a time" in short.sentence
    assert math.isfinite(long.high)


def test_after_a_re_wetting_a_source_is_likelier() -> None:
    """The same visits with the rise before them and without."""
    fall = [70.0, 61.0, 54.0, 49.0, 46.0]
    again, alone = _forecast([50.0, 44.0, *fall]), _forecast(fall)
    assert again.kept_wet > 3.0 * alone.kept_wet
    assert again.mixture is not None
    assert again.mixture.kept_wet_before > 0.2


@pytest.mark.parametrize("late", [4.0, 5.0])
def test_machines_that_come_late_do_not_make_the_earliest_day_late(late: float) -> None:
    """A half-life of 40 days from some days after the first visit on."""
    days = np.array([0.0, 7.0, 14.0])
    level = 30.0 + 40.0 * 0.5 ** (np.maximum(days - late, 0.0) / 40.0)
    course = ZoneCourse("A", days, level, np.full(3, 0.5))
    target = 30.0 + 0.4 * (float(level[-1]) - 30.0)
    assert forecast_zone(course, target, DRY, OPTIONS).low < 40.0 * math.log2(1.0 / 0.4)


def test_thickness_narrows_and_a_thick_slab_takes_longer() -> None:
    """40 mm against 250 mm with the same readings."""
    levels = [62, 58, 55.5, 53.5, 52.0]
    thin = _forecast(levels, slab=KnownSlab(40.0, 1))
    thick = _forecast(levels, slab=KnownSlab(250.0, 1))
    assert thin.mixture is not None
    assert thick.mixture is not None
    day = np.array([200.0])
    assert thin.mixture.level(day)[0] < thick.mixture.level(day)[0]


def test_a_wet_depth_takes_longer_than_a_dry_one() -> None:
    """Calibrated tests at depth sharpen a forecast of the surface."""
    levels = [62, 56, 52, 49]
    slab = KnownSlab(100.0, 1)
    wet = _forecast(levels, slab=slab, tests=(DepthTest(1, 1, 21.0, 40.0, 96.0),))
    dry = _forecast(levels, slab=slab, tests=(DepthTest(1, 1, 21.0, 40.0, 66.0),))
    assert wet.mixture is not None
    assert dry.mixture is not None
    later = np.array([60.0])
    assert wet.mixture.level(later)[0][0] > dry.mixture.level(later)[0][0] + 0.5


def test_ground_that_may_feed_a_slab_keeps_the_latest_day_away() -> None:
    """The likelier the lower face is wet, the later the latest day, until none is given."""
    levels, slab = [62.0, 55.0, 50.5, 47.5, 45.3], KnownSlab(60.0, 1, fed_below=0.0)
    found = [
        _forecast(levels, 42.0, slab=replace(slab, fed_below=chance)) for chance in (0.0, 0.03, 0.5)
    ]
    kept = [one.kept_wet for one in found]
    assert kept == sorted(kept)
    assert found[0].high <= found[1].high <= found[2].high
    assert math.isinf(found[2].high)
    assert "membrane" in found[2].sentence


@pytest.mark.thorough
def test_what_lies_below_is_read_from_the_room(mixed: VisitComparison) -> None:
    """A deck in the air is fed by nothing, a slab without a membrane likely."""
    series, room = mixed.drying.series, mixed.survey.plan.rooms[0]
    for slab, chance in (
        (Slab("concrete", 120.0), FED_BELOW[""]),
        (Slab("concrete", 120.0, 2), 0.0),
        (Slab("concrete", 120.0, on="suspended"), 0.0),
        (Slab("concrete", 120.0, membrane="seen-intact"), FED_BELOW["seen-intact"]),
        (Slab("concrete without DPM"), FED_BELOW["none"]),
    ):
        plan = FloorPlan((Room("hall", room.polygon, slab),))
        assert known_slab(plan, "hall", series).fed_below == chance


def test_damper_air_later_means_later() -> None:
    """A fall that came with drier air does not go on for ever."""
    visits = [Visit(f"v{i}", None, "", 20.0, rh) for i, rh in enumerate((50.0, 50.0, 50.0, 35.0))]
    days = 7.0 * np.arange(4)
    air = AirHistory.of(visits, days)
    assert air.steps == ((14.0, pytest.approx(-0.15)),)
    levels = [62, 58, 55.5, 47]
    changed, same = _forecast(levels, 40.0, air=air), _forecast(levels, 40.0)
    assert changed.mixture is not None
    assert same.mixture is not None
    assert changed.mixture.kept_wet < 1.0
    assert AirHistory.of(visits, days, common=True).steps == ()


def test_warmth_counts_days() -> None:
    """At 10 C a day dries 0.57 of one at 20 C (Bazant and Najjar 1972, 4700 K, from memory)."""
    visits = [Visit("a", None, "", 20.0), Visit("b", None, "", 10.0), Visit("c", None, "", 20.0)]
    air = AirHistory.of(visits, np.array([0.0, 10.0, 20.0]))
    assert air.warm_days(np.array([10.0, 20.0, 30.0])) == pytest.approx(
        [5.68, 15.68, 25.68], abs=0.02
    )
    assert air.since(10.0).warm_days(np.array([10.0])) == pytest.approx([10.0])


def test_the_last_forecast_is_compared_with_what_was_read() -> None:
    """A zone that stopped drying is slower than forecast."""
    said = look_back(_course([70.0, 58.0, 50.0, 44.5, 47.5], 0.5), 40.0, DRY, OPTIONS)
    assert "slower than forecast" in said
    assert "Counted from that visit it said: " in said


def test_two_visits_give_no_look_back() -> None:
    """There was no forecast before."""
    assert look_back(_course([60.0, 52.0]), 40.0, DRY, OPTIONS) == ""


def test_the_last_zone_sets_the_floor() -> None:
    """A floor with an open zone is open, and as likely kept wet as any of its zones."""
    fast, slow = _forecast([80, 66, 56, 49.5, 44.5]), _forecast([60, 60, 60])
    floor = forecast_floor([fast, slow], OPTIONS, NOON)
    assert floor is not None
    assert floor.low == max(fast.low, slow.low)
    assert math.isinf(floor.high)
    assert floor.kept_wet >= max(fast.kept_wet, slow.kept_wet)
    assert forecast_floor([], OPTIONS) is None


def test_one_time_is_too_few() -> None:
    """Two visits at one time are no course."""
    course = replace(_course([50.0, 51.0]), days=np.zeros(2))
    found = forecast_zone(course, 40.0, DRY, OPTIONS)
    assert math.isnan(found.low)
    assert "two different days" in found.sentence
    assert forecast_floor([found], OPTIONS) is None


@pytest.mark.thorough
def test_what_the_model_does_not_hold_for_counts_as_not_known(mixed: VisitComparison) -> None:
    """A heated or gypsum floor has no known slab; a placed one has an age."""
    series = mixed.drying.series
    room = mixed.survey.plan.rooms[0]
    for slab, thickness in (
        (Slab("concrete", 120.0, 1, False, date(2026, 1, 1)), 120.0),
        (Slab("concrete", 120.0, 1, True), None),
        (Slab("gypsum screed", 50.0), None),
        (Slab("concrete"), None),
    ):
        plan = FloorPlan((Room("hall", room.polygon, slab),))
        assert known_slab(plan, "hall", series).thickness_mm == thickness
    placed = Slab("concrete", 120.0, 1, False, date(2026, 1, 1))
    plan = FloorPlan((Room("hall", room.polygon, placed),))
    assert known_slab(plan, "hall", series).age_days == 60.0


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: KnownSlab(-3.0),
        lambda: KnownSlab(100.0, 3),
        lambda: KnownSlab(100.0, 1, fed_below=1.5),
        lambda: DepthTest(0, 0, 0, 40, 120),
        lambda: DepthTest(0, 0, 0, 0, 80),
    ],
)
def test_impossible_slabs_and_tests_are_refused(wrong) -> None:  # type: ignore[no-untyped-def]
    """Naming what is allowed."""
    with pytest.raises(OptionError):
        wrong()


def test_forecasts_say_they_are_relative(mixed: VisitComparison) -> None:
    """A relative reading says nothing of depth, and no forecast calls a floor dry."""
    said = " ".join((*mixed.drying.statements, *mixed.notes))
    assert "not of moisture at depth" in said or "relative reading only" in said
    assert all(one.basis == "relative" for one in mixed.drying.forecasts)


def test_a_rising_zone_gets_no_latest_day() -> None:
    """Whatever the courses say: the source comes first."""
    found = _forecast([80, 66, 56, 49.5, 44.5], rising=True)
    assert found.why_open == "rising"
    assert math.isinf(found.high)
    assert "source is found and stopped" in found.sentence


def test_the_leak_is_said_before_anything_else(mixed: VisitComparison) -> None:
    """First of the statements, with electricity and whom to call."""
    leak = mixed.drying.leak
    assert leak is not None
    assert mixed.drying.statements[0] == leak.sentence
    said = " ".join(leak.steps)
    assert "electricity" in said
    assert "plumber" in said
    assert "safe" not in said


def test_zone_means_and_the_area_risen_are_one(mixed: VisitComparison) -> None:
    """The floor and each zone have a mean with interval; areas risen are those of the map."""
    means = mixed.drying.means.set_index("where")
    assert set(means.index) == {"floor", *map(str, mixed.latest.zones["zone"])}
    assert (means["low"] < means["change"]).all()
    assert (means["change"] < means["high"]).all()
    change = mixed.drying.change
    assert change is not None
    assert mixed.drying.rising["area_m2"].sum() <= change.area_m2["rose"] + 1e-9
    assert mixed.drying.rising["area_m2"].sum() >= 0.9 * change.area_m2["rose"]
    assert sum(change.area_m2.values()) == pytest.approx(mixed.survey.plan.outline.area, rel=1e-6)


@pytest.mark.parametrize("last", [49.0, 51.0, 55.0])
def test_a_rise_at_the_end_brings_no_day_forward(last: float) -> None:
    """Not before the day of the same course without the rise: 60, 48, 48 gave 50 and then 33."""
    kept, risen = _forecast([60.0, 48.0, 48.0], 34.0), _forecast([60.0, 48.0, last], 34.0)
    assert risen.low >= kept.low


def test_a_rise_beyond_the_noise_at_the_end_gets_no_day() -> None:
    """The wet level moves with the latest scan, so that its days do not compare."""
    assert "No day can be named" in _forecast([60.0, 48.0, 53.0], 34.0).sentence
    assert "not before" in _forecast([60.0, 48.0, 49.0], 34.0).sentence
