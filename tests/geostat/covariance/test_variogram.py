"""Empirical variograms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.errors import NotEnoughData, OptionError
from moisturemap.geostat import empirical_variogram
from moisturemap.geostat.covariance.variogram import _binned, _on_lattice
from moisturemap.geostat.lattice import find_lattice


def test_every_pair_of_a_lattice_is_summed_by_fft():
    """The FFT gives the sums over all pairs, with holes in the lattice."""
    rng = np.random.default_rng(0)
    x, y = np.meshgrid(np.arange(24) * 0.5, np.arange(18) * 0.5)
    points = np.column_stack([x.ravel(), y.ravel()])[rng.random(432) > 0.25]
    values = rng.normal(50, 3, len(points))
    edges = np.linspace(0, 4, 11)
    from scipy.spatial.distance import pdist

    slow = _binned(pdist(points), pdist(values[:, None], "cityblock"), edges, "matheron")
    fast = _on_lattice(find_lattice(points), (points, values), edges)
    assert_allclose(fast.pairs, slow.pairs)
    assert_allclose(fast.gamma, slow.gamma, rtol=1e-9)
    assert_allclose(fast.distance, slow.distance, rtol=1e-9)


def test_robust_estimators_resist_what_misleads_the_plain_one():
    """One reading in ten lifted by 10 sd: about 10, 3.9 and 1.65 where 1 is true (own count)."""
    rng = np.random.default_rng(1)
    points, values = rng.uniform(0, 100, (1500, 2)), rng.standard_normal(1500)
    values[::10] += 10.0
    found = {
        estimator: empirical_variogram(points, values, estimator=estimator).gamma.mean()
        for estimator in ("matheron", "cressie-hawkins", "dowd")
    }
    assert found["matheron"] == pytest.approx(10.0, rel=0.05)
    assert found["cressie-hawkins"] == pytest.approx(3.9, rel=0.1)
    assert found["dowd"] == pytest.approx(1.65, rel=0.1)


def test_one_place_has_no_variogram():
    """Two readings at one place are no pair."""
    with pytest.raises(NotEnoughData):
        empirical_variogram([[0, 0], [0, 0]], [1.0, 2.0])


def test_an_unknown_estimator_is_refused():
    """The message lists what is allowed."""
    with pytest.raises(OptionError, match="dowd"):
        empirical_variogram([[0, 0], [1, 0]], [1.0, 2.0], estimator="best")
