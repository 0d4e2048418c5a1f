"""What sweeps settle: round wet spots stay in the map."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search

NOISE, LEVEL, RIM, SPACING = 1.2, 45.0, 55.0, 0.4


def read(truth, points, seed: int = 1):
    return truth(points) + np.random.default_rng(seed).normal(0, NOISE, len(points))


def grid_scene(truth):
    x, y = np.meshgrid(np.arange(0.25, 7, SPACING), np.arange(0.2, 6, SPACING))
    points = np.column_stack([x.ravel(), y.ravel()])
    ones = np.ones(len(points))
    values = read(truth, points)
    return Scene(points, values, ones, 0 * ones, SPACING, 0.12, 0.1, 100.0, 100.0, LEVEL)


def swept_both_ways(scene: Scene, truth) -> Scene:
    """The scene with a sweep along x and one along y at all that its grid leaves open."""
    finds = search(scene)
    places = [np.asarray(one.shape.centre) for one in finds.contested]
    places += list(scene.points[finds.doubtful])
    steps = 0.1 * (np.arange(12) - 5.5)[:, None]
    rows = [place + steps * way for place in places for way in np.eye(2)]
    points = np.vstack([scene.points, *rows])
    values = np.concatenate(
        [scene.values, *(read(truth, row, 7 + k) for k, row in enumerate(rows))]
    )
    ones = np.ones(len(points))
    return replace(scene, points=points, values=values, share=ones, apart=0 * ones)


def disc(radius: float, x: float, y: float, edge: float = 0.08):
    def truth(points):
        away = np.hypot(points[:, 0] - x, points[:, 1] - y)
        return 30 + 45 / (1 + np.exp((away - radius) / edge))

    return truth


@pytest.mark.thorough
@settings(max_examples=12, deadline=None)
@given(st.floats(0.32, 0.6), st.floats(2.9, 3.3), st.floats(2.7, 3.1))
@example(0.34375, 3.125, 2.71875)
@example(0.421875, 3.0, 3.0)
@example(0.328125, 3.15625, 3.099609375)
def test_a_round_wet_spot_never_leaves_the_map_by_its_sweeps(radius, x, y):
    """Chords of it are narrow, it is not: but for its rim no wet reading is taken for a thing's."""
    truth = disc(radius, x, y)
    scene = swept_both_ways(grid_scene(truth), truth)
    found = assemble(search(scene), scene, box(0, 0, 7, 6), 2.0)
    gone = [one.disturbed[~one.stays] for one in found if one.standing == "thing"]
    hidden = np.unique(np.concatenate([np.empty(0, dtype=int), *gone]))
    assert not (truth(scene.points[hidden]) > RIM).any()


def test_what_stays_open_is_known_to_have_been_swept():
    """A wet spot as wide as a plate reads as one: open before and after, and told apart."""
    truth, outline = disc(0.35, 3.1, 2.9), box(0, 0, 7, 6)
    grid = grid_scene(truth)
    scene = swept_both_ways(grid, truth)
    for one, known in ((grid, False), (scene, True)):
        still = [
            it for it in assemble(search(one), one, outline, 2.0) if it.standing == "contested"
        ]
        assert still
        assert all(it.swept == known for it in still)


def test_where_a_sweep_peaks_is_told_all_along_what_it_was_read_across():
    """A pipe between two rows beside a wet strip along a wall, of which the grid sees the strip."""

    def truth(points):
        pipe = 35 * np.exp(-0.5 * ((points[:, 1] - 5.25) / 0.13) ** 2)
        return 22 + pipe + 45 / (1 + np.exp((5.6 - points[:, 1]) / 0.05))

    x, y = np.meshgrid(np.arange(0.35, 8, 0.7), np.arange(0.05, 6, 0.7))
    sweeps = [
        np.column_stack([np.full(11, across), 4.86 + 0.1 * np.arange(11)]) for across in (2.6, 5.1)
    ]
    points = np.vstack([np.column_stack([x.ravel(), y.ravel()]), *sweeps])
    ones = np.ones(len(points))
    scene = Scene(points, read(truth, points), ones, 0 * ones, 0.7, 0.12, 0.1, 100.0, 100.0, LEVEL)
    peaks = search(scene).rises.peaks
    for place in (1.0, 4.0, 7.0):
        assert np.hypot(*(peaks - np.array([place, 5.25])).T).min() <= 0.15


