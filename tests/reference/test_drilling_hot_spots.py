"""Chance that a grid of holes misses a round patch, against the published geometry.

Singer, D. A. and Wickman, F. E. (1969), Probability tables for locating elliptical targets;
Gilbert, R. O. (1987), Statistical Methods for Environmental Pollution Monitoring, chapter 10. The
values were computed for this project from that geometry and agree with the rounded nomographs
(0.59, 0.56, 0.50 for a miss of 0.05, 0.1 and 0.2 on a square grid, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from moisturemap.drilling import (
    chance_missed,
    chance_missed_random,
    chance_missed_square,
    chance_missed_triangular,
    ratio_for_miss,
)

SQUARE = {
    0.2: 0.8743,
    0.25: 0.8037,
    0.3: 0.7173,
    0.4: 0.4973,
    0.5: 0.2146,
    0.55: 0.1113,
    0.6: 0.0491,
}
MISSES = (0.01, 0.05, 0.1, 0.2, 0.3, 0.5)


@pytest.mark.parametrize("ratio", SQUARE)
def test_a_square_grid_misses_as_the_geometry_says(ratio):
    """Radius over spacing against the chance to miss."""
    assert chance_missed_square(ratio) == pytest.approx(SQUARE[ratio], abs=6e-5)


@pytest.mark.parametrize(
    ("pattern", "ratios"),
    [
        ("square", (0.6578, 0.5991, 0.5575, 0.5053, 0.4720, 0.3989)),
        ("triangular", (0.5493, 0.5176, 0.4981, 0.4696, 0.4393, 0.3713)),
    ],
)
def test_the_ratio_for_a_miss_is_the_inverse(pattern, ratios):
    """Radius over spacing for a miss of 1, 5, 10, 20, 30 and 50%."""
    found = [ratio_for_miss(miss, pattern) for miss in MISSES]
    assert found == pytest.approx(ratios, abs=6e-5)


@pytest.mark.parametrize("ratio", [0.2, 0.4, 0.55, 0.65])
def test_holes_on_a_polygon_agree_with_the_square_grid(ratio):
    """One cell between many nodes is the whole grid."""
    x, y = np.meshgrid(np.arange(-2, 4), np.arange(-2, 4))
    nodes = np.column_stack([x.ravel(), y.ravel()]).astype(float)
    missed = chance_missed(nodes, box(0, 0, 1, 1), ratio)
    assert missed == pytest.approx(chance_missed_square(ratio), abs=2e-4)


@pytest.mark.parametrize("ratio", [0.3, 0.52])
def test_holes_on_a_polygon_agree_with_the_triangular_grid(ratio):
    """One triangle between its nodes and their neighbours."""
    i, j = np.meshgrid(np.arange(-3, 5), np.arange(-3, 5))
    nodes = np.column_stack([(i + 0.5 * j).ravel(), (np.sqrt(0.75) * j).ravel()])
    triangle = Polygon([(0, 0), (1, 0), (0.5, np.sqrt(0.75))])
    missed = chance_missed(nodes, triangle, ratio)
    assert missed == pytest.approx(chance_missed_triangular(ratio), abs=2e-4)


@pytest.mark.parametrize(
    ("holes", "missed"), [(3, 0.906), (5, 0.843), (9, 0.717), (16, 0.497), (25, 0.215)]
)
def test_square_layouts_of_100_m2_miss_a_patch_of_1_m(holes, missed):
    """One hole for each cell of side sqrt(100/n)."""
    assert chance_missed_square(np.sqrt(holes / 100.0)) == pytest.approx(missed, abs=6e-4)


def test_random_holes_miss_as_the_power_law_says():
    """(1 - pi r^2/A)^n: r = 1 m, A = 50 m2, n = 5: 0.7229 (Gilbert 1987)."""
    assert chance_missed_random(5, 50.0, 1.0) == pytest.approx(0.7229, abs=5e-5)


def test_random_holes_agree_with_the_polygon_on_average():
    """Monte Carlo: random holes, patch away from the edges."""
    rng = np.random.default_rng(4)
    middle = box(2, 2, 8, 8)
    missed = [chance_missed(rng.uniform(0, 10, (5, 2)), middle, 1.0) for _ in range(300)]
    assert np.mean(missed) == pytest.approx(chance_missed_random(5, 100.0, 1.0), abs=0.01)
