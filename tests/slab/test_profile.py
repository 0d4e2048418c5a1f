"""Depth readings at one spot."""

import numpy as np
import pytest

from moisturemap.errors import InputError, NotEnoughData
from moisturemap.slab import (
    DepthReading,
    SlabSpec,
    equivalent_depth,
    estimate_profile,
    rules_of_thumb,
    surface_after_covering,
    wait_for_limit,
)
from moisturemap.slab.covering import sealed_humidity
from moisturemap.slab.diffusion import Cells, StepRule
from moisturemap.slab.library import RANGES, Library, solve_histories
from moisturemap.slab.plausibility import LOG_FACTOR_SD, off_profile

SPEC = SlabSpec(150.0, 1, 200.0)
THREE = [DepthReading(15, 72), DepthReading(60, 86), DepthReading(120, 92)]


def test_dry_surface_over_a_wet_core_is_seen_through():
    """72% at 15 mm would pass at 75%; the sealed slab would not, almost surely."""
    found = estimate_profile(THREE, SPEC)
    assert 84.0 < found.sealed.low < found.sealed.value < found.sealed.high < 89.0
    assert found.chance_above(75.0) > 0.999
    assert found.hysteresis_band[0] < found.hysteresis_band[1]


def test_profile_runs_through_the_readings():
    """The profile now lies within the uncertainty of each reading."""
    found = estimate_profile(THREE, SPEC)
    for reading in THREE:
        here = np.interp(reading.depth_mm, found.depth_mm, found.profile)
        assert here == pytest.approx(reading.rh_pct, abs=2 * reading.sd_pct)


def test_a_reading_off_the_profile_is_named():
    """82% at 60 mm between 74% and 95% is lower than a drying slab allows, and is named."""
    readings = [DepthReading(20, 74), DepthReading(60, 82), DepthReading(120, 95)]
    (remark,) = estimate_profile(readings, SPEC).remarks
    assert remark.startswith("82.0 %RH at 60 mm lies")
    assert "below the profile" in remark
    assert estimate_profile(THREE, SPEC).remarks == ()


def test_a_slab_wetter_than_its_age_explains_is_pointed_out():
    """A 50 mm layer at 92% after two years has a source of water or a tight surface."""
    wet = " ".join(estimate_profile([DepthReading(20, 92)], SlabSpec(50, 1, 730)).remarks)
    assert "wetter than 730 days" in wet
    assert "water comes from somewhere" in wet
    dry = " ".join(estimate_profile([DepthReading(80, 66)], SlabSpec(200, 1, 30)).remarks)
    assert "drier than 30 days" in dry


def test_one_reading_says_less_than_three():
    """A single reading at 40% depth leaves a wider interval."""
    one = estimate_profile([DepthReading(60, 86)], SPEC).sealed
    three = estimate_profile(THREE, SPEC).sealed
    assert one.high - one.low > 1.3 * (three.high - three.low)


def test_one_probe_for_all_depths_leaves_more_doubt_than_three_probes():
    """Errors of calibration do not average out over readings with one probe."""
    same = [DepthReading(r.depth_mm, r.rh_pct, 1.0, "P1") for r in THREE]
    shared, apart = estimate_profile(same, SPEC).sealed, estimate_profile(THREE, SPEC).sealed
    assert shared.high - shared.low > apart.high - apart.low


def test_two_faced_slab_is_read_from_its_nearest_face():
    """A hole at 30 mm from the top tells what one at 30 mm from below would."""
    spec = SlabSpec(150.0, 2, 200.0)
    above = estimate_profile([DepthReading(30, 80)], spec)
    below = estimate_profile([DepthReading(120, 80)], spec)
    assert above.sealed == below.sealed
    assert above.depth_mm[0] == 0.0
    assert above.depth_mm[-1] == 150.0
    assert np.allclose(above.profile, above.profile[::-1])


def test_a_profile_that_dries_inwards_is_refused_as_wetted_again():
    """92% near the top over 80% below is no drying slab."""
    with pytest.raises(InputError, match="wetted again"):
        estimate_profile([DepthReading(15, 92), DepthReading(60, 80)], SPEC)


