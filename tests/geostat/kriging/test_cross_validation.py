"""Predicting readings from the others."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.geostat import Covariance, CrossValidation, Kriging, leave_blocks_out

MODEL = Covariance("exponential", 4.0, 2.0, 0.3)
RNG = np.random.default_rng(0)
POINTS = RNG.uniform(0, 8, (90, 2))
VALUES = 20 + RNG.standard_normal(90) + np.sin(POINTS[:, 0])


def test_leave_one_out_is_what_leaving_one_out_gives():
    """The closed form against honest refits, to rounding."""
    residual, sd = Kriging(POINTS, VALUES, MODEL).leave_one_out()
    for out in (0, 13, 57):
        rest = np.arange(90) != out
        mean, spread = Kriging(POINTS[rest], VALUES[rest], MODEL).predict_reading(POINTS[[out]])
        assert residual[out] == pytest.approx(VALUES[out] - mean[0], abs=1e-10)
        assert sd[out] == pytest.approx(spread[0], abs=1e-10)


def test_leave_blocks_out_is_what_leaving_blocks_out_gives():
    """The closed form against honest refits, to rounding."""
    check = leave_blocks_out(Kriging(POINTS, VALUES, MODEL), 2.0)
    block = (np.floor((POINTS - POINTS.min(axis=0)) / 2.0) == [1, 1]).all(axis=1)
    assert block.sum() > 3
    mean, spread = Kriging(POINTS[~block], VALUES[~block], MODEL).predict_reading(POINTS[block])
    assert_allclose(check.residual[block], VALUES[block] - mean, atol=1e-9)
    assert_allclose(check.sd[block], spread, atol=1e-9)


def test_one_block_of_everything_predicts_nothing():
    """Without the others there is no prediction."""
    check = leave_blocks_out(Kriging(POINTS, VALUES, MODEL), 100.0)
    assert np.isnan(check.residual).all()
    assert np.isinf(check.sd).all()


def test_one_reading_cannot_be_predicted_from_nothing():
    """NaN and an infinite sd, not a number from nowhere."""
    residual, sd = Kriging(POINTS[:1], VALUES[:1], MODEL).leave_one_out()
    assert np.isnan(residual[0])
    assert np.isinf(sd[0])


def test_coverage_spread_and_score_are_those_of_the_standard_normal():
    """Checked on exact normal residuals."""
    z = np.random.default_rng(1).standard_normal(20_000)
    check = CrossValidation(3.0 * z, np.full(20_000, 3.0))
    assert check.coverage() == pytest.approx(0.9, abs=0.01)
    assert check.spread == pytest.approx(1.0, abs=0.03)
    assert check.log_score == pytest.approx(-0.5 - np.log(3) - 0.5 * np.log(2 * np.pi), abs=0.02)
