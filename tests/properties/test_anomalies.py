"""Properties of the search for anomalies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.limits import alias_wavelength
from moisturemap.anomalies.pattern import gls_metric
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search


def grid():
    x, y = np.meshgrid(np.arange(0, 4.2, 0.3), np.arange(0, 3.3, 0.3))
    return np.column_stack([x.ravel(), y.ravel()])


def lifted(points, values, *, factor: float = 1.0, level: float | None = None):
    """Readings over what was found, by standing: things and contested."""
    ones = np.ones(len(points))
    scene = Scene(
        points, values, ones, 0 * ones, 0.3, 0.12, 0.05 * factor**2, 100 * factor, np.inf, level
    )
    found = assemble(search(scene), scene, box(-200, -200, 200, 200), 2.0)
    marks = np.zeros(len(points), dtype=int)
    for rank, standing in ((1, "contested"), (2, "thing")):
        for one in found:
            if one.standing == standing:
                marks[one.disturbed] = rank
    return marks


def pipe_floor(seed: int, strength: float = 14.0):
    points = grid()
    noise = np.random.default_rng(seed).normal(0, 1.5, len(points))
    return points, 40 + noise + strength * Ridge((2.0, 1.6), 0.0, 3.0, 0.13).rise(points)


@pytest.mark.thorough
@settings(max_examples=8, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(shift=st.floats(-50, 50), factor=st.floats(0.2, 5.0), seed=st.integers(0, 5))
def test_another_zero_or_unit_of_the_scale_finds_the_same(shift, factor, seed):
    """Readings a + b z disturb the same places."""
    points, values = pipe_floor(seed)
    one, other = lifted(points, values), lifted(points, shift + factor * values, factor=factor)
    assert (one == other).mean() > 0.97


@pytest.mark.thorough
@settings(max_examples=5, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(x=st.floats(-100, 100), y=st.floats(-100, 100))
def test_another_origin_of_the_plan_finds_the_same(x, y):
    """Places moved together."""
    points, values = pipe_floor(1)
    assert (lifted(points, values) == lifted(points + np.array([x, y]), values)).mean() > 0.97


@pytest.mark.thorough
@settings(max_examples=10, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(seed=st.integers(0, 50), level=st.floats(0, 100))
def test_a_wet_level_below_the_readings_never_makes_more_things(seed, level):
    """What may hide wet floor is held to higher odds than what cannot."""
    points, values = pipe_floor(seed)
    cautious, free = lifted(points, values, level=level), lifted(points, values, level=101.0)
    assert ((cautious == 2) & (free != 2)).sum() == 0


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 1000), noise=st.floats(0.1, 20))
def test_p_is_symmetric_without_negative_directions_and_knows_no_mean(seed, noise):
    """For any covariance."""
    part = np.random.default_rng(seed).standard_normal((40, 60))
    p = gls_metric(part @ part.T + noise * np.eye(40))
    assert p == pytest.approx(p.T, abs=1e-9 / noise)
    assert np.linalg.eigvalsh(p).min() > -1e-7 / noise
    assert np.abs(p.sum(axis=1)).max() < 1e-6 / noise


@given(angle=st.floats(0, 6.3), length=st.floats(0.5, 5), width=st.floats(0.05, 0.5))
def test_a_ridge_weighs_alike_from_either_end(angle, length, width):
    """Turned by half a turn it is the same ridge; weights lie in 0 to 1."""
    points = grid()
    one = Ridge((2.0, 1.5), angle, length, width).rise(points)
    other = Ridge((2.0, 1.5), angle + np.pi, length, width).rise(points)
    # where the profile is cut off, three widths away, rounding may fall on either side
    assert one == pytest.approx(other, abs=0.012)
    assert one.min() >= 0
    assert one.max() <= 1


@given(pitch=st.floats(0.05, 2.0), spacing=st.floats(0.05, 2.0))
def test_an_alias_is_never_finer_than_two_spacings(pitch, spacing):
    """Nyquist."""
    assert alias_wavelength(pitch, spacing) >= 2 * spacing * (1 - 1e-9)