def test_readings_no_drying_slab_shows_are_refused():
    """Nearly dry at 100 mm and nearly saturated at 150 mm fits no history."""
    with pytest.raises(InputError, match="do not fit"):
        estimate_profile([DepthReading(10, 60), DepthReading(100, 62), DepthReading(145, 98)], SPEC)


@pytest.mark.parametrize(
    ("spec", "words"),
    [
        (SlabSpec(65, 1, 60, "cement screed", heated=True), "heated"),
        (SlabSpec(65, 1, 60, "bonded screed on slab"), "two materials"),
        (SlabSpec(150, 1, 60, "concrete slab, no membrane"), "ground feeds"),
        (SlabSpec(50, 1, 60, "anhydrite screed"), "gypsum"),
        (SlabSpec(22, 1, 60, "plywood deck"), "timber"),
    ],
)
def test_slabs_outside_the_model_are_refused_in_words(spec, words):
    """Heated screed, screed on slab, no membrane, gypsum, timber: no sealed humidity."""
    with pytest.raises(InputError, match=words):
        estimate_profile([DepthReading(20, 80)], spec)


def test_impossible_readings_are_refused():
    """104 %RH, a hole deeper than the slab, and no reading at all."""
    with pytest.raises(InputError, match="0 to 100%"):
        estimate_profile([DepthReading(60, 104)], SPEC)
    with pytest.raises(InputError, match="outside the slab"):
        estimate_profile([DepthReading(160, 80)], SPEC)
    with pytest.raises(NotEnoughData):
        estimate_profile([], SPEC)


def test_surface_rises_towards_the_sealed_humidity_after_covering():
    """The top climbs for months and ends near the sealed humidity."""
    found = estimate_profile(THREE, SPEC)
    curve = surface_after_covering(found)
    assert (np.diff(curve.value) > 0).all()
    assert curve.value[0] < 65.0
    assert curve.value[-1] == pytest.approx(found.sealed.value, abs=2.0)
    assert (curve.low <= curve.value).all()
    assert (curve.value <= curve.high).all()


def test_time_to_a_limit_is_an_interval_and_says_so():
    """Far from the limit the wait is long and its interval wide; at the limit there is none."""
    found = estimate_profile(THREE, SPEC)
    wait = wait_for_limit(found, 75.0)
    assert 100 < wait.days.low < wait.days.value < wait.days.high
    assert wait.days.high > 1.5 * wait.days.low
    assert "if the air of the room stays" in wait.sentence
    assert wait_for_limit(found, 95.0).days.high == 0.0


@pytest.mark.thorough
def test_a_limit_below_the_room_is_never_met():
    """A limit under the humidity of the room has no day, one near it no upper bound."""
    wait = wait_for_limit(estimate_profile(THREE, SPEC), 45.0)
    assert np.isinf(wait.days.high)
    assert "does not get there" in wait.sentence
    assert wait.chance_never > 0.5
    near = wait_for_limit(estimate_profile(THREE, SPEC), 62.0)
    assert "no upper bound" in near.sentence


def test_equivalent_depth_says_when_the_rule_misleads():
    """Early in drying the reading at 40% understates what the covering will face."""
    early = estimate_profile([DepthReading(15, 78), DepthReading(60, 96)], SlabSpec(150, 1, 20))
    depth = equivalent_depth(early)
    assert depth.rule_mm == 60.0
    assert depth.actual_mm < depth.rule_mm
    assert "more than the covering" in depth.sentence


def test_readings_off_the_profile_do_not_stand_for_the_sealed_humidity():
    """97.0 %RH was read at 64 mm where 92 is worked out: not within 0.4 of it."""
    spread = [DepthReading(20, 96.2), DepthReading(64, 97.0), DepthReading(125, 98.3)]
    estimate = estimate_profile(spread, SlabSpec(160, 1, 640))
    assert any("read that hole again" in one for one in estimate.remarks)
    told = equivalent_depth(estimate).sentence
    assert "within" not in told
    assert "none of them by itself stands for the sealed humidity" in told


