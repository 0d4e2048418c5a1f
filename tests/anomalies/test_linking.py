"""Straight ridges to bent lines."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.linking import link_bends
from moisturemap.anomalies.ridge import Ridge


def test_no_ridges_make_no_lines():
    """Empty in, empty out."""
    assert link_bends([], 0.25) == []


def test_ridges_that_meet_at_a_corner_are_one_bent_line():
    """The corner is where their axes cross."""
    along = Ridge((1.0, 0.0), 0.0, 1.9, 0.1)
    up = Ridge((2.0, 1.0), np.pi / 2, 1.9, 0.1)
    lines = link_bends([along, up], 0.25)
    assert len(lines) == 1
    order, corners = lines[0]
    assert sorted(order) == [0, 1]
    assert corners[1] == pytest.approx([2.0, 0.0], abs=1e-9)


def test_four_ridges_round_a_square_stay_an_open_line():
    """A ring is cut once rather than lost."""
    sides = [
        Ridge((1, 0), 0.0, 2, 0.1),
        Ridge((2, 1), np.pi / 2, 2, 0.1),
        Ridge((1, 2), 0.0, 2, 0.1),
        Ridge((0, 1), np.pi / 2, 2, 0.1),
    ]
    lines = link_bends(sides, 0.25)
    assert sum(len(order) for order, _ in lines) == 4
    assert len(lines) == 1


@pytest.mark.parametrize(("aside", "lines"), [(0.05, 1), (0.6, 2)])
def test_only_lines_that_run_on_in_one_another_are_joined(aside, lines):
    """Of two services side by side each is drawn where it lies, not one between them."""
    left, right = Ridge((1.0, 0.0), 0.0, 2.0, 0.1), Ridge((3.2, aside), 0.05, 2.0, 0.1)
    found = link_bends([left, right], 0.5)
    assert len(found) == lines
    ends = np.vstack([corners[[0, -1]] for _, corners in found])
    for ridge in (left, right) if lines == 2 else ():
        assert all(np.hypot(*(ends - end).T).min() < 1e-9 for end in ridge.ends)


@pytest.mark.parametrize("turn", [0.0, np.pi])
def test_lines_along_one_another_are_one_that_does_not_fold_back(turn):
    """A course found twice, and in parts, is as long as it is and no longer."""
    spans = [(0.3, 38.3, 0.0), (9.8, 38.3, 0.02), (0.3, 22.7, -0.03), (38.0, 39.0, 0.0)]
    ridges = [Ridge((0.5 * (a + b), y), turn, b - a, 0.1) for a, b, y in spans]
    [(order, corners)] = link_bends(ridges, 0.25)
    assert sorted(order) == [0, 1, 2, 3]
    assert sorted(corners[:, 0]) == pytest.approx([0.3, 39.0])
