"""Covariance models."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

import moisturemap as mm
from moisturemap.errors import OptionError
from moisturemap.geostat.covariance.model import KINDS, PRACTICAL


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"kind": "gaussian"}, "exponential"),
        ({"variance": -1.0}, "variance"),
        ({"variance": float("nan")}, "variance"),
        ({"length": 0.0}, "length"),
        ({"nugget": -0.1}, "nugget"),
        ({"anisotropy": 0.0}, "anisotropy"),
        ({"anisotropy": 1.2}, "anisotropy"),
        ({"angle_deg": float("inf")}, "angle_deg"),
    ],
)
def test_what_a_covariance_cannot_mean_is_refused(given, named):
    """The message names the field and what is allowed."""
    with pytest.raises(OptionError, match=named):
        mm.Covariance(**{"kind": "spherical", "variance": 1.0, "length": 2.0, **given})


@pytest.mark.parametrize("kind", KINDS)
def test_distances_given_are_left_as_they_are(kind):
    """Whole numbers work too, and the value at no distance is the variance."""
    model = mm.Covariance(kind, 4.0, 2.0)
    distance = np.array([0, 1, 3])
    before = distance.copy()
    found = model.at(distance)
    assert (distance == before).all()
    assert found[0] == 4.0
    assert (np.diff(found) < 0).any()
    floats = distance.astype(float)
    assert model.at(floats) == pytest.approx(found)
    assert (floats == before).all()


@pytest.mark.parametrize("kind", KINDS)
def test_the_practical_range_is_where_the_correlation_is_a_twentieth(kind):
    """Found by bisection."""
    model = mm.Covariance(kind, 1.0, 1.0)
    where = brentq(lambda h: float(model.correlation(h)) - 0.05, 0.01, 10.0)
    assert PRACTICAL[kind] == pytest.approx(where, abs=1e-4)


@pytest.mark.parametrize("kind", KINDS)
def test_the_slope_of_a_correlation_is_its_derivative(kind):
    """Against central differences in log length."""
    distance = np.linspace(0.1, 3.0, 20)
    step = 1e-5
    up, down = (
        mm.Covariance(kind, 1.0, 1.7 * np.exp(sign * step)).correlation(distance)
        for sign in (1, -1)
    )
    slope = mm.Covariance(kind, 1.0, 1.7).with_slope(distance)[1]
    assert slope == pytest.approx((up - down) / (2 * step), abs=1e-6)
