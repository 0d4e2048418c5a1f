"""The restricted likelihood."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.geostat import Covariance, restricted_log_likelihood
from moisturemap.geostat.fitting.likelihood import ReadingBlocks
from moisturemap.geostat.observations import pool


def readings(count: int, seed: int = 0):
    rng = np.random.default_rng(seed)
    return pool(rng.uniform(0, 5, (count, 2)), 50 + rng.standard_normal(count))


@pytest.mark.parametrize("kind", ["exponential", "matern32", "matern52", "spherical"])
def test_the_profile_is_the_restricted_likelihood_at_every_variance(kind):
    """One block of few readings, with a sloping drift, against the textbook formula."""
    data = readings(40)
    drift = np.column_stack([np.ones(40), data.points])
    profile = ReadingBlocks.of(data, drift, 0.1).profile(kind, 1.3, 0.2)
    for variance in (0.3, 2.0):
        model = Covariance(kind, variance, 1.3, 0.2 * variance)
        matrix = model.between(data.points, data.points) + model.nugget * np.eye(40)
        inverse = np.linalg.inv(matrix)
        normal = drift.T @ inverse @ drift
        residual = data.values - drift @ np.linalg.solve(normal, drift.T @ inverse @ data.values)
        expected = -0.5 * (
            np.linalg.slogdet(matrix)[1]
            + np.linalg.slogdet(normal)[1]
            + residual @ inverse @ residual
            + 37 * np.log(2 * np.pi)
        )
        constant = 0.5 * 37 * np.log(2 * np.pi)
        assert profile.at(np.array(variance)) - constant == pytest.approx(expected, abs=1e-8)
        found = restricted_log_likelihood(data.points, data.values, model, drift=drift)
        assert found == pytest.approx(expected, abs=1e-8)


def test_many_readings_are_cut_into_blocks_of_equal_number():
    """Compact blocks share no reading; the last block spreads over the floor."""
    data = readings(700)
    blocks = ReadingBlocks.of(data, np.ones((700, 1)), 0.1)
    compact = blocks.points[:-1].reshape(-1, 2)
    assert len(np.unique(compact, axis=0)) == len(compact) >= 690
    assert np.ptp(blocks.points[-1], axis=0).min() > 4.0
    assert max(np.ptp(block, axis=0).min() for block in blocks.points[:-1]) < 3.0


def test_a_covariance_that_is_not_positive_definite_is_infinitely_unlikely():
    """Two readings at one place without noise."""
    points = np.array([[0.0, 0.0], [0.0, 0.0], [1.0, 0.0]])
    model = Covariance("matern52", 1.0, 2.0)
    assert restricted_log_likelihood(points, np.array([1.0, 2.0, 3.0]), model) == -np.inf
