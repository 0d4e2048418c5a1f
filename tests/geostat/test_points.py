"""Arrays in, map out; bad input by name."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.errors import InputError, NotEnoughData, OptionError
from moisturemap.geostat import Covariance, map_points

RNG = np.random.default_rng(12)
POINTS = RNG.uniform(0, 10, (60, 2))
VALUES = 50 + 6 * np.sin(POINTS[:, 0]) + RNG.normal(0, 1, 60)
CELLS = RNG.uniform(0, 10, (80, 2))
MODEL = Covariance("exponential", 20.0, 2.0, nugget=1.0)


def test_the_model_is_fitted_when_none_is_given():
    """Mean and sd come back for every cell."""
    mean, sd = map_points(POINTS, VALUES, CELLS)
    assert mean.shape == sd.shape == (80,)
    assert np.isfinite(mean).all()
    assert (sd > 0).all()


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_a_value_that_is_not_finite_is_refused_by_its_row(bad):
    """NaN and inf name the row."""
    values = VALUES.copy()
    values[17] = bad
    with pytest.raises(InputError, match="index 17"):
        map_points(POINTS, values, CELLS)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_coordinate_that_is_not_finite_is_refused_by_its_row(bad):
    """A coordinate may not be NaN or inf."""
    points = POINTS.copy()
    points[3, 1] = bad
    with pytest.raises(InputError, match="index 3"):
        map_points(points, VALUES, CELLS)
    cells = CELLS.copy()
    cells[5, 0] = bad
    with pytest.raises(InputError, match=r"cells.*|row 5"):
        map_points(POINTS, VALUES, cells)


def test_lengths_that_do_not_match_are_refused():
    """One value for each point."""
    with pytest.raises(InputError, match="one number for each point"):
        map_points(POINTS, VALUES[:-1], CELLS)


@pytest.mark.parametrize("noise", [-1.0, np.nan, np.ones(7)])
def test_noise_that_makes_no_sense_is_refused(noise):
    """Noise is a standard deviation, one or one for each point."""
    with pytest.raises(InputError, match="noise_sd"):
        map_points(POINTS, VALUES, CELLS, noise_sd=noise)


def test_an_unknown_engine_is_refused_with_what_is_allowed():
    """The message lists the engines."""
    with pytest.raises(OptionError, match=r"^PointMap cannot .*auto, exact, tiles, pykrige"):
        map_points(POINTS, VALUES, CELLS, engine="magic")


def test_ten_thousand_duplicates_are_one_place():
    """Repeats at one place are pooled: no singular system, noise of their mean."""
    points = np.concatenate([POINTS, np.repeat(POINTS[:1], 10_000, axis=0)])
    values = np.concatenate([VALUES, np.full(10_000, VALUES[0])])
    mean, sd = map_points(points, values, POINTS[:1], model=MODEL)
    assert mean[0] == pytest.approx(VALUES[0], abs=0.01)
    assert sd[0] == pytest.approx(np.sqrt(1.0 / 10_001), rel=0.01)


def test_duplicates_that_disagree_without_noise_give_their_mean():
    """Two exact readings at one place cannot both be right; their mean is taken."""
    points, values = np.array([[0.0, 0], [0, 0], [5, 0], [0, 5]]), np.array([10.0, 20, 30, 40])
    exact = Covariance("exponential", 20.0, 2.0)
    mean, sd = map_points(points, values, points[:1], model=exact)
    assert mean[0] == pytest.approx(15.0, abs=1e-6)
    assert sd[0] < 1e-3


def test_coordinates_off_by_six_million_change_nothing():
    """Site grids count from far away."""
    shift = np.array([6e6, 5e6])
    near = map_points(POINTS, VALUES, CELLS)
    far = map_points(POINTS + shift, VALUES, CELLS + shift)
    assert_allclose(near[0], far[0], atol=1e-4)
    assert_allclose(near[1], far[1], atol=1e-4)


def test_all_readings_equal_give_a_flat_map():
    """No variation at all is a plain answer."""
    mean, sd = map_points(POINTS, np.full(60, 42.0), CELLS)
    assert_allclose(mean, 42.0, atol=1e-6)
    # whole numbers are rounded to one: that much is not known
    assert ((sd > 0.01) & (sd < 0.3)).all()


def test_fewer_than_three_places_are_refused_unless_the_model_is_given():
    """Two readings cannot tell a range."""
    with pytest.raises(NotEnoughData, match="at least 3 readings"):
        map_points(POINTS[:2], VALUES[:2], CELLS)
    mean, _ = map_points(POINTS[:1], VALUES[:1], CELLS, model=MODEL)
    assert_allclose(mean, VALUES[0])


def test_integer_arrays_and_lists_are_taken():
    """Nobody has to think of dtypes."""
    mean, _ = map_points([[0, 0], [4, 0], [0, 4], [4, 4]], [1, 2, 3, 4], [[2, 2]], model=MODEL)
    assert mean[0] == pytest.approx(2.5)


def test_no_cells_give_empty_arrays():
    """An empty map is not an error."""
    for engine in ("exact", "tiles"):
        mean, sd = map_points(POINTS, VALUES, np.empty((0, 2)), model=MODEL, engine=engine)
        assert mean.shape == sd.shape == (0,)


def test_pykrige_refuses_noise_that_differs():
    """The witness takes one noise for all readings."""
    with pytest.raises(OptionError, match="one noise"):
        map_points(
            POINTS, VALUES, CELLS, model=MODEL, engine="pykrige", noise_sd=np.linspace(0.1, 1, 60)
        )


def test_masked_readings_are_left_out_and_masked_cells_come_back_empty():
    """The hidden number never reaches the map."""
    values = np.ma.masked_array(np.append(VALUES, 9999.0), np.append(np.zeros(60, bool), True))
    points = np.append(POINTS, [[5.0, 5.0]], axis=0)
    mean, sd = map_points(points, values, CELLS, noise_sd=np.full(61, 0.5))
    expected = map_points(POINTS, VALUES, CELLS, noise_sd=0.5)
    assert_allclose(mean, expected[0])
    assert_allclose(sd, expected[1])
    cells = np.ma.masked_array(CELLS, np.zeros(CELLS.shape, bool))
    cells[3, 0] = np.ma.masked
    mean, sd = map_points(POINTS, VALUES, cells, model=MODEL)
    assert np.isnan([mean[3], sd[3]]).all()
    assert np.isfinite(np.delete(mean, 3)).all()


def test_heights_are_refused():
    """A third coordinate would be dropped by some engines without a word."""
    with pytest.raises(InputError, match="x and y"):
        map_points(np.column_stack([POINTS, VALUES]), VALUES, CELLS)


def test_groups_share_nothing():
    """A step of thirty at a joint does not leak; each room has its own fit."""
    rng = np.random.default_rng(4)
    points = rng.uniform(0, 10, (120, 2))
    room = np.where(points[:, 0] < 5, "A", "B")
    values = 50 + rng.standard_normal(120) + 30 * (room == "B")
    cells = np.array([[4.9, 5.0], [5.1, 5.0]])
    mean, _ = map_points(points, values, cells, groups=(room, ["A", "B"]))
    assert_allclose(mean, [50, 80], atol=1.5)
    alone = map_points(points[room == "A"], values[room == "A"], cells[:1])
    assert mean[0] == pytest.approx(alone[0][0])
    with pytest.raises(InputError, match="one label for each cell"):
        map_points(points, values, cells, groups=(room, ["A"]))
    with pytest.raises(NotEnoughData, match="group C"):
        map_points(points, values, cells, groups=(room, ["A", "C"]))


def test_a_mean_that_slopes_is_followed_beyond_the_readings():
    """A linear drift carries on where a constant one falls back."""
    rng = np.random.default_rng(6)
    points = rng.uniform(0, 6, (60, 2))
    values = 20 + 5 * points[:, 0] + rng.standard_normal(60)
    far = np.array([[10.0, 3.0]])
    level = map_points(points, values, far)[0][0]
    sloping, sd = map_points(points, values, far, drift="linear")
    assert abs(sloping[0] - 70) < 3 * sd[0] + 3
    assert abs(sloping[0] - 70) < abs(level - 70)
    with pytest.raises(OptionError, match="constant, linear"):
        map_points(points, values, far, drift="cubic")
    with pytest.raises(OptionError, match="anisotropy, drift, groups"):
        map_points(points, values, far, angle=30)


def test_directions_are_found_unless_switched_off():
    """Stripes along x are drawn longer along x."""
    rng = np.random.default_rng(7)
    points = rng.uniform(0, 10, (200, 2))
    values = 50 + 8 * np.sin(2.2 * points[:, 1]) + rng.standard_normal(200)
    cells = rng.uniform(0, 10, (300, 2))
    truth = 50 + 8 * np.sin(2.2 * cells[:, 1])
    error = [
        np.sqrt(np.mean((map_points(points, values, cells, anisotropy=on)[0] - truth) ** 2))
        for on in (True, False)
    ]
    assert error[0] < 0.8 * error[1]
