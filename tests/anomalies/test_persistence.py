"""What visits tell about anomalies."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies.visits import change_ratio


def test_a_pipe_persists_while_the_floor_dries(searched):
    """Unchanged strength over a month."""
    _, found = searched(seed=3, pipes=1, plumes=("burst",), visits=3, half_life_days=14.0)
    line = found.table[found.table["kind"] == "line"].iloc[0]
    assert line.persistence == "persists"
    assert "active leak" in line.sentence


def test_one_visit_tells_nothing(searched):
    """No claim without an earlier visit."""
    _, found = searched(pipes=1)
    assert (found.table["persistence"] == "").all()


@pytest.mark.parametrize(
    ("change", "expected"), [(0.0, 18.0), (-3.0, 3.95), (-6.0, 0.37), (-9.0, 0.015)]
)
def test_the_likelihood_ratio_weighs_no_change_against_drying(change, expected):
    """Normal densities worked by hand: N(0, 2.83) against N(-12, sqrt(4.8^2 + 2.83^2))."""
    ratio = change_ratio(change, 2.83, 12.0)
    by_hand = (
        np.exp(-0.5 * (change / 2.83) ** 2)
        / 2.83
        / (np.exp(-0.5 * ((change + 12) / np.hypot(4.8, 2.83)) ** 2) / np.hypot(4.8, 2.83))
    )
    assert ratio == pytest.approx(by_hand)
    assert ratio == pytest.approx(expected, rel=0.25)
