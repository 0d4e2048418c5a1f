"""Single readings that stand alone."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.lone import LOWER, Lone, find_lone, standing_alone
from moisturemap.anomalies.scene import Scene

LIMIT = 4.5


@pytest.mark.parametrize(("sign", "found"), [(-1.0, 1), (1.0, 0)])
def test_a_reading_lower_than_its_neighbours_is_found_from_less_on(sign, found):
    """Nothing wet leaves the map with it; one as much higher may be wet floor, and stays."""
    x, y = np.meshgrid(np.arange(0.0, 5.0, 0.5), np.arange(0.0, 4.0, 0.5))
    points = np.column_stack([x.ravel(), y.ravel()])
    ones = np.ones(len(points))
    values = 30.0 + np.random.default_rng(4).normal(0, 0.3, len(points))
    scene = Scene(points, values, ones, 0 * ones, 0.5, 0.12, 1 / 12, 100.0, 100.0, 60.0)
    calm = CalmFloor(1.0, 1.2, 1.0, 30.0 * ones)
    used, place = np.ones(len(points), dtype=bool), 44
    residual, sd = standing_alone(scene, calm, values, used)
    values[place] += sign * 0.5 * (LIMIT + LIMIT / LOWER) * sd[place] - residual[place]
    off = find_lone(scene, calm, values, used, LIMIT, Lone(0 * ones)).off
    assert np.count_nonzero(off) == found
    assert (off[place] < 0) == bool(found)
