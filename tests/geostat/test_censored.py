"""Readings at the end of the scale."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.errors import NotEnoughData
from moisturemap.geostat import (
    BlendedKriging,
    BlendOptions,
    Covariance,
    fit_censored,
    fit_covariance,
    simulate,
)
from moisturemap.geostat.censored import Censored, fill_in

TRUTH = Covariance("matern32", 200.0, 2.0, 9.0)


def capped(seed: int, count: int = 120):
    """Readings of a floor that runs past full scale at 100, and the truth at other places."""
    rng = np.random.default_rng(seed)
    points, cells = rng.uniform(0, 8, (count, 2)), rng.uniform(0, 8, (300, 2))
    field = simulate(np.concatenate([points, cells]), TRUTH, 1, seed)[0] + 90
    read = field[:count] + 3 * rng.standard_normal(count)
    side = (read >= 100).astype(int)
    return points, np.minimum(read, 100.0), side, cells, field[count:]


@pytest.mark.thorough
def test_full_scale_readings_do_not_flatten_the_peak():
    """Taken as at or above, they give a better map and an interval that holds the truth."""
    plain, kept, covered = [], [], []
    for seed in (0, 3):
        points, values, side, cells, truth = capped(seed)
        assert side.mean() > 0.05
        fitted = fit_censored(points, values, side)
        options = BlendOptions(copies=fitted.copies)
        mean, sd = BlendedKriging(points, values, fitted.fit, options=options).predict(cells)
        naive, _ = BlendedKriging(points, values, fit_covariance(points, values)).predict(cells)
        kept.append(np.mean((mean - truth) ** 2))
        plain.append(np.mean((naive - truth) ** 2))
        covered.append(np.mean(np.abs(mean - truth) < 1.645 * sd))
    assert np.mean(kept) < 0.75 * np.mean(plain)
    assert np.mean(covered) > 0.84


def test_filled_in_readings_respect_their_limit():
    """No copy lies inside the scale; the others stay what they are."""
    points, values, side, _, _ = capped(1)
    copies = fill_in(Censored(points, values, side), TRUTH, np.random.default_rng(0))
    assert (copies[side == 1] >= 100.0).all()
    assert np.array_equal(copies[side == 0], np.repeat(values[side == 0][:, None], 12, axis=1))


def test_a_reading_below_the_scale_is_used_as_at_or_below():
    """The other end works alike."""
    points, values, side, _, _ = capped(2)
    copies = fill_in(Censored(points, -values, -side), TRUTH, np.random.default_rng(0))
    assert (copies[side == 1] <= -100.0).all()


def test_too_few_readings_inside_the_scale_are_refused():
    """A floor all at full scale has no pattern."""
    with pytest.raises(NotEnoughData, match="inside the scale"):
        fit_censored(
            np.random.default_rng(0).uniform(0, 1, (9, 2)),
            np.full(9, 100.0),
            np.array([1] * 7 + [0] * 2),
        )


def test_the_same_seed_gives_the_same_fit():
    """Random, yet repeatable."""
    points, values, side, _, _ = capped(3)
    one = fit_censored(points, values, side, seed=5)
    other = fit_censored(points, values, side, seed=5)
    assert np.array_equal(one.copies, other.copies)
    assert one.fit.model == other.fit.model


@pytest.mark.thorough
def test_many_readings_are_filled_in_from_their_neighbours():
    """Beyond 1,500 readings each is drawn given its neighbours."""
    points, values, side, _, _ = capped(4, count=1600)
    copies = fill_in(Censored(points, values, side), TRUTH, np.random.default_rng(0))
    assert (copies[side == 1] >= 100.0).all()
    assert copies[side == 1].mean() < 125.0
