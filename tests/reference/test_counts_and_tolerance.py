"""Counts of holes and what passing holes show, against published tables.

Sources are named beside each value. Counting rules are known from secondary sources, so that the
tests fix what the rule says, not that the current edition still says it.
"""

from __future__ import annotations

import pytest

from moisturemap.drilling import (
    COUNT_RULES,
    fraction_believed,
    fraction_shown,
    holes_needed,
    k_factor,
)
from moisturemap.zones import tolerance_factor


@pytest.mark.parametrize(
    ("area", "count"), [(20, 3), (100, 3), (101, 4), (200, 4), (250, 5), (1000, 12)]
)
def test_astm_f2170_counts_three_and_one_more_for_each_further_100_m2(area, count):
    """ASTM F2170, 10.1, as quoted by trade guides (secondary source)."""
    assert COUNT_RULES["f2170-m2"].count(area) == count


@pytest.mark.parametrize(("square_feet", "count"), [(1000, 3), (1001, 4), (2000, 4), (10_000, 12)])
def test_the_square_foot_rule_counts_in_square_feet(square_feet, count):
    """1000 ft2 is 92.90 m2, not 100 (international foot)."""
    assert COUNT_RULES["f2170-ft2"].count(square_feet * 0.3048**2) == count


def test_the_two_units_disagree_between_93_and_100_m2():
    """The unit trap: 95 m2 is 3 by the metre, 4 by the foot."""
    assert COUNT_RULES["f2170-m2"].count(95.0) == 3
    assert COUNT_RULES["f2170-ft2"].count(95.0) == 4


@pytest.mark.parametrize(
    ("holes", "shown"),
    [(3, 0.3684), (5, 0.5493), (10, 0.7411), (20, 0.8609), (29, 0.9019), (59, 0.9505)],
)
def test_n_passing_holes_show_wilks_share(holes, shown):
    """0.05^(1/n): Wilks (1941), Annals of Mathematical Statistics 12, 91-96."""
    assert fraction_shown(holes) == pytest.approx(shown, abs=5e-5)


@pytest.mark.parametrize(("holes", "believed"), [(3, 0.4729), (10, 0.7616), (58, 0.9505)])
def test_a_uniform_prior_counts_as_one_more_hole(holes, believed):
    """0.05^(1/(n + 1)): beta posterior, textbook result."""
    assert fraction_believed(holes) == pytest.approx(believed, abs=5e-5)


@pytest.mark.parametrize(
    ("confidence", "coverage", "count"),
    [(0.95, 0.95, 59), (0.90, 0.95, 45), (0.95, 0.90, 29), (0.90, 0.90, 22), (0.95, 0.99, 299)],
)
def test_holes_needed_without_failure_match_the_nonparametric_table(confidence, coverage, count):
    """Hahn and Meeker (1991), Statistical Intervals; ISO 16269-6."""
    assert holes_needed(confidence, coverage) == count


@pytest.mark.parametrize(("failures", "count"), [(0, 59), (1, 93), (2, 124)])
def test_holes_needed_with_failures_match_the_nonparametric_table(failures, count):
    """95/95 with 0, 1, 2 failures: 59, 93, 124 (same tables)."""
    assert holes_needed(0.95, 0.95, failures) == count
    assert fraction_shown(count, 0.95, failures) >= 0.95
    assert fraction_shown(count - 1, 0.95, failures) < 0.95


@pytest.mark.parametrize(
    ("holes", "ninety", "ninety_five"),
    [
        (3, 6.155, 7.656),
        (4, 4.162, 5.144),
        (5, 3.407, 4.203),
        (6, 3.006, 3.708),
        (8, 2.582, 3.187),
        (10, 2.355, 2.911),
    ],
)
def test_the_normal_k_table_at_95_percent_confidence(holes, ninety, ninety_five):
    """One-sided k for 90 and 95% coverage: Owen (1968), Technometrics 10; ISO 16269-6 table.

    The printed tables differ by up to 0.002 in the third decimal.
    """
    assert k_factor(holes, 0.90, 0.95) == pytest.approx(ninety, abs=2e-3)
    assert k_factor(holes, 0.95, 0.95) == pytest.approx(ninety_five, abs=2e-3)
    assert tolerance_factor(holes, 0.95, 0.95) == pytest.approx(ninety_five, abs=2e-3)
