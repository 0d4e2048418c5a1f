"""Draws of the field."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.geostat import (
    BlendedKriging,
    BlendOptions,
    Covariance,
    CovarianceFit,
    Kriging,
    NeighbourhoodKriging,
    fit_covariance,
    simulate,
)

MODEL = Covariance("matern32", 4.0, 2.0, 0.3)
RNG = np.random.default_rng(0)
POINTS = RNG.uniform(0, 10, (150, 2))
VALUES = 20 + simulate(POINTS, MODEL, 1, 3)[0] + 0.55 * RNG.standard_normal(150)


def lattice(step: float) -> np.ndarray:
    x, y = np.meshgrid(*[np.arange(step / 2, 10, step)] * 2)
    return np.column_stack([x.ravel(), y.ravel()])


@pytest.mark.parametrize("step", [0.5, 0.15])
def test_draws_have_the_mean_and_sd_of_the_map(step):
    """By Cholesky for few cells, by residual substitution for many."""
    kriging = Kriging(POINTS, VALUES, MODEL)
    mean, sd = kriging.predict(lattice(step))
    draws = kriging.draws(lattice(step), 300, 1)
    assert draws.shape == (300, len(mean))
    assert np.abs(draws.mean(axis=0) - mean).max() < 6 * sd.max() / np.sqrt(300)
    assert np.mean(draws.std(axis=0) / sd) == pytest.approx(1.0, abs=0.02)


def test_the_mean_of_draws_over_a_block_spreads_as_block_kriging_says():
    """Draws carry the correlation between cells."""
    kriging = Kriging(POINTS, VALUES, MODEL)
    block = lattice(0.15)[:300]
    draws = kriging.draws(lattice(0.15), 500, 2)[:, :300]
    assert draws.mean(axis=1).std() == pytest.approx(kriging.average(block)[1], rel=0.12)


def test_sequential_simulation_keeps_the_covariance():
    """6,400 places drawn one after the other from their nearest predecessors."""
    places = lattice(0.125)
    field = simulate(places, MODEL, 200, 5)
    rng = np.random.default_rng(1)
    one, other = rng.integers(len(places), size=(2, 4000))
    apart = np.hypot(*(places[one] - places[other]).T)
    found = np.mean(field[:, one] * field[:, other], axis=0)
    for low, high in ((0.0, 1.5), (1.5, 3.0), (3.0, 6.0)):
        near = (apart >= low) & (apart < high)
        expected = np.mean(MODEL.at(apart[near].copy()))
        assert np.mean(found[near]) == pytest.approx(expected, abs=0.35)


def test_draws_repeat_with_their_seed():
    """Seeded, for every engine."""
    fit = fit_covariance(POINTS[:30], VALUES[:30])
    for kriging in (
        BlendedKriging(POINTS[:30], VALUES[:30], fit),
        NeighbourhoodKriging(POINTS, VALUES, MODEL),
    ):
        one = kriging.draws(lattice(0.5), 20, 9)
        assert np.array_equal(one, kriging.draws(lattice(0.5), 20, 9))
        assert not np.array_equal(one, kriging.draws(lattice(0.5), 20, 10))
        assert one.shape == (20, 400)


def test_draws_from_neighbourhoods_match_their_map():
    """Cell after cell on the tiled engine."""
    kriging = NeighbourhoodKriging(POINTS, VALUES, MODEL)
    mean, sd = kriging.predict(lattice(0.5))
    draws = kriging.draws(lattice(0.5), 400, 1)
    assert np.abs(draws.mean(axis=0) - mean).max() < 6 * sd.max() / 20
    assert np.mean(draws.std(axis=0) / sd) == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize(
    "model",
    [
        Covariance("matern52", 10.0, 1.5, 8.0, anisotropy=0.5, angle_deg=30.0),
        Covariance("exponential", 10.0, 3.0, 1.0),
    ],
)
def test_draws_from_neighbourhoods_spread_together_as_one_system_of_all_says(model):
    """Against the joint normal of all readings: mean, sd and correlation of near cells."""
    rng = np.random.default_rng(6)
    points, cells = rng.uniform(0, 12, (700, 2)), rng.uniform(0, 12, (160, 2))
    cells[80:] = cells[:80] + rng.normal(0, 0.2, (80, 2))
    values = 30 + simulate(points, model, 1, 3)[0] + rng.normal(0, model.nugget**0.5, 700)
    mean, covariance = Kriging(points, values, model).joint(cells)
    sd = np.sqrt(np.diagonal(covariance))
    draws = NeighbourhoodKriging(points, values, model).draws(cells, 4000, 1)
    assert np.sqrt(np.mean(((draws.mean(axis=0) - mean) / sd) ** 2)) < 0.15
    assert draws.std(axis=0) / sd == pytest.approx(1.0, abs=0.08)
    found = np.corrcoef(draws.T)[np.arange(80), np.arange(80, 160)]
    expected = (covariance / np.outer(sd, sd))[np.arange(80), np.arange(80, 160)]
    assert found == pytest.approx(expected, abs=0.08)


def test_draws_from_the_readings_near_by_are_those_of_one_system_of_all():
    """With the same seed the same draws, to a few hundredths of their sd, in much less time."""
    rng = np.random.default_rng(6)
    model = Covariance("matern32", 10.0, 2.0, 4.0)
    points, corner = rng.uniform(0, 24, (1400, 2)), rng.uniform(0, 4, (200, 2))
    values = 30 + simulate(points, model, 1, 3)[0] + rng.normal(0, 2.0, 1400)
    fit = CovarianceFit.given(model)
    exact = BlendedKriging(points, values, fit, options=BlendOptions(engine="exact", widen=False))
    quick = BlendedKriging(points, values, fit, options=BlendOptions(widen=False))
    expected, found = exact.draws(corner, 300, 5), quick.draws(corner, 300, 5)
    assert "_exact" not in vars(quick)
    assert np.abs((found - expected) / expected.std(axis=0)).max() < 0.06
    (mean, sd), (quick_mean, quick_sd) = exact.average(corner), quick.average(corner)
    assert quick_sd == pytest.approx(sd, rel=1e-3)
    assert quick_mean == pytest.approx(mean, abs=0.03 * sd)


def test_draws_in_a_corner_of_many_readings_are_those_of_the_map():
    """However far the other readings lie."""
    rng = np.random.default_rng(4)
    points = rng.uniform(0, 60, (4000, 2))
    values = 20 + 3 * np.sin(points[:, 0] / 4) + 0.55 * rng.standard_normal(4000)
    kriging = NeighbourhoodKriging(points, values, MODEL)
    corner = lattice(0.8)
    mean, sd = kriging.predict(corner)
    draws = kriging.draws(corner, 300, 1)
    assert np.abs(draws.mean(axis=0) - mean).max() < 6 * sd.max() / np.sqrt(300)
    assert np.mean(draws.std(axis=0) / sd) == pytest.approx(1.0, abs=0.03)
