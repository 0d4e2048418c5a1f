"""Properties of the search for anomalies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from moisturemap.anomalies.background import Background
from moisturemap.anomalies.finder import Scan, find
from moisturemap.anomalies.limits import alias_wavelength
from moisturemap.anomalies.options import DetectOptions
from moisturemap.anomalies.precision import build_precision
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.templates import build_templates

QUICK = DetectOptions(simulations=40, refits=0)


def grid():
    x, y = np.meshgrid(np.arange(0, 4.2, 0.3), np.arange(0, 3.3, 0.3))
    return np.column_stack([x.ravel(), y.ravel()])


def scan_of(points, values, spacing: float = 0.3) -> Scan:
    count = len(points)
    return Scan(
        points,
        values,
        np.ones(count),
        spacing,
        0.05,
        build_templates(points, spacing),
        np.zeros(count),
    )


def pipe_floor(seed: int):
    points = grid()
    noise = np.random.default_rng(seed).normal(0, 1.5, len(points))
    return points, 40 + noise + 14 * Ridge((2.0, 1.6), 0.0, 3.0, 0.18).weights(points)


@settings(max_examples=5, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(shift=st.floats(-50, 50), factor=st.floats(0.2, 5.0), seed=st.integers(0, 5))
def test_another_zero_or_unit_of_the_scale_finds_the_same(shift, factor, seed):
    """Readings a + b z disturb the same places with b times the strength."""
    points, values = pipe_floor(seed)
    one = find(scan_of(points, values), QUICK)
    moved = scan_of(points, shift + factor * values)
    other = find(
        Scan(
            moved.points, moved.values, moved.share, 0.3, 0.05 * factor**2, moved.bank, moved.apart
        ),
        QUICK,
    )
    level_one, level_other = 2 * one.noise_sd, 2 * other.noise_sd
    same = (np.abs(one.effects.sum(axis=1)) >= level_one) == (
        np.abs(other.effects.sum(axis=1)) >= level_other
    )
    assert same.mean() > 0.97


@settings(max_examples=4, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(x=st.floats(-100, 100), y=st.floats(-100, 100))
def test_another_origin_of_the_plan_finds_the_same(x, y):
    """Places moved together."""
    points, values = pipe_floor(1)
    one = find(scan_of(points, values), QUICK)
    other = find(scan_of(points + np.array([x, y]), values), QUICK)
    rises = [np.abs(each.effects.sum(axis=1)) for each in (one, other)]
    assert len(other.ridges) == len(one.ridges)
    assert np.corrcoef(*rises)[0, 1] > 0.95


@settings(max_examples=30, deadline=None)
@given(
    texture=st.floats(0.5, 100),
    length=st.floats(0.3, 5),
    zones=st.floats(0.0, 200),
    nugget=st.floats(0.1, 20),
)
def test_p_is_symmetric_without_negative_directions_and_knows_no_mean(
    texture, length, zones, nugget
):
    """For any background."""
    points = grid()[::3]
    model = Background(texture, length, zones, 1.5, nugget)
    p = build_precision(points, np.full(len(points), nugget), model, 0.3).tiles[0].matrix
    assert p == pytest.approx(p.T, abs=1e-9 / nugget)
    assert np.linalg.eigvalsh(p).min() > -1e-7 / nugget
    assert np.abs(p.sum(axis=1)).max() < 1e-6 / nugget


@given(angle=st.floats(0, 6.3), length=st.floats(0.5, 5), width=st.floats(0.05, 0.5))
def test_a_ridge_weighs_alike_from_either_end(angle, length, width):
    """Turned by half a turn it is the same ridge; weights lie in 0 to 1."""
    points = grid()
    one = Ridge((2.0, 1.5), angle, length, width).weights(points)
    other = Ridge((2.0, 1.5), angle + np.pi, length, width).weights(points)
    assert one == pytest.approx(other, abs=1e-6)
    assert one.min() >= 0
    assert one.max() <= 1


@given(pitch=st.floats(0.05, 2.0), spacing=st.floats(0.05, 2.0))
def test_an_alias_is_never_finer_than_two_spacings(pitch, spacing):
    """Nyquist."""
    assert alias_wavelength(pitch, spacing) >= 2 * spacing * (1 - 1e-9)
