"""Sweeps told from the grid they were read beside."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.scene import grid_spacing, read_sweeps
from moisturemap.anomalies.swept import of_sweeps, runs_of


def grid(spacing: float, width: float = 9.0, depth: float = 7.0):
    x, y = np.meshgrid(np.arange(0.5, width, spacing), np.arange(0.5, depth, spacing))
    return np.column_stack([x.ravel(), y.ravel()])


def sweep(x: float, y: float, angle: float, count: int = 12):
    steps = 0.1 * (np.arange(count) - 0.5 * (count - 1))
    return np.array([x, y]) + steps[:, None] * np.array([np.cos(angle), np.sin(angle)])


@pytest.mark.parametrize("spacing", [0.25, 0.35, 0.5, 0.7, 1.0])
def test_a_grid_holds_no_sweep_however_it_is_walked(spacing):
    """Row by row, to and fro, and with places off by a few centimetres."""
    points = grid(spacing)
    off = points + np.random.default_rng(2).normal(0, 0.1 * spacing, points.shape)
    for one in (points, points[::-1], off):
        assert not of_sweeps(one, spacing).any()


@pytest.mark.parametrize("spacing", [0.25, 0.5, 1.0])
def test_sweeps_are_known_by_their_steps_though_they_cross(spacing):
    """Each by itself, and none of the grid with it."""
    points, rows = grid(spacing), [sweep(4, 3, 0.0), sweep(4, 3, np.pi / 2), sweep(6, 2, 0.7, 6)]
    found = runs_of(np.vstack([points, *rows]), spacing)
    assert [run.size for run in found] == [12, 12, 6]
    assert min(int(run[0]) for run in found) == len(points)


def test_more_readings_in_sweeps_than_in_the_grid_leave_its_spacing():
    """Sixty places a metre apart, and ten sweeps."""
    points = grid(1.0, 10.0, 6.5)
    rows = [sweep(1.0 + 0.8 * k, 3.0, 0.4 * k) for k in range(10)]
    assert grid_spacing(np.vstack([points, *rows])) == pytest.approx(1.0)


def test_places_read_twice_are_swept_as_if_read_once():
    """A sweep whose every place was read twice, on a grid read so; five repeats are no sweep."""
    points = np.vstack([grid(0.5), sweep(4, 3, 0.3), np.tile([6.0, 2.0], (8, 1))])
    (one,) = read_sweeps(np.repeat(points, 2, axis=0))
    assert one.length == pytest.approx(1.1)
