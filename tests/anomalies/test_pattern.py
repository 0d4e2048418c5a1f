"""Regular patterns over a whole floor."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.pattern import find_waves
from moisturemap.anomalies.scene import Scene


def grid(seed: int):
    x, y = np.meshgrid(np.arange(0, 6, 0.25), np.arange(0, 5, 0.25))
    points = np.column_stack([x.ravel(), y.ravel()])
    distance = np.linalg.norm(points[:, None] - points, axis=2)
    covariance = CalmFloor(4.0, 1.2, 4.0, np.zeros(0)).between(distance) + 4.0 * np.eye(len(points))
    noise = np.random.default_rng(seed).standard_normal(len(points))
    return points, 40 + np.linalg.cholesky(covariance) @ noise


def waves_in(points, values):
    """Waves found with the covariance the readings were drawn from."""
    ones = np.ones(len(points))
    scene = Scene(points, values, ones, 0 * ones, 0.25, 0.12, 0.1, 100.0, 100.0)
    return find_waves(scene, CalmFloor(4.0, 1.2, 4.0, 40 * ones), values, ones > 0)


def test_a_wave_over_the_whole_floor_is_found():
    """Frequency, amplitude and phase."""
    points, values = grid(1)
    values = values + 2.0 * np.cos(2 * np.pi * points[:, 0] / 0.75)
    waves = waves_in(points, values)
    assert len(waves) == 1
    assert waves[0].length == pytest.approx(0.75, rel=0.08)
    assert waves[0].amplitude == pytest.approx(2.0, rel=0.3)


def test_a_floor_without_a_pattern_has_none():
    """Nor has one with a strong pipe or strays."""
    for seed in range(4):
        points, values = grid(seed)
        assert waves_in(points, values) == ()
        values = values + 20.0 * (np.abs(points[:, 1] - 2.0) < 0.1)
        values[::61] += 30.0
        assert waves_in(points, values) == ()


def test_too_few_readings_show_no_pattern():
    """Nothing is claimed."""
    points, values = grid(1)
    assert waves_in(points[:40], values[:40]) == ()
