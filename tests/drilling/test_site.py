"""Which places of a floor are drawn for the wettest twentieth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.drilling.site import WETTEST, WIDENED, _doubted, _maybe_wettest, _neighbours

SIDE = 12


def in_wettest(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Whether each place lies in the wettest twentieth, of draws (count, m)."""
    found = np.zeros(values.shape, dtype=bool)
    for row, one in zip(found, values, strict=True):
        order = np.argsort(-one)
        reached = np.cumsum(weight[order])
        last = int((reached < WETTEST * weight.sum()).sum())
        row[order[: last + 1]] = True
    return found


@pytest.mark.thorough
@given(
    seed=st.integers(0, 10_000),
    height=st.floats(0.0, 60.0),
    sd=st.floats(0.1, 8.0),
    pitch=st.floats(0.2, 1.2),
)
def test_no_place_that_comes_into_the_wettest_twentieth_is_left_undrawn(seed, height, sd, pitch):
    """What is not drawn would not have counted in any draw, wet peak or none."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(SIDE), np.arange(SIDE))
    points = pitch * np.column_stack([x.ravel(), y.ravel()])
    weight = rng.uniform(0.5, 1.5, len(points))
    centre = points[rng.integers(len(points))]
    bell = np.exp(-0.5 * ((points - centre) ** 2).sum(axis=1) / (2.0 * pitch) ** 2)
    mean, spread = 20.0 + height * bell, rng.uniform(0.5, 1.0, len(points)) * sd
    near = _neighbours(points)
    bounds = mean - 3.5 * WIDENED * spread, mean + 3.5 * WIDENED * spread
    likely = _maybe_wettest(bounds, weight, near)
    drawn = mean + spread * rng.standard_normal((200, len(points)))
    drawn = _doubted(drawn, near, np.ones(len(points), dtype=bool))
    assert likely.any()
    assert not (in_wettest(drawn, weight) & ~likely).any()


def test_a_wet_peak_leaves_most_of_the_floor_undrawn():
    """On a floor with a high wet zone few places are drawn."""
    x, y = np.meshgrid(np.arange(20.0), np.arange(20.0))
    points = np.column_stack([x.ravel(), y.ravel()])
    mean = 20.0 + 60.0 * np.exp(-0.5 * ((points - 10.0) ** 2).sum(axis=1) / 9.0)
    likely = _maybe_wettest((mean - 5.0, mean + 5.0), np.ones(400), _neighbours(points))
    assert 20 <= likely.sum() < 80
