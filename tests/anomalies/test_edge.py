"""What only one side of was read is never called a thing while wet floor is at stake."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit

from moisturemap.anomalies.edge import on_edge, seen_from_one_side
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search

LEVEL = 60.0


def room(rise, spacing: float = 0.5, seed: int = 0) -> Scene:
    """A room of 12 m x 7 m read from half a spacing off its walls, dry at 30, noise 1.5."""
    x, y = np.arange(spacing / 2, 12, spacing), np.arange(spacing / 2, 7, spacing)
    points = np.column_stack([part.ravel() for part in np.meshgrid(x, y)])
    noise = np.random.default_rng(seed).normal(0, 1.5, len(points))
    values = np.round(30.0 + rise(points) + noise)
    ones = np.ones(len(points))
    return Scene(points, values, ones, 0 * ones, spacing, 0.12, 1 / 12, 100.0, 100.0, LEVEL)


def wall_base(points: np.ndarray) -> np.ndarray:
    """Capillary water along the south wall: a ragged front 0.45 m deep, 50 high, 5 m long."""
    ragged = 0.45 + 0.08 * np.sin(2 * points[:, 0])
    ends = expit((points[:, 0] - 3) / 0.2) * expit((8 - points[:, 0]) / 0.2)
    return 50.0 * ends * expit((ragged - points[:, 1]) / 0.1)


def pipe(points: np.ndarray) -> np.ndarray:
    """A pipe across the middle of the room, 50 high."""
    return 50.0 * np.exp(-0.5 * ((points[:, 1] - 3.6) / 0.14) ** 2)


def aside(scene: Scene) -> int:
    """How many readings above the level leave the map."""
    finds = search(scene)
    gone = (finds.lone > 0) & ~finds.doubtful
    for one in finds.things:
        gone |= one.strength * one.shape.rise(scene.points) > 5.0
    return int((gone & (scene.values > LEVEL)).sum())


@pytest.mark.thorough
@pytest.mark.parametrize("spacing", [0.35, 0.5])
def test_water_at_a_wall_stays_in_the_map(spacing):
    """On five floors each, no reading above the level is set aside as a pipe along the wall."""
    assert sum(aside(room(wall_base, spacing, seed)) for seed in range(5)) == 0


def test_a_wet_corner_is_not_mis_keyed():
    """One high reading in the corner stays, as contested; far from walls it is a wrong one."""

    def spot(x, y):
        return lambda points: 45.0 * (np.hypot(points[:, 0] - x, points[:, 1] - y) < 0.1)

    assert aside(room(spot(0.25, 0.25))) == 0
    assert aside(room(spot(6.25, 3.25))) == 1


def test_a_pipe_in_the_room_is_still_a_thing():
    """Read from both sides it leaves the map."""
    assert aside(room(pipe, 0.35)) > 20


def test_which_places_have_a_side_open():
    """Rows at walls and corners; not the inside, nor beside one missing reading."""
    scene = room(pipe)
    places = np.array([[0.25, 3.25], [0.25, 0.25], [6.25, 6.75], [6.25, 3.25]])
    assert on_edge(scene, places).tolist() == [True, True, True, False]
    kept = np.hypot(*(scene.points - (6.75, 3.25)).T) > 0.1
    assert not on_edge(scene.part(kept), places[-1:])[0]


def test_a_line_along_the_outermost_row_is_seen_from_one_side():
    """As is one along a joint, where the readings end; one row in is seen from both."""
    scene = room(pipe)

    def seen(y: float) -> bool:
        ridge = Ridge.of(np.array([2.0, y]), np.array([9.0, y]), 0.13)
        return seen_from_one_side(scene, ridge, np.flatnonzero(ridge.rise(scene.points) > 0.5))

    assert seen(0.25)
    assert seen(6.75)
    assert not seen(0.75)
    assert not seen(3.25)


def test_below_the_level_nothing_is_at_stake():
    """A pipe along a wall that reads below the level leaves the map as before."""

    def beside(points):
        return 25.0 * np.exp(-0.5 * ((points[:, 1] - 0.2) / 0.14) ** 2)

    scene = room(beside, 0.35)
    assert len(search(replace(scene, level=90.0)).things) >= 1


def with_sweeps(scene: Scene, rise, xs: tuple[float, ...]) -> Scene:
    """The scene with sweeps from the south wall inwards, read every 0.1 m."""
    rows = [np.column_stack([np.full(12, x), 0.05 + 0.1 * np.arange(12)]) for x in xs]
    places = np.vstack(rows)
    read = np.round(30.0 + rise(places) + np.random.default_rng(9).normal(0, 1.5, len(places)))
    ones = np.ones(len(scene.values) + len(places))
    return replace(
        scene,
        points=np.vstack([scene.points, places]),
        values=np.concatenate([scene.values, read]),
        share=ones,
        apart=0 * ones,
    )


@pytest.mark.parametrize("seed", range(3))
def test_a_sweep_does_not_make_a_pipe_of_water_at_a_wall(seed):
    """It does not fall off towards the wall: none of its readings leaves the map."""
    assert aside(with_sweeps(room(wall_base, seed=seed), wall_base, (4.6, 6.4))) == 0


def test_a_sweep_shows_a_pipe_beside_a_wall():
    """It falls off on both sides of the axis, 0.42 m from the wall, and leaves the map then."""

    def beside(points):
        return 50.0 * np.exp(-0.5 * ((points[:, 1] - 0.42) / 0.13) ** 2)

    scene = room(beside, 0.35)
    assert aside(with_sweeps(scene, beside, (3.1, 6.1, 9.1))) > 20
