"""What must hold for any readings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.testing import assert_allclose

from moisturemap.geostat import BlendedKriging, Covariance, Kriging, fit_covariance
from moisturemap.geostat.covariance.model import KINDS

places = st.integers(3, 25).flatmap(
    lambda count: arrays(float, (count, 2), elements=st.floats(0, 50).map(lambda x: round(x, 2)))
)
models = st.builds(
    Covariance, st.sampled_from(KINDS), st.floats(0.1, 100), st.floats(0.3, 20), st.floats(0.01, 10)
)


def values_at(points: np.ndarray, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(50, 10, len(points))


@settings(max_examples=60, deadline=None)
@given(places, models, st.integers(0, 999))
def test_any_readings_give_finite_means_and_sds(points, model, seed):
    """Duplicates, lines, clusters: never NaN, never a negative variance."""
    cells = np.random.default_rng(seed).uniform(-10, 60, (20, 2))
    mean, sd = Kriging(points, values_at(points, seed), model).predict(cells)
    assert np.isfinite(mean).all()
    assert np.isfinite(sd).all()
    assert (sd >= 0).all()


@settings(max_examples=60, deadline=None)
@given(places, models, st.integers(0, 999), st.floats(-3, 3), st.floats(-100, 100))
def test_kriging_is_linear_in_the_readings(points, model, seed, factor, shift):
    """Another unit or zero of the scale changes the mean alike and the sd not."""
    cells = np.random.default_rng(seed).uniform(0, 50, (10, 2))
    values = values_at(points, seed)
    mean, sd = Kriging(points, values, model).predict(cells)
    other_mean, other_sd = Kriging(points, factor * values + shift, model).predict(cells)
    assert_allclose(other_mean, factor * mean + shift, atol=1e-6)
    assert_allclose(other_sd, sd, atol=1e-9)


@settings(max_examples=40, deadline=None)
@given(places, models, st.integers(0, 999))
def test_one_more_reading_never_widens_the_interval(points, model, seed):
    """Information never hurts when the covariance is known."""
    rng = np.random.default_rng(seed)
    cells, extra = rng.uniform(0, 50, (10, 2)), rng.uniform(0, 50, (1, 2))
    _, before = Kriging(points, values_at(points, seed), model).predict(cells)
    more = np.concatenate([points, extra])
    _, after = Kriging(more, values_at(more, seed), model).predict(cells)
    assert (after <= before + 1e-6).all()


@pytest.mark.thorough
@settings(max_examples=25, deadline=None)
@given(places, st.integers(0, 999))
def test_any_three_places_or_more_can_be_fitted_and_mapped(points, seed):
    """The fit never fails on what three distinct places or more may be."""
    if len(np.unique(np.round(points, 6), axis=0)) < 3:
        return
    values = np.round(values_at(points, seed))
    fit = fit_covariance(points, values)
    mean, sd = BlendedKriging(points, values, fit).predict(points + 0.05)
    assert np.isfinite(mean).all()
    assert (sd > 0).all()
    assert abs(sum(weight for weight, _ in fit.posterior) - 1) < 1e-9
