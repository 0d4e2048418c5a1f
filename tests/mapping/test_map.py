"""Readings to a surface."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import Polygon, box

from moisturemap.errors import Cancelled, OptionError
from moisturemap.floorplan import CellGrid, Domain, FloorPlan, Room
from moisturemap.mapping import MappingOptions, map_readings, map_without, remap
from moisturemap.survey import CleanReadings, Instrument, Visit


def floor(*rooms: Polygon, spacing: float = 0.25):
    """Rooms that are each a domain, with their cells."""
    plan = FloorPlan(tuple(Room(f"Room {i + 1}", room) for i, room in enumerate(rooms)))
    domains = tuple(
        Domain(f"D{i + 1}", room.polygon, (room.name,)) for i, room in enumerate(plan.rooms)
    )
    west, south, east, north = plan.bounds
    x = np.arange(west + spacing / 2, east, spacing)
    y = np.arange(south + spacing / 2, north, spacing)
    room = np.full((y.size, x.size), -1)
    for i, one in enumerate(plan.rooms):
        for row, yy in enumerate(y):
            for column, xx in enumerate(x):
                if one.polygon.contains(box(xx - 1e-9, yy - 1e-9, xx + 1e-9, yy + 1e-9)):
                    room[row, column] = i
    return domains, CellGrid(x, y, room, room.copy(), spacing)


def cleaned(points, values, domain="D1", censored="", step=1.0, scale=(0.0, 100.0)):
    """Clean readings of one visit, one reading a spot."""
    points = np.asarray(points, dtype=float)
    n = len(points)
    spots = pd.DataFrame(
        {
            "location": np.arange(n),
            "x": points[:, 0],
            "y": points[:, 1],
            "value": np.broadcast_to(np.asarray(values, dtype=float), n),
            "n": 1,
            "censored": censored,
            "room": "Room 1",
            "domain": domain,
        }
    )
    readings = gpd.GeoDataFrame(
        {
            "value": spots["value"],
            "domain": spots["domain"],
            "location": spots["location"],
            "flag": np.where(
                spots["censored"] == "above",
                "full-scale",
                np.where(spots["censored"] == "below", "below-scale", "clear"),
            ),
            "reason": "",
        },
        geometry=gpd.points_from_xy(points[:, 0], points[:, 1]),
    )
    return CleanReadings(
        Visit("v1"), Instrument("meter", scale=scale), readings, spots, None, 0, step
    )


def mapped(points, values, **kwargs):
    """Map one 6 m x 4 m room."""
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values, **kwargs)
    return map_readings(clean.readings, clean, domains, grid)


def grid_points(nx=7, ny=5):
    x, y = np.meshgrid(np.linspace(0.2, 5.8, nx), np.linspace(0.2, 3.8, ny))
    return np.column_stack([x.ravel(), y.ravel()])


def test_a_room_is_mapped_in_every_cell_and_nowhere_else():
    """A plain floor has mean and sd inside, NaN outside."""
    points = grid_points()
    surface = mapped(points, 50 + 5 * points[:, 0])
    inside = surface.grid.inside
    assert np.isfinite(surface.dataset["mean"].to_numpy()[inside]).all()
    assert np.isnan(surface.dataset["mean"].to_numpy()[~inside]).all()
    assert (surface.dataset["sd"].to_numpy()[inside] > 0).all()
    assert surface.refusals == {}


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_readings_are_refused_in_a_sentence(count):
    """Nobody draws a map through two points."""
    surface = mapped(grid_points()[:count].reshape(-1, 2), np.full(count, 61.0))
    assert np.isnan(surface.dataset["mean"].to_numpy()).all()
    assert "Room 1" in surface.refusals["D1"]
    assert surface.fields == {}


def test_three_readings_give_a_map_with_a_wide_interval():
    """Three readings are few: the interval is wide away from them."""
    surface = mapped([[1, 1], [5, 1], [3, 3]], [40.0, 60.0, 80.0])
    sd = surface.dataset["sd"].to_numpy()
    assert np.nanmax(sd) > 8.0


def test_equal_readings_give_a_flat_map_and_a_remark():
    """All equal is plausible on a dry floor, and said."""
    surface = mapped(grid_points(), 47.0)
    mean = surface.dataset["mean"].to_numpy()
    assert np.nanmin(mean) == pytest.approx(47.0)
    assert np.nanmax(mean) == pytest.approx(47.0)
    assert np.nanmax(surface.dataset["sd"].to_numpy()) < 1.0
    assert any("equal" in note for note in surface.notes)


def test_readings_on_one_line_are_mapped_with_a_remark():
    """Collinear readings say little about the rest of the floor."""
    points = np.column_stack([np.linspace(0.5, 5.5, 11), np.full(11, 0.5)])
    surface = mapped(points, 50 + 10 * np.sin(points[:, 0]))
    assert any("one line" in note for note in surface.notes)
    sd = surface.dataset["sd"].to_numpy()
    assert np.nanmean(sd[-3:]) > 1.5 * np.nanmean(sd[:3])


def test_a_room_without_readings_is_left_blank():
    """The other room is still mapped."""
    domains, grid = floor(box(0, 0, 6, 4), box(7, 0, 9, 4))
    points = grid_points()
    clean = cleaned(points, 50 + points[:, 1])
    surface = map_readings(clean.readings, clean, domains, grid)
    assert set(surface.fields) == {"D1"}
    assert "Room 2" in surface.refusals["D2"]
    assert np.isnan(surface.dataset["mean"].to_numpy()[grid.domain == 1]).all()


def test_flagged_readings_are_left_out():
    """A reading over a pipe does not pull the map up."""
    points = grid_points()
    values = np.full(len(points), 50.0) + np.arange(len(points)) % 3
    values[17] = 95.0
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values)
    readings = clean.readings.copy()
    readings.loc[17, "flag"] = "spot"
    surface = map_readings(readings, clean, domains, grid)
    assert np.nanmax(surface.dataset["mean"].to_numpy()) < 60.0


C_SHAPE = Polygon([(0, 0), (12, 0), (12, 3), (3, 3), (3, 3.6), (12, 3.6), (12, 7), (0, 7)])


def test_two_arms_of_a_c_shaped_floor_do_not_colour_each_other_through_the_void():
    """The lower arm is wet at its end; the upper arm, 0.6 m across the void, is dry."""
    domains, grid = floor(C_SHAPE, spacing=0.25)
    rng = np.random.default_rng(0)
    points = grid.centres()[rng.choice(int(grid.inside.sum()), 120, replace=False)]

    def truth(at):
        return 40 + 40 / (1 + np.exp(-2 * (at[:, 0] - 8))) * (at[:, 1] < 3.3)

    clean = cleaned(points, np.round(truth(points) + rng.normal(0, 1.5, 120)))
    cells = grid.centres()
    near = (cells[:, 0] > 9) & (cells[:, 1] > 3.3) & (cells[:, 1] < 4.2)
    worst = {}
    for in_room in (True, False):
        options = MappingOptions(in_room=in_room, anisotropy=False)
        surface = map_readings(clean.readings, clean, domains, grid, options=options)
        error = surface.dataset["mean"].to_numpy()[grid.inside] - truth(cells)
        worst[in_room] = np.abs(error[near]).max()
    assert worst[True] < 3.0
    assert worst[False] > 3 * worst[True]


def test_straight_distance_is_kept_where_the_floor_is_convex():
    """Nothing is lost on a plain room."""
    surface = mapped(grid_points(), 50 + grid_points()[:, 0])
    assert surface.fields["D1"].embedding.is_straight


def test_all_readings_at_full_scale_are_refused_with_what_they_say():
    """At or above the end of the scale everywhere: no pattern to map."""
    surface = mapped(grid_points(), 100.0, censored="above")
    assert "at or above 100" in surface.refusals["D1"]
    assert np.isnan(surface.dataset["mean"].to_numpy()).all()


def test_full_scale_readings_count_as_at_or_above():
    """The map rises past the end of the scale where readings stop at it."""
    points = grid_points(9, 7)
    truth = 60 + 70 * np.exp(-((points[:, 0] - 3) ** 2 + (points[:, 1] - 2) ** 2) / 2)
    values = np.minimum(truth + np.random.default_rng(0).normal(0, 1, len(truth)), 100)
    censored = np.where(values >= 100, "above", "")
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values, censored=censored)
    options = MappingOptions(scale="identity")
    surface = map_readings(clean.readings, clean, domains, grid, options=options)
    assert np.nanmax(surface.dataset["mean"].to_numpy()) > 105
    assert any("off the scale" in note for note in surface.notes)


def test_a_bounded_scale_is_stretched_where_that_predicts_better():
    """Readings crowd near zero: the map never falls below the scale."""
    rng = np.random.default_rng(2)
    points = rng.uniform([0.1, 0.1], [5.9, 3.9], (150, 2))
    hidden = 3.0 * np.sin(points[:, 0] * 1.5) - 2.5 + rng.normal(0, 0.4, 150)
    values = np.round(100 / (1 + np.exp(-hidden)), 1)
    surface = mapped(points, values, step=0.1)
    assert not surface.fields["D1"].scale.is_identity
    mean = surface.dataset["mean"].to_numpy()
    assert np.nanmin(mean) > -0.5
    assert np.nanmax(mean) < 100.5
    draws = surface.fields["D1"].draws(points[:20], 50, seed=1)
    assert draws.shape == (50, 20)
    assert draws.min() > -1.0
    median, reading_sd = surface.fields["D1"].predict_reading(points[:20])
    assert median == pytest.approx(surface.fields["D1"].predict(points[:20])[0])
    assert (reading_sd >= surface.fields["D1"].predict(points[:20])[1]).all()
    block = surface.fields["D1"].average(points[:20])
    assert block[0] == pytest.approx(draws.mean(), abs=5 * block[1])


def test_readings_in_the_middle_of_a_scale_are_taken_as_they_are():
    """No stretch without need."""
    surface = mapped(grid_points(), 50 + grid_points()[:, 0])
    assert surface.fields["D1"].scale.is_identity


def test_repeats_give_the_noise_and_the_surface_does_not_carry_it():
    """Known repeat noise goes into the system, not into the surface."""
    points = grid_points()
    rng = np.random.default_rng(5)
    domains, grid = floor(box(0, 0, 6, 4))
    clean = replace(
        cleaned(points, 50 + 4 * np.sin(points[:, 0]) + rng.normal(0, 2, len(points))),
        repeat_sd=2.0,
        repeat_pairs=20,
    )
    surface = map_readings(clean.readings, clean, domains, grid)
    field = surface.fields["D1"]
    _, sd = field.predict(points)
    assert (sd < 2.0).all()
    assert field.covariance.nugget < 4.0
    _, reading_sd = field.predict_reading(points, noise_sd=2.0)
    assert (reading_sd**2 >= sd**2 + 4.0 - 1e-9).all()
    assert "known from repeats (2 units)" in surface.quality


def test_the_quality_sentence_trusts_a_floor_it_knows_and_doubts_one_it_does_not():
    """Left-out readings confirm the interval, or there are too few of them."""
    rng = np.random.default_rng(7)
    points = grid_points(12, 9)
    good = mapped(points, 50 + 8 * np.sin(points[:, 0]) + rng.normal(0, 1, len(points)))
    assert "the interval holds between the readings" in good.quality
    assert "too few" in mapped(points[:9], 50 + points[:9, 0]).quality
    spiky = 50 + rng.normal(0, 0.5, len(points))
    spiky[40] = 95.0
    assert "may be wrong" in mapped(points, spiky).quality


def test_the_quality_sentence_asks_for_repeats_where_the_scatter_is_guessed():
    """Left-out readings confirm the interval of readings; the surface is another matter."""
    rng = np.random.default_rng(11)
    points = grid_points(6, 5)
    quality = mapped(points, 50 + rng.normal(0, 3, len(points))).quality
    assert "guessed" in quality
    assert "read 10 places twice" in quality


def test_a_sloping_mean_is_followed_where_it_is_asked_for():
    """The drift of a walk is no range as large as the floor."""
    rng = np.random.default_rng(12)
    points = grid_points(8, 6)
    values = 40 + 3 * points[:, 0] + rng.normal(0, 1, len(points))
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values)
    level, sloping = (
        map_readings(
            clean.readings, clean, domains, grid, options=MappingOptions(drift=drift)
        ).fields["D1"]
        for drift in ("constant", "linear")
    )
    far = np.array([[points[:, 0].max() + 2.0, points[:, 1].mean()]])
    truth = 40 + 3 * far[0, 0]
    assert abs(sloping.predict(far)[0][0] - truth) < abs(level.predict(far)[0][0] - truth)
    assert abs(sloping.predict(far)[0][0] - truth) < 2.0


def test_the_map_can_be_stopped():
    """Progress may raise; the error comes through."""
    points = grid_points()
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, 50 + points[:, 0])
    told = []

    def stop(phrase, done):
        told.append((phrase, done))
        if done > 0:
            raise Cancelled("stopped by the user")

    with pytest.raises(Cancelled):
        map_readings(clean.readings, clean, domains, grid, progress=stop)
    assert told[0] == ("mapping Room 1", 0.0)


def test_a_covariance_that_is_known_is_not_fitted_again():
    """One more reading is mapped again in a moment with the covariance of the earlier map."""
    points = grid_points(12, 9)
    domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, 50 + 8 * np.sin(points[:, 0]))
    first = map_readings(clean.readings, clean, domains, grid)
    again = remap(first, clean.readings, clean)
    assert again.fields["D1"].fit is first.fields["D1"].fit
    assert np.allclose(again.dataset["mean"], first.dataset["mean"], equal_nan=True)


def test_a_map_made_again_about_what_changed_is_the_map_made_again_in_whole():
    """Cells that other readings screen from what went keep the earlier map; the others are new."""
    points = grid_points(25, 17)
    domains, grid = floor(box(0, 0, 6, 4))
    rng = np.random.default_rng(3)
    clean = cleaned(points, 50 + 8 * np.sin(points[:, 0]) + rng.standard_normal(len(points)))
    exact = MappingOptions(engine="exact")  # tiles round by more than what is screened moves
    first = map_readings(clean.readings, clean, domains, grid, options=exact)
    fewer = clean.readings.copy()
    gone = np.hypot(*(points - [1.0, 1.0]).T) < 0.4
    fewer.loc[gone, "flag"] = "line"
    whole = remap(first, fewer, clean, options=exact).dataset
    part = remap(first, fewer, clean, around=points[gone], options=exact).dataset
    off = np.abs(part["mean"] - whole["mean"]) / whole["sd"]
    assert int((part["mean"] == first.dataset["mean"]).sum()) > 0
    assert float(np.abs(whole["mean"] - first.dataset["mean"]).max()) > 0.1
    assert float(off.max()) < 0.125


@pytest.mark.parametrize("scale", ["identity", "logit"])
def test_a_map_without_some_readings_is_that_mapped_again(scale):
    """From the map with them where that is quicker, else mapped again: the same within little."""
    points = grid_points(25, 17)
    domains, grid = floor(box(0, 0, 6, 4))
    rng = np.random.default_rng(3)
    clean = cleaned(points, 50 + 8 * np.sin(points[:, 0]) + rng.standard_normal(len(points)))
    exact = MappingOptions(engine="exact", scale=scale)
    first = map_readings(clean.readings, clean, domains, grid, options=exact)
    gone = np.hypot(*(points - [1.0, 1.0]).T) < 0.4
    fewer = clean.readings.copy()
    fewer.loc[gone, "flag"] = "line"
    again = remap(first, fewer, clean, around=points[gone], options=exact)
    found = map_without(first, clean.readings, clean, gone, exact)
    assert np.nanmax(np.abs(again.mean - first.mean) / first.sd) > 0.5
    assert np.nanmax(np.abs(found.mean - again.mean) / again.sd) < 1e-3
    assert np.nanmax(np.abs(found.sd / again.sd - 1.0)) < 0.02
    assert np.array_equal(np.isnan(found.mean), np.isnan(first.mean))


def test_unknown_options_are_refused_with_what_is_allowed():
    """The message lists the choices."""
    for wrong in ({"scale": "log"}, {"engine": "fast"}, {"kinds": ("gaussian",)}):
        with pytest.raises(OptionError, match="Allowed"):
            MappingOptions(**wrong)


def test_two_spots_at_one_place_stay_two_spots():
    """A lattice read twice at one place is mapped; nothing is singular or lost."""
    points = np.concatenate([grid_points(), grid_points()[:3]])
    surface = mapped(points, 50 + points[:, 0])
    field = surface.fields["D1"]
    assert len(field.points) == len(field.check.residual) == len(points)
    assert np.abs(field.points - points).max() == pytest.approx(0.001)


def test_whole_blocks_are_left_out_to_check_the_interval_across_gaps():
    """A floor of a hundred spots carries the harder check."""
    points = grid_points(12, 9)
    values = 50 + 8 * np.sin(points[:, 0]) + np.random.default_rng(7).normal(0, 1, len(points))
    check = mapped(points, values).fields["D1"].block_check
    assert check is not None
    assert check.coverage() > 0.75
    assert mapped(points[:20], values[:20]).fields["D1"].block_check is None
