"""Where a floor varies more than elsewhere, the interval is wider."""

from __future__ import annotations

import numpy as np

from moisturemap.geostat import BlendedKriging, Covariance, fit_covariance, simulate
from moisturemap.geostat.kriging.widening import Widening


def lattice(side: float, step: float) -> np.ndarray:
    axis = np.arange(step / 2, side, step)
    return np.column_stack([part.ravel() for part in np.meshgrid(axis, axis)])


def test_the_interval_is_wider_at_the_rim_of_a_steep_patch():
    """A dry floor with one wet disc: wide where it falls off, unchanged far away."""
    points = lattice(8.0, 0.5)
    rng = np.random.default_rng(2)
    away = np.hypot(*(points - 4.0).T)
    values = 30 + 30 * (away < 1.7) + rng.standard_normal(len(points))
    kriging = BlendedKriging(points, values, fit_covariance(points, values))
    assert kriging.widening is not None
    rim = 4.0 + 1.7 * np.column_stack([np.cos(np.arange(8)), np.sin(np.arange(8))])
    corner = np.array([[0.6, 0.6], [7.4, 7.4]])
    assert kriging.widening.at(rim).mean() > 1.3
    assert (kriging.widening.at(corner) < 1.1).all()
    assert (kriging.widening.at(points) >= 1.0).all()
    draws = kriging.draws(np.concatenate([rim, corner]), 600, 0)
    _, sd = kriging.predict(np.concatenate([rim, corner]))
    assert np.abs(draws.std(axis=0) / sd - 1).max() < 0.2


def test_a_floor_that_is_alike_everywhere_is_left_alone():
    """On most stationary floors nothing is widened, and never by much."""
    wider = []
    for seed in range(8):
        rng = np.random.default_rng(seed)
        points = rng.uniform(0, 10, (200, 2))
        model = Covariance("exponential", 9.0, 1.0, 1.0)
        values = 50 + simulate(points, model, 1, seed)[0] + rng.standard_normal(200)
        kriging = BlendedKriging(points, values, fit_covariance(points, values))
        factor = 1.0 if kriging.widening is None else kriging.widening.at(points).mean()
        wider.append(factor)
    assert np.median(wider) == 1.0
    assert max(wider) < 1.1


def test_readings_that_are_not_known_say_nothing():
    """Censored readings come as NaN; with nothing known nothing is widened."""
    points = lattice(5.0, 0.5)
    values = np.where(points[:, 0] < 2.5, 10.0 * (points[:, 1] > 2.5), np.nan)
    found = Widening.of(points, values, 0.5, lambda pairs: np.ones(len(pairs)))
    assert found is not None
    assert np.isfinite(found.at(points)).all()
    assert found.middles[:, 0].max() < 2.5
    unknown = np.full(len(points), np.nan)
    assert Widening.of(points, unknown, 0.5, lambda pairs: np.ones(len(pairs))) is None


def test_a_stray_widens_the_interval_about_itself_alone():
    """One wrong reading on a stationary floor leaves the rest of the floor as it is."""
    points = lattice(10.0, 0.5)
    model = Covariance("exponential", 9.0, 1.5, 1.0)
    values = 50 + simulate(points, model, 1, 5)[0]
    values += np.random.default_rng(5).standard_normal(len(points))
    stray = int(np.argmin(np.hypot(*(points - 3.0).T)))
    values[stray] += 60.0
    kriging = BlendedKriging(points, values, fit_covariance(points, values))
    assert kriging.widening is not None
    away = np.hypot(*(points - points[stray]).T) > 2.0
    factor = kriging.widening.at(points)
    assert factor[stray] > 1.5
    assert factor[away].mean() < 1.02
