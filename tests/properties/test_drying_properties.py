"""Properties of the choice of positions, of false discovery control and of Fieller's interval."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from moisturemap.drying import discoveries, fieller
from moisturemap.equipment import choose, enumerate_all, searched, worth


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


@given(a=st.floats(-50, 50), b=st.floats(0.5, 20), va=st.floats(0.01, 9), vb=st.floats(0.0001, 9))
def test_the_ratio_lies_in_its_interval(a: float, b: float, va: float, vb: float) -> None:
    """Open or closed."""
    span = fieller(a, b, np.diag([va, vb]), 1.645)
    assert span.low <= span.value <= span.high
