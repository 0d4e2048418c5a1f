"""Mixtures of covariances, with and without a pattern."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.geostat import BlendedKriging, BlendOptions, Covariance, Kriging, simulate
from moisturemap.geostat.fitting.fit import CovarianceFit
from moisturemap.geostat.kriging.flat import FlatKriging

PARTS = (
    (0.5, Covariance("exponential", 4.0, 1.5, 0.4)),
    (0.3, Covariance("matern32", 4.0, 1.2, 0.7)),
    (0.2, Covariance("exponential", 4.0, 2.0, 0.4, anisotropy=0.6, angle_deg=30.0)),
)
NOTHING = Covariance("exponential", 1e-6, 10.0, 5.0)


def readings(count: int, seed: int = 0) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 15.0, (count, 2))
    field = simulate(points, PARTS[0][1], 1, seed)[0]
    return points, 50 + field + rng.normal(0, np.sqrt(0.4), count)


def fit_of(*parts: tuple[float, Covariance], flat: float = 0.0) -> CovarianceFit:
    kept = tuple(((1.0 - flat) * weight, model) for weight, model in parts)
    posterior = (*kept, (flat, NOTHING)) if flat else kept
    return CovarianceFit(parts[0][1], posterior, 0.0, {}, flat, 2.0 if flat else 0.0)


@pytest.mark.parametrize("flat", [0.0, 0.25])
def test_tiles_shared_by_a_mixture_agree_with_exact_parts(flat):
    """Means within a twentieth of an sd, sds within 3%, whatever is blended."""
    points, values = readings(700)
    cells = np.random.default_rng(1).uniform(0, 15, (2500, 2))
    fit = fit_of(*PARTS, flat=flat)
    exact = BlendedKriging(points, values, fit, options=BlendOptions(engine="exact"))
    tiled = BlendedKriging(points, values, fit, options=BlendOptions(engine="tiles"))
    mean, sd = exact.predict(cells)
    near, near_sd = tiled.predict(cells)
    assert np.sqrt(np.mean((near - mean) ** 2)) < 0.05 * sd.mean()
    assert_allclose(near_sd, sd, rtol=0.03)
    residual, spread = exact.leave_one_out()
    near, near_spread = tiled.leave_one_out()
    assert np.sqrt(np.mean((near - residual) ** 2)) < 0.06 * spread.mean()
    assert_allclose(near_spread, spread, rtol=0.04)


def test_repeating_tiles_of_a_mixture_are_solved_once_with_the_same_numbers():
    """On lattices of readings and cells."""
    x, y = np.meshgrid(np.arange(0.25, 15, 0.5), np.arange(0.25, 15, 0.5))
    points = np.column_stack([x.ravel(), y.ravel()])
    values = np.random.default_rng(2).normal(50, 2, len(points))
    x, y = np.meshgrid(np.arange(0.125, 15, 0.25), np.arange(0.125, 15, 0.25))
    cells = np.column_stack([x.ravel(), y.ravel()])
    kriging = BlendedKriging(points, values, fit_of(*PARTS[:2]))
    mean, sd = kriging.predict(cells)
    for part in kriging._tiles:
        part.repeats = lambda tiling: False
    plain_mean, plain_sd = kriging.predict(cells)
    assert_allclose(mean, plain_mean, atol=1e-9)
    assert_allclose(sd, plain_sd, atol=1e-9)


def test_parts_that_share_distances_are_the_krigings_they_would_be_alone():
    """Turned parts and round ones: map, draws and left-out readings."""
    points, values = readings(90)
    cells = np.random.default_rng(1).uniform(0, 15, (40, 2))
    mixed = BlendedKriging(points, values, fit_of(*PARTS), options=BlendOptions(widen=False))
    drawn = mixed.draws(cells, 10, 3)
    alone = [Kriging(points, values, model) for _, model in PARTS]
    for part, one in zip(mixed.parts, alone, strict=True):
        assert_allclose(part.predict(cells), one.predict(cells))
        assert_allclose(part.leave_one_out(), one.leave_one_out())
    own = [
        one.draws(cells, count, 3 + 7919 * k)
        for k, (one, count) in enumerate(zip(alone, (5, 3, 2), strict=True))
    ]
    assert_allclose(np.sort(drawn, axis=0), np.sort(np.concatenate(own), axis=0))


def test_one_part_alone_is_plain_kriging():
    """A known covariance is not blended with anything."""
    points, values = readings(60)
    cells = np.random.default_rng(1).uniform(0, 15, (40, 2))
    found = BlendedKriging(points, values, CovarianceFit.given(PARTS[0][1])).predict(cells)
    assert_allclose(found, Kriging(points, values, PARTS[0][1]).predict(cells))


def test_readings_without_any_pattern_are_mapped_flat():
    """No covariance is left to krige with, as on an evenly dry room of an earlier visit."""
    points, values = readings(50)
    fit = CovarianceFit(NOTHING, ((1.0, NOTHING),), 0.0, {}, 1.0, 2.0)
    flat = BlendedKriging(points, values, fit)
    mean, sd = flat.predict(points[:5])
    assert_allclose(
        (mean, sd), FlatKriging(points, values, NOTHING, unresolved=2.0).predict(points[:5])
    )
    assert flat.draws(points[:5], 4, 1).shape == (4, 5)


def test_no_pattern_is_the_mean_of_the_readings():
    """With its standard error; what may hide between the readings is added for the map."""
    points, values = readings(50)
    model = Covariance("exponential", 1e-6, 10.0, 5.0)
    plain = FlatKriging(points, values, model)
    mean, sd = plain.predict(points[:3] + 0.1)
    assert_allclose(mean, values.mean())
    assert_allclose(sd, np.sqrt(5.0 / 50))
    hidden = FlatKriging(points, values, model, unresolved=3.0)
    assert_allclose(hidden.predict(points[:3])[1], np.sqrt(5.0 / 50 + 3.0))
    assert_allclose(hidden.predict_reading(points[:3])[1], np.sqrt(5.0 / 50 + 5.0))
    residual, spread = plain.leave_one_out()
    assert residual[0] == pytest.approx(values[0] - values[1:].mean())
    assert spread[0] == pytest.approx(np.sqrt(5.0 + 5.0 / 49))
    drawn = hidden.draws(np.random.default_rng(3).uniform(0, 15, (30, 2)), 2000, 1)
    assert drawn.std() == pytest.approx(np.sqrt(3.1), rel=0.05)
    assert hidden.average(points)[1] == pytest.approx(np.sqrt(5.0 / 50))


@pytest.mark.parametrize("count", [120, 500])
def test_a_blend_without_some_readings_is_that_of_the_others(count):
    """The same means as kriged from the others alone, sds within 1%: what widens them is local."""
    points, values = readings(count, 4)
    gone = np.flatnonzero(np.hypot(*(points - [7.0, 7.0]).T) < 1.5)
    values[gone] += 6.0
    rest = np.setdiff1d(np.arange(count), gone)
    cells = np.random.default_rng(2).uniform(4, 10, (400, 2))
    options = BlendOptions(engine="exact")
    whole = BlendedKriging(points, values, fit_of(*PARTS), options=options)
    others = BlendedKriging(points[rest], values[rest], fit_of(*PARTS), options=options)
    mean, sd = others.predict(cells)
    found = whole.without(gone, cells, whole.predict(cells))
    assert np.abs(whole.predict(cells)[0] - mean).max() > 1.0
    assert_allclose(found[0], mean, atol=1e-8)
    assert_allclose(found[1], sd, rtol=0.01)


def test_a_blend_that_would_be_slower_or_wrong_by_it_is_kriged_again():
    """With too many readings, too few left, censored copies, or perhaps no pattern."""
    points, values = readings(650)
    cells, known = points[:5], (np.zeros(5), np.ones(5))
    fit, few = fit_of(*PARTS), np.arange(3)
    copies = np.column_stack([values[:100], values[:100] + 1.0])
    for made, gone in (
        (BlendedKriging(points, values, fit), few),
        (BlendedKriging(points[:100], values[:100], fit), np.arange(90)),
        (BlendedKriging(points[:100], values[:100], fit_of(*PARTS, flat=0.3)), few),
        (
            BlendedKriging(points[:100], values[:100], fit, options=BlendOptions(copies=copies)),
            few,
        ),
    ):
        assert made.without(gone, cells, known) is None
