"""What one sweep reads across a place: sharp as a thing, wide as water, cut off by a wall."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.anomalies.profile import profiles_at

RUN = np.arange(12)


def row(at: float = 0.0, angle: float = 0.0):
    """Twelve readings 0.1 m apart, 0.55 m to each side of a place ``at`` along the row."""
    along = 0.1 * (RUN - 5.5)
    return along, (along - at)[:, None] * np.array([np.cos(angle), np.sin(angle)])


def profile(values, points):
    (found,) = profiles_at(points, values, [RUN], np.zeros(2))
    return found


@given(st.floats(0.08, 0.15), st.floats(-0.1, 0.1), st.floats(5, 50), st.floats(0, np.pi))
def test_a_normal_curve_gives_its_full_width_and_its_height(width, off, height, angle):
    """Full width at half height of a normal curve is 2.355 sd."""
    along, points = row(angle=angle)
    found = profile(20 + height * np.exp(-0.5 * ((along - off) / width) ** 2), points)
    assert found.seen
    assert found.contrast == pytest.approx(height, rel=0.3)
    assert found.width == pytest.approx(2.355 * width, abs=0.1)


@given(st.floats(1, 60))
def test_a_flank_of_wet_floor_stands_over_one_hand_only(height):
    along, points = row()
    found = profile(20 + height / (1 + np.exp(-along / 0.1)), points)
    assert found.contrast <= 0.01 * height


@given(st.floats(0.36, 0.5))
def test_a_plateau_is_wider_than_a_thing_or_no_rise_at_all(half):
    along, points = row()
    found = profile(20.0 + 30 * (np.abs(along) < half), points)
    assert found.contrast < 1.0 or found.width > 0.55


def test_a_hand_cut_off_by_a_wall_is_not_seen():
    """The peak is the first reading: what lies beyond it nobody read."""
    points = np.column_stack([0.1 * RUN, 0.0 * RUN])
    found = profile(60.0 - 4.0 * RUN, points)
    assert not found.seen
    assert np.isnan(found.falls).sum() == 1


def test_a_sweep_that_passes_aside_tells_nothing():
    _, points = row()
    aside = points + np.array([0.0, 0.2])
    assert not profiles_at(aside, np.ones(12), [RUN], np.zeros(2))
