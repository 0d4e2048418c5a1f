"""Fieller's interval and the time to a target, against worked values.

Sources: E. C. Fieller, J. R. Statist. Soc. B 16 (1954) 175; the values of the decay come from an
independent computation of the same model (a = 50, H0 = 95, half-life 60 d, visits on days 0, 14,
28, 42 without error, sd 1.5: t(75) = 60 log2(45/25) = 50.880 d; Fieller 43.49 to 62.33).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from moisturemap.drying import blend_decays, fieller, fit_decay, time_to_target

DAYS = np.array([0.0, 14.0, 28.0, 42.0])
LEVELS = 50.0 + 45.0 * 0.5 ** (DAYS / 60.0)


def test_time_to_target_and_its_interval() -> None:
    """The worked example, 95 %."""
    span = time_to_target(fit_decay(DAYS, LEVELS, np.full(4, 1.5), 50.0), 75.0, 0.95)
    assert span.value == pytest.approx(50.880, abs=0.001)
    assert span.low == pytest.approx(43.49, abs=0.01)
    assert span.high == pytest.approx(62.33, abs=0.01)


def test_the_blend_with_a_sure_asymptote_is_fieller() -> None:
    """Its ends from today on are the same."""
    span = blend_decays(DAYS, LEVELS, np.full(4, 1.5), (50.0, 0.0)).interval(75.0, 42.0, 0.95)
    assert span.low == pytest.approx(43.487 - 42.0, abs=0.01)
    assert span.high == pytest.approx(62.329 - 42.0, abs=0.01)


def test_the_ends_are_where_the_test_of_a_ratio_turns() -> None:
    """Fieller's definition: all r with (a - r b)^2 <= z^2 Var(a - r b)."""
    a, b, v = 12.0, 4.0, np.array([[1.0, 0.2], [0.2, 0.3]])
    z = float(norm.ppf(0.975))

    def excess(r: float) -> float:
        return (a - r * b) ** 2 - z**2 * (v[0, 0] - 2 * r * v[0, 1] + r**2 * v[1, 1])

    span = fieller(a, b, v, z)
    assert span.low == pytest.approx(brentq(excess, 0.0, 3.0))
    assert span.high == pytest.approx(brentq(excess, 3.0, 20.0))


def test_a_denominator_that_may_be_zero_gives_no_upper_bound() -> None:
    """b^2 <= z^2 V22: the interval is open."""
    span = fieller(12.0, 1.0, np.array([[1.0, 0.0], [0.0, 1.0]]), 1.96)
    assert math.isinf(span.high)
    assert not span.bounded
