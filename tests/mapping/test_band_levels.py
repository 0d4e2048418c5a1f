"""Colour steps of a map are never finer than what the meter shows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.mapping.bands import band_levels


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0])
def test_a_floor_that_does_not_vary_is_one_band(step):
    """29.954 to 29.968 on a meter that shows whole numbers was drawn in seven bands."""
    levels = band_levels(np.array([29.954, 29.96, 29.968]), least=step)
    assert len(levels) == 2
    assert levels[0] < 29.954 < 29.968 < levels[1]


@given(st.floats(-500, 500), st.floats(0, 300), st.sampled_from([0.0, 0.1, 0.25, 0.5, 1.0, 2.0]))
def test_bands_span_the_values_and_are_no_finer_than_the_step(low, span, step):
    """Whatever the values."""
    values = np.array([low, low + span])
    levels = band_levels(values, least=step)
    assert np.diff(levels).min() >= step * (1 - 1e-9)
    assert levels[0] <= low + 1e-6
    assert levels[-1] >= low + span - 1e-6
