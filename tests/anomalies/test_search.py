"""Wet floor and things as rivals, on floors made of formulas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr
from shapely.geometry import box

from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.calm import CalmFloor, fit_calm
from moisturemap.anomalies.decision import standing_of
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search
from moisturemap.anomalies.sides import contrasts
from moisturemap.anomalies.window import log_evidence


def lattice(spacing: float, width: float = 9.0, depth: float = 7.0):
    x, y = np.meshgrid(np.arange(0.2, width, spacing), np.arange(0.2, depth, spacing))
    return np.column_stack([x.ravel(), y.ravel()])


def scene_of(points, values, spacing: float, level: float | None = 35.0) -> Scene:
    noise = np.random.default_rng(3).normal(0, 1.2, len(points))
    ones = np.ones(len(points))
    shown = np.clip(np.round(values + noise), 0, 100)
    return Scene(points, shown, ones, 0 * ones, spacing, 0.12, 1 / 12, 100.0, 100.0, level)


def standing(scene: Scene):
    """Standing of each reading: 0 clear, 1 contested, 2 thing."""
    marks = np.zeros(len(scene.values), dtype=int)
    found = assemble(search(scene), scene, box(0, 0, 20, 20), 2.0)
    for rank, stays in ((1, True), (2, False)):
        for one in found:
            marks[one.disturbed[one.stays == stays]] = rank
    return marks


@pytest.mark.parametrize("spacing", [0.5, 0.7, 1.0])
@pytest.mark.parametrize("reach", [0.6, 0.9, 1.4])
def test_a_wet_patch_never_leaves_the_map(spacing, reach):
    """A smooth rise from 16 to 68, as a leak under a slab makes it."""
    points = lattice(spacing)
    away = np.hypot(*((points - (4.3, 3.4)) * (1.0, 1.3)).T)
    values = 16 + 52 * np.exp(-0.5 * (away / reach) ** 2)
    marks = standing(scene_of(points, values, spacing))
    assert (marks[values > 35] < 2).all()


@pytest.mark.parametrize("spacing", [0.35, 0.5, 0.75, 1.0])
@pytest.mark.parametrize("course", [0.0, 0.35])
def test_a_band_of_water_along_a_wall_never_leaves_the_map(spacing, course):
    """Half a metre wide and ragged at its rim, straight on, and askew of the grid."""
    points = lattice(spacing)
    along = np.array([np.cos(course), np.sin(course)])
    away = (points - (0.0, 0.3)) @ np.array([-along[1], along[0]])
    rim = 0.5 * (1 + 0.3 * np.sin(2.3 * points @ along))
    values = 18 + 45 / (1 + np.exp((np.abs(away) - rim) / 0.08))
    marks = standing(scene_of(points, values, spacing))
    assert (marks[values > 35] < 2).mean() > 0.95


@pytest.mark.parametrize("spacing", [0.25, 0.35, 0.5])
def test_a_pipe_on_dry_floor_is_a_thing_in_metres(spacing):
    """Found at each spacing with the width it has."""
    points = lattice(spacing)
    pipe = Ridge((4.5, 3.4), 0.3, 8.0, 0.13)
    scene = scene_of(points, 20 + 30 * pipe.rise(points), spacing)
    marks = standing(scene)
    strong = pipe.rise(points) > 0.3
    assert (marks[strong] == 2).mean() > 0.85
    assert (marks[pipe.rise(points) < 0.01] == 2).mean() < 0.01


def test_along_a_row_of_a_coarse_grid_a_pipe_and_a_band_stay_contested():
    """At 1 m neither neighbour row sees either: nothing above the wet level leaves the map."""
    points = lattice(1.0, 12.0, 9.0)
    row = np.abs(points[:, 1] - 4.2) < 0.1
    marks = standing(scene_of(points, 18 + 30.0 * row, 1.0))
    assert (marks[row] < 2).all()
    assert (marks[row] == 1).mean() > 0.7


def test_a_faint_line_below_the_wet_level_may_go():
    """It hides no wet floor, so it needs less evidence than one above."""
    points = lattice(0.5, 12.0, 9.0)
    row = np.abs(points[:, 1] - 4.2) < 0.1
    low = standing(scene_of(points, 18 + 12.0 * row, 0.5, level=60.0))
    assert (low[row] == 2).mean() > 0.8


def test_calm_floor_is_fitted_beside_pipes_and_wet_floor():
    """Noise and texture of the calm part, within a quarter of the truth or so."""
    points = lattice(0.35, 10.0, 9.0)
    distance = np.linalg.norm(points[:, None] - points, axis=2)
    truth = CalmFloor(4.0, 1.0, 1.44, np.zeros(0))
    root = np.linalg.cholesky(truth.between(distance) + 1e-9 * np.eye(len(points)))
    texture = root @ np.random.default_rng(5).standard_normal(len(points))
    wet = 40 * np.exp(-0.5 * (np.hypot(*(points - (7.5, 6.5)).T) / 0.9) ** 2)
    pipe = 25 * Ridge((4.0, 2.0), 0.0, 6.0, 0.13).rise(points)
    fitted = fit_calm(scene_of(points, 25 + texture + wet + pipe, 0.35))
    assert fitted.noise_sd == pytest.approx(1.2, rel=0.35)
    assert np.sqrt(fitted.texture) == pytest.approx(2.0, rel=0.4)


def small_floor():
    """144 readings about a wet patch that every block of 36 sees, and a pipe beside it."""
    points = lattice(0.35, 4.2, 4.2)
    floor = 20 + 60 * np.exp(-0.5 * (np.hypot(*(points - 2.8).T) / 0.8) ** 2)
    return points, floor, 15.0 * Ridge((0.9, 2.1), 1.5, 4.2, 0.13).rise(points)


def test_calm_floor_of_a_small_floor_is_not_the_wet_patch_on_it():
    """Its sd is 1.2 without patch and pipe; with the patch in the fit it came out at 9."""
    points, floor, pipe = small_floor()
    assert fit_calm(scene_of(points, floor + pipe, 0.35, level=40.0)).sd < 3 * 1.2


def test_a_pipe_on_a_small_floor_beside_a_wet_patch_is_a_thing():
    """Twelve noise sd high, yet no course was tried: calm floor seemed as rough as the patch."""
    points, floor, pipe = small_floor()
    marks = standing(scene_of(points, floor + pipe, 0.35, level=40.0))
    assert (marks[(pipe > 9) & (floor < 30)] == 2).all()
    assert (marks[floor > 40] < 2).all()


def test_a_floor_that_is_all_wet_is_as_rough_as_it_reads():
    """Above the level everywhere: what lies over its own median is no less calm floor."""
    points = lattice(0.5)
    rough = np.random.default_rng(2).normal(60, 3.0, len(points))
    assert fit_calm(scene_of(points, rough, 0.5, level=35.0)).sd > 2.5


@pytest.mark.parametrize("spacing", [0.35, 0.5])
def test_what_a_low_wet_level_lies_in_is_the_roughness_of_a_small_floor(spacing):
    """Twenty square metres of noise and texture, the level two sd over them: nothing is found.

    With what lies over half of the way to it left out, noise made lines.
    """
    points = lattice(spacing, 5.0, 4.0)
    distance = np.linalg.norm(points[:, None] - points, axis=2)
    between = CalmFloor(1.0, 1.0, 1.44, np.zeros(0)).between(distance)
    root = np.linalg.cholesky(between + 1.44 * np.eye(len(points)))
    for seed in range(10):
        values = 20 + root @ np.random.default_rng(seed).standard_normal(len(points))
        scene = replace(scene_of(points, values, spacing, level=23.0), values=values)
        assert (standing(scene) == 0).all()


def test_neither_a_flank_nor_the_middle_of_a_patch_stands_over_its_sides():
    """Only what falls off on both sides within decimetres does."""
    points = lattice(0.25)
    wet = 18 + 50 * np.exp(-0.5 * (np.hypot(*(points - (4.5, 3.4)).T) / 1.0) ** 2)
    pipe = Ridge((4.5, 3.4), 0.3, 8.0, 0.13)
    for values, most in ((wet, 12.0), (18 + 30 * pipe.rise(points), 31.0)):
        scene = scene_of(points, values, 0.25)
        over = contrasts(
            scene, fit_calm(scene), scene.values, np.ones(len(points), dtype=bool)
        ).greatest
        assert over.max() < most + 5
    assert over[pipe.rise(points) > 0.8].min() > 20


def test_the_evidence_for_a_thing_is_the_integral_over_its_strength():
    """Against numerical integration over the half-normal prior (Kass & Raftery 1995)."""
    information, score, span = 0.8, 6.0, 100.0
    strength = np.linspace(0, 400, 400_001)
    likelihood = np.exp(score * strength - 0.5 * information * strength**2)
    parts = [
        np.trapezoid(likelihood * 2 * np.exp(-0.5 * (strength / sd) ** 2), strength)
        / (sd * np.sqrt(2 * np.pi))
        for sd in (10.0, 30.0)
    ]
    found = log_evidence(np.array([information]), np.array([score]), span)
    assert found[0] == pytest.approx(np.log(np.mean(parts)), abs=1e-4)


@pytest.mark.thorough
@pytest.mark.parametrize("length", [2.5, 4.0])
def test_a_short_line_as_wide_as_a_band_of_water_never_leaves_the_map(length):
    """Half a metre across its middle, and above the wet level: a pipe nowhere answers so wide."""
    points = lattice(0.25)
    band = Ridge((4.5, 3.4), 0.3, length, 0.26)
    values = 18 + 35 * band.rise(points)
    assert (standing(scene_of(points, values, 0.25))[values > 38] < 2).all()


@pytest.mark.parametrize(
    ("misfit", "width", "log_odds", "said"),
    [
        (4.0, 0.13, -20.0, "contested"),
        (1.0, 0.13, -20.0, "floor"),
        (4.0, 0.25, -20.0, "floor"),
        (1.0, 0.13, 1.0, "contested"),
        (1.0, 0.13, -1.0, "floor"),
    ],
)
def test_what_stands_high_is_floor_only_where_floor_fits(misfit, width, log_odds, said):
    """The odds of two rivals neither of which fits say nothing; even odds have a line swept."""
    points = lattice(0.5)
    scene = scene_of(points, np.full(len(points), 18.0), 0.5)
    line = Weighed(Ridge((4.5, 3.2), 0.0, 5.0, width), 24.0, 2.0, log_odds, misfit, "wet")
    assert standing_of(scene, fit_calm(scene), line) == said


def band(points, half: float):
    """Wet floor along x with a sharp front, 48 over the floor, seen through the footprint."""
    aside = points[:, 1] - 3.45
    return 16 + 48 * (ndtr((aside + half) / 0.12) - ndtr((aside - half) / 0.12))


@pytest.mark.thorough
@pytest.mark.parametrize("half", [0.22, 0.25])
def test_a_narrow_band_that_rows_see_across_never_leaves_the_map(half):
    """Half a metre of wet floor read every 0.25 m: two rows and more lie in it."""
    points = lattice(0.25)
    marks = standing(scene_of(points, band(points, half), 0.25))
    assert (marks[band(points, half) > 35] < 2).all()


@pytest.mark.thorough
@pytest.mark.parametrize("spacing", [0.25, 0.5])
def test_a_line_that_hides_readings_above_the_level_is_not_told_by_a_grid(spacing):
    """Whatever the spacing, a band of wet floor narrow enough reads like it."""
    points = lattice(spacing)
    for high, told in ((48, False), (12, True)):
        pipe = 16 + high * np.exp(-0.5 * ((points[:, 1] - 3.2) / 0.13) ** 2)
        (one,) = search(scene_of(points, pipe, spacing)).things
        assert one.told == told


@pytest.mark.parametrize(("wide", "standings"), [(0.0, {"thing"}), (0.5, {"contested"})])
def test_sweeps_settle_what_the_grid_could_not_tell(wide, standings):
    """A line named from one row is swept at two places: a pipe stays one, a band does not."""
    rows = [
        np.column_stack([np.full(12, x), 3.2 + 0.1 * np.arange(-5.5, 6.0)]) for x in (3.05, 6.1)
    ]
    points = np.vstack([lattice(0.5), *rows])
    away = points[:, 1] - 3.2
    share = np.exp(-0.5 * (away / 0.13) ** 2)
    if wide:
        share = ndtr((away + wide / 2) / 0.12) - ndtr((away - wide / 2) / 0.12)
    scene = scene_of(points, 16 + 48 * share, 0.5)
    found = assemble(search(scene), scene, box(0, 0, 20, 20), 2.0)
    lines = [one for one in found if one.kind == "line"]
    assert {one.standing for one in lines} == standings
    assert all(one.told for one in lines)
