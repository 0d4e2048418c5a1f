"""Segments to runs, runs to bent lines."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.linking import link_bends, link_runs, merged, turn_between
from moisturemap.anomalies.ridge import Ridge


def test_segments_end_to_end_are_one_run_and_parallel_ones_two():
    """A gap of less than three spacings, an offset of more than one."""
    one, next_to_it = Ridge((1.0, 1.0), 0.0, 1.5, 0.1), Ridge((3.0, 1.05), 0.05, 1.5, 0.1)
    beside = Ridge((1.0, 1.6), 0.0, 1.5, 0.1)
    assert sorted(map(sorted, link_runs([one, next_to_it, beside], 0.25))) == [[0, 1], [2]]


def test_crossing_segments_are_two_runs():
    """Different directions do not continue one another."""
    one, across = Ridge((1.0, 1.0), 0.0, 2.0, 0.1), Ridge((1.0, 1.0), 1.5, 2.0, 0.1)
    assert len(link_runs([one, across], 0.25)) == 2


def test_no_segments_make_no_runs():
    """Empty in, empty out."""
    assert link_runs([], 0.25) == []
    assert link_bends([], 0.25) == []


def test_a_merged_run_spans_its_segments():
    """From the far end of one to the far end of the other."""
    parts = [Ridge((1.0, 1.0), 0.0, 1.0, 0.1), Ridge((3.0, 1.0), np.pi, 1.0, 0.2)]
    run = merged(parts, np.array([5.0, 4.0]))
    assert run.length == pytest.approx(3.0)
    assert run.centre == pytest.approx((2.0, 1.0))
    assert turn_between(run.angle, 0.0) == pytest.approx(0.0, abs=1e-6)
    assert run.width == 0.1


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
