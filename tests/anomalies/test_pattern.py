"""Regular patterns over a whole floor."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.background import Background
from moisturemap.anomalies.pattern import find_waves

FLOOR = Background(4.0, 1.2, 1.0, 2.0, 4.0)


def grid(seed: int):
    x, y = np.meshgrid(np.arange(0, 6, 0.25), np.arange(0, 5, 0.25))
    points = np.column_stack([x.ravel(), y.ravel()])
    root = np.linalg.cholesky(FLOOR.between(points, points) + 4.0 * np.eye(len(points)))
    return points, 40 + root @ np.random.default_rng(seed).standard_normal(len(points))


def test_a_wave_over_the_whole_floor_is_found():
    """Frequency, amplitude and phase."""
    points, values = grid(1)
    values = values + 2.0 * np.cos(2 * np.pi * points[:, 0] / 0.75)
    waves = find_waves(points, values, np.ones(len(points)), 0.25, FLOOR)
    assert len(waves) == 1
    assert waves[0].length == pytest.approx(0.75, rel=0.08)
    assert waves[0].amplitude == pytest.approx(2.0, rel=0.3)


def test_a_floor_without_a_pattern_has_none():
    """Nor has one with a strong pipe or strays."""
    for seed in range(4):
        points, values = grid(seed)
        assert find_waves(points, values, np.ones(len(points)), 0.25, FLOOR) == ()
        values = values + 20.0 * (np.abs(points[:, 1] - 2.0) < 0.1)
        values[::61] += 30.0
        assert find_waves(points, values, np.ones(len(points)), 0.25, FLOOR) == ()


def test_too_few_readings_show_no_pattern():
    """Nothing is claimed."""
    points, values = grid(1)
    assert find_waves(points[:40], values[:40], np.ones(40), 0.25, FLOOR) == ()
