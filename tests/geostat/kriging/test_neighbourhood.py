"""Tiles of cells that share their neighbours."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.errors import Cancelled
from moisturemap.geostat import Covariance, Kriging, NeighbourhoodKriging, simulate
from moisturemap.geostat.kriging.distances import Distances
from moisturemap.geostat.kriging.tiles import Layout, lay_tiles

MODEL = Covariance("exponential", 4.0, 1.5, nugget=0.4)


def readings(count: int, seed: int = 0, model: Covariance = MODEL) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 20.0, (count, 2))
    field = simulate(points, model, 1, seed)[0]
    return points, 50 + field + rng.normal(0, np.sqrt(0.4), count)


def cells(step: float, side: float = 20.0) -> np.ndarray:
    x, y = np.meshgrid(*[np.arange(step / 2, side, step)] * 2)
    return np.column_stack([x.ravel(), y.ravel()])


@pytest.mark.thorough
def test_tiles_are_as_good_as_the_exact_solution():
    """Means within a twentieth of an sd on average, sds within 1%."""
    points, values = readings(1500)
    exact_mean, exact_sd = Kriging(points, values, MODEL).predict(cells(0.4))
    mean, sd = NeighbourhoodKriging(points, values, MODEL).predict(cells(0.4))
    assert np.sqrt(np.mean((mean - exact_mean) ** 2)) < 0.05 * exact_sd.mean()
    assert np.abs(sd / exact_sd - 1).max() < 0.01


@pytest.mark.thorough
@pytest.mark.parametrize("kind", ["exponential", "matern32", "spherical"])
def test_no_seam_shows_where_tiles_meet(kind):
    """Steps between cells across tile edges are those of the exact surface."""
    model = Covariance(kind, 4.0, 3.0, nugget=0.4)
    points, values = readings(1500, model=model)
    at, side = cells(0.16), int(20 / 0.16)
    mean, sd = NeighbourhoodKriging(points, values, model).predict(at)
    exact = Kriging(points, values, model).means(at, values[:, None])[:, 0]
    tile = np.empty(len(mean), dtype=int)
    for number, members in enumerate(lay_tiles(Layout(points), at, model, 0.4).tiles):
        tile[members] = number
    edge = np.diff(tile.reshape(side, side), axis=1) != 0
    wrong = np.diff((mean - exact).reshape(side, side), axis=1)[edge]
    assert np.sqrt(np.mean(wrong**2)) < 0.03 * sd.mean()
    assert np.abs(wrong).max() < 0.15 * sd.mean()
    assert np.sqrt(np.mean((mean - exact) ** 2)) < 0.1 * sd.mean()


@pytest.mark.parametrize(("reading_step", "cell_step"), [(1.0, 0.25), (0.5, 0.5), (0.6, 0.2)])
def test_repeating_tiles_solved_once_give_the_same_numbers(reading_step, cell_step):
    """On lattices equal tiles are solved once."""
    points = cells(reading_step, 24.0)
    values = np.random.default_rng(2).normal(50, 2, len(points))
    kriging = NeighbourhoodKriging(points, values, MODEL)
    mean, sd = kriging.predict(cells(cell_step, 24.0))
    kriging.repeats = lambda tiling: False
    plain_mean, plain_sd = kriging.predict(cells(cell_step, 24.0))
    assert_allclose(mean, plain_mean, atol=1e-9)
    assert_allclose(sd, plain_sd, atol=1e-9)


@pytest.mark.thorough
def test_a_lattice_with_holes_is_mapped_everywhere():
    """Missing readings break the pattern, not the map."""
    points = cells(0.5)
    keep = np.random.default_rng(3).random(len(points)) > 0.2
    keep &= ~((points[:, 0] > 8) & (points[:, 0] < 12) & (points[:, 1] > 8) & (points[:, 1] < 12))
    values = np.random.default_rng(2).normal(50, 2, keep.sum())
    mean, sd = NeighbourhoodKriging(points[keep], values, MODEL).predict(cells(0.25))
    exact_mean, exact_sd = Kriging(points[keep], values, MODEL).predict(cells(0.25))
    assert np.isfinite(mean).all()
    assert np.sqrt(np.mean((mean - exact_mean) ** 2)) < 0.05 * exact_sd.mean()
    assert_allclose(sd, exact_sd, rtol=0.03)


def test_noise_of_each_reading_and_repeats_are_kept():
    """Neighbourhoods know the noise of each reading."""
    points, values = readings(400)
    noise = np.random.default_rng(1).uniform(0.1, 2.0, 400)
    points = np.concatenate([points, points[:50]])
    values = np.concatenate([values, values[:50] + 1.0])
    noise = np.concatenate([noise, noise[:50]])
    at = cells(1.0)
    exact = Kriging(points, values, MODEL, noise).predict(at)
    tiled = NeighbourhoodKriging(points, values, MODEL, noise).predict(at)
    assert np.abs(tiled[0] - exact[0]).max() < 0.2 * exact[1].mean()
    assert_allclose(tiled[1], exact[1], rtol=0.02)


def test_anisotropy_is_followed():
    """Neighbours are the nearest in correlation, not in metres."""
    model = Covariance("exponential", 4.0, 4.0, 0.4, anisotropy=0.3, angle_deg=30.0)
    points, values = readings(800)
    exact = Kriging(points, values, model).predict(cells(1.0))
    tiled = NeighbourhoodKriging(points, values, model).predict(cells(1.0))
    assert np.sqrt(np.mean((tiled[0] - exact[0]) ** 2)) < 0.05 * exact[1].mean()
    assert_allclose(tiled[1], exact[1], rtol=0.02)


def test_leave_one_out_by_neighbourhood_is_close_to_the_closed_form():
    """Residuals within a fifth of their sd, sds within 3%."""
    points, values = readings(1200)
    residual, sd = Kriging(points, values, MODEL).leave_one_out()
    near_residual, near_sd = NeighbourhoodKriging(points, values, MODEL).leave_one_out()
    assert np.sqrt(np.mean((near_residual - residual) ** 2)) < 0.05 * sd.mean()
    assert_allclose(near_sd, sd, rtol=0.03)


def test_block_means_agree_with_the_exact_ones():
    """A zone's mean and sd from the readings around it."""
    points, values = readings(1200)
    block = cells(0.5)[(cells(0.5) > 6).all(axis=1) & (cells(0.5) < 10).all(axis=1)]
    exact = Kriging(points, values, MODEL).average(block)
    near = NeighbourhoodKriging(points, values, MODEL).average(block)
    assert near[0] == pytest.approx(exact[0], abs=0.1 * exact[1] + 0.02)
    assert near[1] == pytest.approx(exact[1], rel=0.02)


