"""What speaks for something embedded near a place, named or not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from moisturemap.anomalies.calm import fit_calm
from moisturemap.anomalies.rises import Rises, what_is_left
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search
from moisturemap.anomalies.sides import DIRECTIONS

NOISE = 1.0


def scene_with(rise, spacing: float = 0.25, seed: int = 0) -> Scene:
    """A floor of 6 m x 4 m read on a grid: even, with a rise (points) -> reading and noise."""
    x, y = np.meshgrid(np.arange(0.1, 6, spacing), np.arange(0.1, 4, spacing))
    points = np.column_stack([x.ravel(), y.ravel()])
    values = 30.0 + rise(points) + np.random.default_rng(seed).normal(0, NOISE, len(points))
    ones = np.ones(len(points))
    return Scene(points, values, ones, 0 * ones, spacing, 0.12, 0.08, 100.0, 100.0, 60.0)


def rises_of(scene: Scene) -> Rises:
    """Its rises with nothing found."""
    used = np.ones(len(scene.values), dtype=bool)
    return what_is_left(scene, fit_calm(scene), scene.values, (), used)


def stub(points: np.ndarray) -> np.ndarray:
    """A pipe end of 0.8 m at x = 3, 8 noise sd: too short and faint to be named."""
    past = np.maximum(np.abs(points[:, 1] - 2.0) - 0.4, 0.0)
    return 8.0 * NOISE * np.exp(-0.5 * (np.hypot(points[:, 0] - 3.0, past) / 0.13) ** 2)


def test_a_short_faint_stub_speaks_for_itself_and_calm_floor_does_not():
    """Positive within 0.3 m of the stub, negative over calm floor, in every one of ten floors."""
    for seed in range(10):
        odds = rises_of(scene_with(stub, seed=seed)).log_odds(
            np.array([[3.0, 2.0], [3.15, 1.8], [1.5, 1.0], [4.7, 3.0]]), 0.3
        )
        assert (odds[:2] > 0).all()
        assert (odds[2:] < 0).all()


def test_floor_nobody_read_tells_nothing():
    """Far from every reading the odds are even with those of unread floor."""
    found = rises_of(scene_with(stub)).log_odds(np.array([[20.0, 20.0]]), 0.3)
    assert found == pytest.approx([0.0])


def test_a_wide_swell_is_no_pipe():
    """Wet floor that rises 30 noise sd over half a metre and more speaks for less than the stub."""

    def swell(points):
        return 30.0 * NOISE * np.exp(-0.5 * ((points - (3.0, 2.0)) ** 2).sum(axis=1) / 0.64)

    place = np.array([[3.0, 2.0]])
    wide, thin = (rises_of(scene_with(one)).log_odds(place, 0.3)[0] for one in (swell, stub))
    assert wide < 2.0 < thin


@settings(max_examples=25, deadline=None)
@given(
    over=st.lists(st.floats(-20, 20), min_size=9, max_size=9),
    which=st.integers(0, 8),
    more=st.floats(0, 30),
)
def test_a_higher_reading_never_makes_a_place_look_clearer(over, which, more):
    """The odds never fall when one reading rises further over its sides."""
    x, y = np.meshgrid([-0.3, 0.0, 0.3], [-0.3, 0.0, 0.3])
    points = np.column_stack([x.ravel(), y.ravel()])
    low = np.repeat(np.array(over)[:, None], DIRECTIONS, axis=1)
    high = low.copy()
    high[which] += more
    place = np.array([[0.05, -0.1]])
    before, after = (
        Rises(points, one, np.zeros_like(low), 2.0, 1.0, 0.13, np.zeros(9)).log_odds(place, 0.3)[0]
        for one in (low, high)
    )
    assert after >= before - 1e-9


def test_what_a_sweep_has_shown_to_be_floor_is_not_held_against_it():
    """Rises among readings told to be floor count no more."""
    rises = rises_of(scene_with(stub))
    told = np.hypot(*(rises.points - (3.0, 2.0)).T) < 1.0
    place = np.array([[3.0, 2.0]])
    assert rises.shown_floor(told).log_odds(place, 0.3)[0] < 0 < rises.log_odds(place, 0.3)[0]
    near = np.hypot(*(rises.sharp() - (3.0, 2.0)).T) < 1.0
    assert near.any()
    assert not (np.hypot(*(rises.shown_floor(told).sharp() - (3.0, 2.0)).T) < 1.0).any()


def test_a_thing_that_was_found_is_still_sharp():
    """Its readings count as they were read: its course may be off by more than its clearance."""
    scene = scene_with(stub)
    found = search(scene)
    lies = np.hypot(*(found.rises.sharp() - (3.0, 2.0)).T) < 0.5
    assert lies.any()


def test_the_course_of_a_line_is_kept_clear_of_as_far_as_readings_stand_high_on_it():
    """A pipe of which the search named a stretch: beyond its ends up to the last high reading."""
    scene = scene_with(
        lambda points: 40.0 * (np.abs(points[:, 1] - 2.1) < 0.05) * (points[:, 0] > 1)
    )
    rises = rises_of(scene)
    line = LineString([(3.0, 2.1), (5.9, 2.1)])
    peaks = rises.with_courses([(line, 40.0)], scene.values - 30.0).peaks
    assert peaks[:, 0].min() == pytest.approx(1.1, abs=0.15)
    assert (peaks[:, 0] <= 3.0).all()
    assert peaks[:, 1] == pytest.approx(2.1)
    assert not len(rises.with_courses([(line, 90.0)], scene.values - 30.0).peaks)
