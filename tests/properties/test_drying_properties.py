"""Properties of the choice of positions, of false discovery control and of forecasts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moisturemap.drying import DryingOptions, DryLevel, ZoneCourse, discoveries
from moisturemap.drying.forecast import forecast_zone
from moisturemap.equipment import choose, enumerate_all, searched, worth


@pytest.mark.thorough
@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), count=st.integers(1, 3))
def test_the_search_is_within_two_percent_of_every_combination(seed: int, count: int) -> None:
    """Greedy, random starts and exchange against enumeration, and choose equal to it."""
    rng = np.random.default_rng(seed)
    places, sites = rng.uniform(0, 15, (40, 2)), rng.uniform(0, 15, (25, 2))
    way = np.hypot(*(sites[:, None, :] - places).T).T
    service, weight = way.max() - way, rng.exponential(1.0, 40)
    best = worth(service, weight, enumerate_all(service, weight, count))
    assert worth(service, weight, searched(service, weight, count)) >= 0.98 * best
    assert choose(service, weight, count).value >= best * (1 - 1e-12)


@given(seed=st.integers(0, 10_000), rate=st.floats(0.01, 0.5))
def test_discoveries_grow_with_the_rate_and_are_the_smallest(seed: int, rate: float) -> None:
    """No test that counts has a larger p than one that does not."""
    p = np.random.default_rng(seed).uniform(0, 1, 30) ** 2
    shown = discoveries(p, rate)
    assert shown.sum() <= discoveries(p, min(0.99, 1.5 * rate)).sum()
    if shown.any() and not shown.all():
        assert p[shown].max() < p[~shown].min()


@pytest.mark.thorough
@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000), sooner=st.floats(0.5, 8.0))
def test_a_lower_target_is_never_met_earlier(seed: int, sooner: float) -> None:
    """Whatever was read: the day before which it is not met moves later, or stays."""
    rng = np.random.default_rng(seed)
    days = np.cumsum(rng.uniform(2.0, 15.0, 4))
    level = 30.0 + rng.uniform(15, 50) * np.exp(-days / rng.uniform(10, 200)) + rng.normal(0, 1, 4)
    course = ZoneCourse("A", days - days[0], level, np.full(4, 1.2))
    dry, options = DryLevel(30.0, 2.0, "as supplied"), DryingOptions()
    easy = forecast_zone(course, 42.0, dry, options)
    hard = forecast_zone(course, 42.0 - sooner, dry, options)
    assert hard.low >= easy.low - 1e-9
    assert hard.kept_wet == easy.kept_wet
