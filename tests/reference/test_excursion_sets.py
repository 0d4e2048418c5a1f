"""Excursion sets against values computed from the published definitions.

Bolin, D. and Lindgren, F. (2015), Journal of the Royal Statistical Society B 77(1), 85-106: sets
ordered by pointwise probability, joint probability of a Gaussian vector. The example values were
computed for this project from that definition (numpy, 1e6 draws, +-0.002); the orthant values are
closed forms (Sheppard, W. F. (1899); Stuart and Ord, Kendall's Advanced Theory of Statistics).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from moisturemap.zones import excursion_function, joint_threshold

PLACES = np.arange(0.0, 10.01, 0.5)
MEAN = 80.0 + 8.0 * np.exp(-(((PLACES - 5.0) / 2.0) ** 2))
COVARIANCE = 9.0 * np.exp(-np.abs(PLACES[:, None] - PLACES[None, :]) / 3.0)
LEVEL = 82.0


@pytest.fixture(scope="module")
def draws() -> np.ndarray:
    """Joint draws of the example."""
    rng = np.random.default_rng(7)
    return MEAN + rng.standard_normal((200_000, PLACES.size)) @ np.linalg.cholesky(COVARIANCE).T


def probability() -> np.ndarray:
    """Pointwise probability of lying above the level."""
    return ndtr((MEAN - LEVEL) / 3.0)


@pytest.mark.parametrize(("at_least", "count"), [(0.5, 9), (0.9, 5), (0.95, 3)])
def test_pointwise_sets_have_the_computed_sizes(at_least, count):
    """p(5) = 0.97725; 9, 5 and 3 nodes."""
    assert probability().max() == pytest.approx(0.97725, abs=1e-5)
    assert (probability() > at_least).sum() == count


def test_joint_probabilities_are_the_cumulative_ones(draws):
    """0.9773, 0.9419, 0.8555: after 1, 3 and 5 nodes, ties entering together."""
    function = np.sort(excursion_function(draws, LEVEL, probability()))[::-1]
    assert function[0] == pytest.approx(0.9773, abs=0.003)
    assert function[1:3] == pytest.approx(0.9419, abs=0.003)
    assert function[3:5] == pytest.approx(0.8555, abs=0.003)


@pytest.mark.parametrize(("alpha", "ends"), [(0.2, (4.0, 6.0)), (0.1, (4.5, 5.5))])
def test_simultaneous_sets_are_the_computed_intervals(draws, alpha, ends):
    """[4, 6] at 80%, [4.5, 5.5] at 90%."""
    inside = excursion_function(draws, LEVEL, probability()) >= 1.0 - alpha
    assert (PLACES[inside].min(), PLACES[inside].max()) == ends


def test_pointwise_ninety_percent_is_not_a_ninety_percent_set(draws):
    """The pointwise set holds jointly with less than its pointwise probability."""
    inside = probability() > 0.9
    assert np.all(draws[:, inside] > LEVEL, axis=1).mean() < 0.87


@pytest.mark.parametrize("count", [1, 2, 3, 5, 8])
def test_an_equicorrelated_half_orthant_has_probability_one_over_n_plus_one(count):
    """At rho = 0.5, level 0: 1/(n + 1)."""
    rng = np.random.default_rng(count)
    shared = rng.standard_normal((200_000, 1))
    draws = np.sqrt(0.5) * (shared + rng.standard_normal((200_000, count)))
    function = excursion_function(draws, 0.0, np.full(count, 0.5))
    assert function == pytest.approx(1.0 / (count + 1), abs=0.004)


def test_two_correlated_normals_are_both_positive_as_sheppard_says():
    """At rho = 0.8: 1/4 + asin(rho)/(2 pi) = 0.397584."""
    rng = np.random.default_rng(2)
    one = rng.standard_normal(400_000)
    other = 0.8 * one + 0.6 * rng.standard_normal(400_000)
    function = excursion_function(np.column_stack([one, other]), 0.0, np.full(2, 0.5))
    assert function == pytest.approx(0.397584, abs=0.003)


def test_the_dry_set_mirrors_the_wet_one(draws):
    """The set at or below a level is the set above it of the mirrored field."""
    below = excursion_function(draws, LEVEL, 1.0 - probability(), above=False)
    mirrored = excursion_function(-draws, -LEVEL, 1.0 - probability())
    assert np.array_equal(below, mirrored)


def test_the_threshold_is_the_lowest_probability_inside(draws):
    """And infinity when nothing is inside."""
    function = excursion_function(draws, LEVEL, probability())
    lowest = joint_threshold(function, probability(), 0.9)
    assert lowest == pytest.approx(probability()[PLACES == 4.5][0])
    assert joint_threshold(function, probability(), 0.999) == float("inf")
