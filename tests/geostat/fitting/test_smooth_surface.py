"""The smooth surface through points, held against SciPy's radial basis functions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from moisturemap.geostat.fitting.smooth_surface import smooth_surface


@pytest.mark.parametrize("count", [9, 18, 29])
def test_it_is_that_of_scipy(count):
    """SciPy's ``RBFInterpolator``, cubic with a quadratic trend (Fasshauer 2007 therein)."""
    rng = np.random.default_rng(count)
    places, nodes = rng.uniform(-1.0, 4.0, (count, 2)), rng.uniform(-1.0, 4.0, (400, 2))
    values = 30.0 * rng.random(count)
    theirs = RBFInterpolator(places, values, kernel="cubic", degree=2)(nodes)
    assert smooth_surface(places, values, nodes) == pytest.approx(theirs, rel=1e-8, abs=1e-8)


def test_it_goes_through_its_points_and_keeps_what_is_quadratic():
    """On a grid as the fit looks at first, and beyond it."""
    places = np.array([[a, b] for a in (0.0, 0.5, 1.0) for b in (0.0, 0.5, 1.0)])
    nodes = np.random.default_rng(1).uniform(-0.5, 1.5, (50, 2))

    def bowl(at):
        return 3.0 - at[:, 0] ** 2 + 2.0 * at[:, 0] * at[:, 1] - 5.0 * at[:, 1]

    assert smooth_surface(places, bowl(places), nodes) == pytest.approx(bowl(nodes), abs=1e-10)
    values = np.random.default_rng(2).random(9)
    assert smooth_surface(places, values, places) == pytest.approx(values, abs=1e-10)
    with pytest.raises(np.linalg.LinAlgError):
        smooth_surface(places[:4], values[:4], nodes)