def test_rules_of_thumb_disagree_and_stop_where_they_end():
    """Three rules, three answers for 100 mm, and none beyond their range."""
    days = [rule.days for rule in rules_of_thumb(100.0)]
    assert days == [None, (125.0, 125.0), pytest.approx((28 * 100 / 25.4, 30 * 100 / 25.4))]
    assert rules_of_thumb(50.0)[0].days == (50.0, 50.0)
    assert rules_of_thumb(150.0)[1].days is None


def coverage(truth: Library, depths: tuple[float, ...], seed: int) -> tuple[float, float]:
    """Share of 90% intervals that hold the truth, and their mean width [%RH].

    D is 29 mm2/day within a factor of two (log-even), probes err with sd 1% (+-2%, k = 2),
    holes with sd 2 mm; 150 mm slabs of 40 to 700 days.
    """
    rng = np.random.default_rng(seed)
    hits, widths = [], []
    for row in range(len(truth.h)):
        age = np.exp(rng.uniform(np.log(40), np.log(700)))
        fo = 29.0 * 2.0 ** rng.uniform(-1, 1) * age / 150.0**2
        h = truth.h[row, np.abs(np.log(truth.times / fo)).argmin()]
        own = truth.material.take(np.array([row]))
        sealed = 100 * sealed_humidity(own, h[None], truth.cells, rng.uniform(0.5, 1.0))[0]
        at = np.interp((np.array(depths) + rng.normal(0, 2, len(depths))) / 150, truth.cells.z, h)
        read = np.minimum(np.round(100 * at + rng.normal(0, 1, len(depths)), 1), 100.0)
        readings = [DepthReading(d, v) for d, v in zip(depths, read, strict=True)]
        try:
            found = estimate_profile(readings, SlabSpec(150.0, 1, age)).sealed
        except InputError:
            hits.append(False)
            continue
        hits.append(found.low <= sealed <= found.high)
        widths.append(found.high - found.low)
    return float(np.mean(hits)), float(np.mean(widths))


@pytest.mark.slow
@pytest.mark.parametrize("depths", [(15.0, 60.0, 120.0), (60.0,)])
def test_sealed_intervals_cover_the_truth(depths):
    """1200 invented slabs, solved more finely than the library: 90% intervals cover 88 to 92%.

    The standard error of the share is 0.9%. A slab refused as a misfit counts as not covered.
    """
    cells = Cells.spread(60, finer_top=1.04)
    times = np.geomspace(0.01, 4.0, 300)
    steps = StepRule(1e-4, 0.1, 1e-7)
    truth = solve_histories(1200, seed=99, cells=cells, times=times, steps=steps)
    share, width = coverage(truth, depths, seed=5)
    assert 0.88 <= share <= 0.92
    assert width < 6.0


def test_ranges_of_the_library_are_named():
    """Every range is low to high, and the factor of two has the spread of an even one."""
    assert all(low < high for low, high in RANGES.values())
    assert pytest.approx(np.std(np.log(2) * np.linspace(-1, 1, 100_001)), rel=1e-4) == LOG_FACTOR_SD


def test_readings_off_the_profile_are_named_in_one_sentence_each_side():
    """Three readings of a hole gave the same sentence three times."""
    depth, profile = np.array([0.0, 200.0]), np.array([80.0, 80.0])
    read = [
        DepthReading(mm, rh, sd_pct=1.0) for mm, rh in ((20.0, 88.5), (60.0, 84.6), (90.0, 83.6))
    ]
    (several,) = off_profile(read, depth, profile)
    assert several.startswith("3 readings lie 3.6 to 8.5 %RH above the profile")
    assert "at 20 mm, 60 mm, 90 mm: read that hole again" in several
    one, other = off_profile([read[0], DepthReading(90, 70.0)], depth, profile)
    assert one.startswith("88.5 %RH at 20 mm lies 8.5 %RH above")
    assert other.startswith("70.0 %RH at 90 mm lies 10.0 %RH below")
    assert off_profile([DepthReading(60, 81.0)], depth, profile) == ()
