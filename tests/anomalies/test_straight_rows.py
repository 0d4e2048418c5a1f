"""Single high readings in one straight row: holes keep clear of the line through them."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies import rises
from moisturemap.anomalies.straight_rows import courses_of_rows


def _nearest(courses: np.ndarray, place: tuple[float, float]) -> float:
    return float(np.hypot(*(courses - place).T).min()) if len(courses) else np.inf


def test_three_in_a_row_are_kept_clear_of_as_a_line() -> None:
    """And 1.5 spacings beyond each end: holes stood 0.2 m beside the pipe and on along it."""
    row = np.array([[2.25, 0.25], [2.25, 0.75], [2.25, 1.25]])
    courses = courses_of_rows(row, 0.5, 0.08)
    for y in (-0.5, 0.5, 1.0, 1.75, 2.0):
        assert _nearest(courses, (2.25, y)) <= 0.06
    assert _nearest(courses, (2.25, 2.45)) > 0.3
    assert _nearest(courses, (2.75, 0.75)) == pytest.approx(0.5, abs=0.01)


def test_a_row_may_run_askew() -> None:
    """Across the diagonal of the grid, and 0.1 m off the line."""
    row = np.array([[1.0, 1.0], [1.5, 1.5], [2.05, 1.95]])
    assert _nearest(courses_of_rows(row, 0.5, 0.08), (2.4, 2.4)) < 0.15


@pytest.mark.parametrize(
    "places",
    [
        [],
        [[1.0, 1.0], [1.5, 1.0]],
        [[1.0, 1.0], [1.5, 1.0], [1.5, 1.5]],
        [[1.0, 1.0], [1.5, 1.0], [3.0, 1.0]],
    ],
)
def test_two_or_a_corner_or_a_gap_are_no_row(places: list[list[float]]) -> None:
    """Wet floor may lift two readings, or three about a corner."""
    assert not len(courses_of_rows(np.array(places).reshape(-1, 2), 0.5, 0.08))


def test_rows_count_as_peaks() -> None:
    """Beside those of sweeps, which holes keep clear of even in wet floor."""
    some = np.zeros((3, 2))
    known = rises.Rises(some, some, some, 1.0, 1.0, 0.12, np.zeros(3), np.ones((2, 2)))
    row = np.array([[2.25, 0.25], [2.25, 0.75], [2.25, 1.25]])
    found = known.with_rows(row, 0.5).peaks
    assert len(found) == 2 + len(courses_of_rows(row, 0.5, 0.12))
