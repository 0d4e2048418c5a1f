"""Invented floors and the truth behind them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moisturemap.errors import OptionError
from moisturemap.survey import READING_COLUMNS
from moisturemap.synthetic import OUTLINES, RECIPES, FloorRecipe, make_floor, mixed_recipe

SMALL = FloorRecipe(width=5.0, depth=4.0, spacing=0.3, footprint=0.15)


def points_of(floor):
    return floor.survey.readings[["x", "y"]].to_numpy()


def test_the_same_seed_gives_the_same_floor():
    """Everything random hangs on the seed."""
    one, other = make_floor("leak", 5), make_floor("leak", 5)
    assert one.survey.readings.equals(other.survey.readings)
    assert np.array_equal(one.disturbance, other.disturbance)
    assert not one.survey.readings["value"].equals(make_floor("leak", 6).survey.readings["value"])


@pytest.mark.parametrize("outline", OUTLINES)
def test_every_reading_lies_in_the_room_it_names(outline):
    """All outlines, with the columns of a survey."""
    floor = make_floor(replace(SMALL, outline=outline, width=9.0, depth=8.5), 1)
    readings = floor.survey.readings
    assert tuple(readings.columns) == READING_COLUMNS
    for row in readings.iloc[::17].itertuples():
        assert floor.survey.plan.room_at(row.x, row.y).name == row.room


def test_undisturbed_readings_scatter_about_the_truth_by_the_noise():
    """Noise and rounding explain what is left."""
    recipe = replace(SMALL, width=10.0, depth=8.0, plumes=("burst",), noise_sd=2.0)
    floor = make_floor(recipe, 2)
    left = floor.survey.readings["value"].to_numpy() - floor.truth(points_of(floor))
    assert not floor.disturbed.any()
    assert left.std() == pytest.approx(np.hypot(2.0, 1 / np.sqrt(12)), rel=0.08)


def test_disturbed_readings_are_off_by_what_is_said():
    """Value minus truth is the disturbance, but for the noise."""
    floor = make_floor(replace(SMALL, pipes=2, plates=1, strays=2, noise_sd=0.5, step=0.1), 3)
    left = floor.survey.readings["value"].to_numpy() - floor.truth(points_of(floor))
    assert np.abs(left - floor.disturbance).max() < 4 * 0.5
    assert set(floor.cause[floor.disturbed]) >= {"pipe", "stray"}
    assert (floor.cause[~floor.disturbed] == "").all()


def test_plumes_dry_between_visits_and_pipes_do_not():
    """Repeat visits."""
    recipe = replace(SMALL, plumes=("burst",), pipes=1, visits=3, half_life_days=14.0)
    floor = make_floor(recipe, 4)
    points = points_of(floor)[:50]
    first, last = floor.truth(points, "v1"), floor.truth(points, "v3")
    assert (first - last).max() > 0
    assert floor.wetness("v3") == pytest.approx(0.25)
    per_visit = floor.disturbance.reshape(3, -1)
    assert np.allclose(per_visit[0], per_visit[2])


def test_full_scale_is_clipped_and_marked():
    """Readings past the end of the scale are censored."""
    floor = make_floor(replace(SMALL, base=85.0, plumes=("burst", "edge"), scale=(0.0, 100.0)), 5)
    readings = floor.survey.readings
    over = readings["censored"] == "above"
    assert over.any()
    assert (readings.loc[over, "value"] == 100.0).all()
    assert readings.loc[over, "raw"].str.startswith(">").all()


def test_a_shifted_row_holds_its_neighbours_values():
    """Keyed in one place too far along."""
    floor = make_floor(replace(SMALL, trend=(3.0, 0.0), shifted_row=True), 6)
    moved = floor.survey.readings.loc[floor.cause == "shifted", "y"]
    assert moved.nunique() <= 1
    assert (floor.cause == "shifted").any() or np.abs(floor.disturbance).max() > 0


def test_a_thickness_step_lifts_one_side():
    """A step is a disturbance, not moisture."""
    floor = make_floor(replace(SMALL, thickness_step=8.0), 7)
    stepped = floor.cause == "step"
    assert 0.2 < stepped.mean() < 0.8
    assert (
        floor.survey.readings.loc[stepped, "x"].min()
        > floor.survey.readings.loc[~stepped, "x"].max() - 1e-9
    )


def test_deep_tests_follow_the_scan_with_their_own_scatter():
    """More scatter, less correlation; the wettest place is tested."""
    recipe = replace(SMALL, plumes=("burst", "edge"), tests=30, rh_scatter=1.0)
    floor = make_floor(recipe, 8)
    tests = floor.survey.tests
    scan = floor.truth(tests[["x", "y"]].to_numpy())
    assert len(tests) == 30
    assert np.corrcoef(scan, tests["value"])[0, 1] > 0.8
    assert set(tests["instrument"]) <= set(floor.survey.instruments)


def test_repeats_are_taken_at_the_same_place():
    """A share of the spots is read twice."""
    floor = make_floor(replace(SMALL, repeat_share=0.2), 9)
    counts = floor.survey.readings.groupby(["x", "y"]).size()
    assert counts.max() == 2
    assert (counts == 2).mean() == pytest.approx(0.2, abs=0.01)


def test_truth_zones_follow_the_wet_level():
    """A level above everything leaves nothing wet."""
    floor = make_floor(RECIPES["wet"], 1)
    points = points_of(floor)
    assert floor.wet(points).any()
    assert not floor.wet(points, 1e6).any()


@pytest.mark.parametrize(
    "change",
    [{"outline": "round"}, {"plumes": ("flood",)}, {"wet_level": "guess"}, {"spacing": 0.0}],
)
def test_recipes_refuse_what_they_cannot_make(change):
    """Errors say what is allowed."""
    with pytest.raises(OptionError):
        replace(SMALL, **change)


def test_mixed_recipes_leave_out_what_is_embedded_on_request():
    """Clean floors for false alarms."""
    recipe = mixed_recipe(3, disturbed=False)
    assert recipe.pipes == recipe.plates == recipe.strays == 0
    assert recipe.plumes == mixed_recipe(3).plumes