def test_a_wet_strip_wider_than_a_thing_stays_in_the_map_after_its_sweeps():
    """0.47 m wide at half height, winding and fading: a pipe reads 0.3 m wide."""
    way = np.array([1.0, 0.12]) / np.hypot(1.0, 0.12)
    side, middle = np.array([-way[1], way[0]]), np.array([4.0, 3.0])

    def truth(points):
        along, across = (points - middle) @ way, (points - middle) @ side
        across = across - 0.15 * np.sin(2.1 * along + 0.8)
        fades = 0.7 + 0.3 * np.sin(1.3 * along + 2.0)
        return 22 + 40 * fades * np.exp(-0.5 * (across / 0.2) ** 2)

    x, y = np.meshgrid(np.arange(0.25, 8, 0.5), np.arange(0.25, 6, 0.5))
    steps = 0.1 * (np.arange(12) - 5.5)[:, None]
    sweeps = [middle + along * way + steps * side for along in (-1.3, 1.3)]
    points = np.vstack([np.column_stack([x.ravel(), y.ravel()]), *sweeps])
    ones = np.ones(len(points))
    values = read(truth, points, 2)
    scene = Scene(points, values, ones, 0 * ones, 0.5, 0.12, 0.1, 100.0, 100.0, LEVEL)
    found = search(scene)
    assert not found.things
    assert found.contested


def test_a_sweep_along_a_line_does_not_show_floor():
    """All of it is high and nowhere falls: what lies there stays open, and its rise is known."""

    def truth(points):
        return 30 + 45 * np.exp(-0.5 * ((points[:, 1] - 2.6) / 0.13) ** 2) * (points[:, 0] < 1.4)

    grid = grid_scene(truth)
    row = np.column_stack([np.arange(0.1, 1.3, 0.1), np.full(12, 2.6)])
    points = np.vstack([grid.points, row])
    values = np.concatenate([grid.values, read(truth, row, 7)])
    ones = np.ones(len(points))
    scene = replace(grid, points=points, values=values, share=ones, apart=0 * ones)
    found = search(scene)
    high = np.hypot(*(points - (0.65, 2.6)).T) < 0.13
    assert (found.rises.stands[high] > 0.0).any()


def test_sweeps_that_end_on_top_of_a_band_do_not_make_it_narrow():
    """A band 0.6 m wide, swept on its middle and beside it: what is cut off looks narrow."""

    def truth(points):
        away = np.abs(points[:, 1] - 2.75)
        return 22 + 48 / (1 + np.exp((away - 0.3) / 0.07))

    grid = grid_scene(truth)
    steps = 0.1 * (np.arange(12) - 5.5)
    rows = [
        np.column_stack([np.full(12, x), y + steps])
        for x, y in ((1.55, 2.5), (2.35, 2.75), (3.95, 2.5), (4.75, 2.75))
    ]
    points = np.vstack([grid.points, *rows])
    values = np.concatenate([grid.values, *(read(truth, row, 3 + k) for k, row in enumerate(rows))])
    ones = np.ones(len(points))
    scene = replace(grid, points=points, values=values, share=ones, apart=0 * ones)
    found = assemble(search(scene), scene, box(0, 0, 7, 6), 2.0)
    gone = [one.disturbed[~one.stays] for one in found if one.standing == "thing"]
    hidden = np.unique(np.concatenate([np.empty(0, dtype=int), *gone]))
    assert not (truth(points[hidden]) > RIM).any()
