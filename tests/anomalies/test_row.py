"""Rows keyed in one place out of step."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.row import shifted_rows


def table(seed: int = 1, noise: float = 1.0):
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(0, 6, 0.25), np.arange(0, 4, 0.25))
    values = 40 + 20 * np.sin(1.7 * x) * np.cos(0.4 * y) + noise * rng.standard_normal(x.shape)
    return np.column_stack([x.ravel(), y.ravel()]), values


@pytest.mark.parametrize("by", [1, -1])
def test_a_shifted_row_is_found_with_the_way_back(by):
    """It must be moved back by as much."""
    points, values = table()
    values[7] = np.roll(values[7], by)
    found = shifted_rows(points, values.ravel(), 0.25)
    assert [(row.axis, round(row.place, 2), row.by) for row in found] == [("y", 1.75, -by)]


def test_a_sound_grid_has_no_shifted_row():
    """Nor a noisy one."""
    for seed in range(5):
        points, values = table(seed, noise=4.0)
        assert shifted_rows(points, values.ravel(), 0.25) == ()


def test_scattered_readings_have_no_rows():
    """Nothing is claimed off a grid."""
    points = np.random.default_rng(1).uniform(0, 5, (100, 2))
    assert shifted_rows(points, points[:, 0], 0.5) == ()


def test_the_search_reports_a_shifted_row(searched):
    """As a remark, with the room and the way back."""
    floor, found = searched(
        seed=2, trend=(9.0, 0.0), base=40.0, shifted_row=True, texture_sd=1.0, noise_sd=0.6
    )
    place = floor.survey.readings.loc[floor.cause == "shifted", "y"].iloc[0]
    assert any(f"y = {place:.2f} m" in remark for remark in found.remarks)
