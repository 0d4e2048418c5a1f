"""Exact kriging."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.errors import NotEnoughData
from moisturemap.geostat import Covariance, Kriging
from moisturemap.geostat.covariance.model import KINDS
from moisturemap.geostat.drift import drift_over
from moisturemap.geostat.kriging.distances import Distances
from moisturemap.geostat.kriging.exact import INVERTED

RNG = np.random.default_rng(3)
POINTS = RNG.uniform(0, 10, (50, 2))
VALUES = RNG.normal(50, 5, 50)


@pytest.mark.parametrize("kind", KINDS)
def test_without_noise_the_readings_come_back(kind):
    """Exactness: at a reading the map is the reading, its sd zero."""
    mean, sd = Kriging(POINTS, VALUES, Covariance(kind, 20.0, 2.0)).predict(POINTS)
    assert_allclose(mean, VALUES, atol=1e-6)
    assert_allclose(sd, 0.0, atol=1e-3)


def test_far_from_every_reading_the_map_is_the_mean():
    """The sd is that of the field and of its estimated mean."""
    kriging = Kriging(POINTS, VALUES, Covariance("exponential", 20.0, 1.0, 1.0))
    mean, sd = kriging.predict([[1e4, 1e4]])
    assert mean[0] == pytest.approx(kriging.coefficients[0], abs=1e-9)
    assert sd[0] > np.sqrt(20.0)


@pytest.mark.parametrize("nugget", [0.0, 2.0])
def test_the_map_without_some_readings_follows_from_that_with_them(nugget):
    """Mean and variance are those of the other readings kriged alone, drift included."""
    model, gone = Covariance("matern32", 20.0, 2.0, nugget), np.array([3, 17, 18, 40])
    drift = drift_over(POINTS, "linear")
    cells = np.concatenate([RNG.uniform(0, 10, (30, 2)), POINTS[gone] + 0.01])
    whole = Kriging(POINTS, VALUES, model, drift=drift)
    mean, sd = whole.predict(cells)
    middle, shift, further = whole.change_without(gone)(Distances(cells, POINTS))
    rest = np.setdiff1d(np.arange(len(POINTS)), gone)
    expected = Kriging(POINTS[rest], VALUES[rest], model, drift=drift).predict(cells)
    assert_allclose(middle, mean, atol=1e-8)
    assert np.abs(shift).max() > 1.0
    assert_allclose(mean + shift, expected[0], atol=1e-8)
    assert_allclose(np.sqrt(sd**2 + further), expected[1], atol=1e-8)


def test_a_drift_is_followed_exactly():
    """Readings on a plane give the plane, also beyond them."""
    plane = 3.0 + POINTS @ np.array([0.5, -1.0])
    kriging = Kriging(
        POINTS,
        plane,
        Covariance("exponential", 4.0, 2.0),
        drift=lambda at: np.column_stack([np.ones(len(at)), at]),
    )
    mean, _ = kriging.predict([[25.0, -4.0]])
    assert mean[0] == pytest.approx(3.0 + 12.5 + 4.0, abs=1e-8)
    assert_allclose(kriging.coefficients, [3.0, 0.5, -1.0], atol=1e-9)


def test_fewer_places_than_drift_columns_are_refused():
    """A plane needs three places."""
    with pytest.raises(NotEnoughData, match="3 distinct places"):
        Kriging(
            POINTS[:2],
            VALUES[:2],
            Covariance("exponential", 4.0, 2.0),
            drift=lambda at: np.column_stack([np.ones(len(at)), at]),
        )


def test_a_block_mean_is_the_mean_of_its_cells():
    """Mean and variance against the joint covariance of the cells, also in parts."""
    kriging = Kriging(POINTS, VALUES, Covariance("matern32", 20.0, 2.0, 1.0))
    cells = np.random.default_rng(1).uniform(2, 6, (5000, 2))
    mean, covariance = kriging.joint(cells[:400])
    found = kriging.average(cells[:400])
    assert found[0] == pytest.approx(mean.mean())
    assert found[1] == pytest.approx(np.sqrt(covariance.mean()))
    parts = kriging.average(cells)
    assert parts[0] == pytest.approx(kriging.predict(cells)[0].mean())
    assert parts[1] == pytest.approx(found[1], rel=0.1)


def test_few_cells_are_solved_as_many_are():
    """By the factor or by its inverse: as exactly."""
    kriging = Kriging(POINTS, VALUES, Covariance("matern32", 20.0, 3.0, 1.0))
    many = RNG.uniform(0, 10, (INVERTED * len(POINTS) + 1, 2))
    for whole, part in zip(kriging.predict(many), kriging.predict(many[:7]), strict=True):
        assert_allclose(part, whole[:7], rtol=1e-10)