@pytest.mark.thorough
def test_progress_is_told_and_can_stop_the_work():
    """What the progress call raises ends the work."""
    points, values = readings(1000)
    seen: list[float] = []

    def report(phrase: str, done: float) -> None:
        seen.append(done)
        if done > 0:
            raise Cancelled("stopped")

    kriging = NeighbourhoodKriging(points, values, MODEL)
    with pytest.raises(Cancelled):
        kriging.predict(np.random.default_rng(0).uniform(0, 400, (20_000, 2)), report)
    assert seen[0] == 0.0


def test_the_same_numbers_whether_a_factor_is_inverted_or_solved_by():
    """Many cells of a tile pay for the inverse, few do not; neither changes the map."""
    rng = np.random.default_rng(5)
    points = rng.uniform(0.0, 10.0, (150, 2))
    model = Covariance("matern32", 2.0, 3.0, 0.1)
    kriging = NeighbourhoodKriging(points, rng.standard_normal(150), model)
    cells, some = rng.uniform(2.0, 8.0, (40, 2)), np.arange(120)
    among, apart = (Distances(one, points[some]) for one in (points[some], cells))
    few, many = (kriging.system(some, among, count) for count in (40, 4000))
    assert (few.inverted, many.inverted) == (False, True)
    found = [kriging.solve_cells(one, apart, np.ones((40, 1))) for one in (few, many)]
    assert_allclose(*(mean for mean, _ in found), rtol=1e-9, atol=1e-12)
    assert_allclose(*(variance for _, variance in found), rtol=1e-9, atol=1e-12)


def test_a_block_of_a_floor_of_some_thousand_readings_spreads_as_one_system_of_all_says():
    """Exactly, and alike for every block."""
    rng = np.random.default_rng(8)
    points = rng.uniform(0, 20, (1600, 2))
    values = 30 + np.sin(points[:, 0]) + rng.normal(0, 0.5, 1600)
    model = Covariance("matern32", 1.0, 2.0, 0.25)
    tiled, whole = NeighbourhoodKriging(points, values, model), Kriging(points, values, model)
    for corner in (0.0, 9.0):
        block = corner + rng.uniform(0, 3, (60, 2))
        mean, sd = tiled.average(block)
        assert sd == pytest.approx(whole.average(block)[1], rel=1e-9)
        assert mean == pytest.approx(whole.average(block)[0], abs=0.1 * sd)


@pytest.mark.parametrize("model", [Covariance("matern32", 1.0, 3.0, 1.0), MODEL])
def test_errors_drawn_from_the_nearest_readings_go_together_as_those_of_all_do(model) -> None:
    """Of places along two edges of a wet floor; the draws of a system of all by the same seed."""
    points, values = readings(1200, 5, model)
    turn = np.linspace(0.0, 6.0, 40)
    edges = [np.column_stack([x + 3 * np.cos(turn), 9 + 4 * np.sin(turn)]) for x in (5.0, 15.0)]
    places = np.concatenate(edges)
    tiled = NeighbourhoodKriging(points, values, model)
    assert not tiled.are_few(tiled.around(places, 64))
    assert len(tiled.around(places, 64)) < 0.9 * len(points)
    found = np.corrcoef(tiled.draws(places, 4000, 1, nearest=64).T)
    known = np.corrcoef(Kriging(points, values, model).draws(places, 4000, 1).T)
    assert np.abs(found - known).max() < 0.1  # 4,000 draws tell them to 0.016 (sd)
    assert found.sum() == pytest.approx(known.sum(), rel=0.06)
