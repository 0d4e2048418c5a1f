"""What earlier floors lead to expect of a covariance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from moisturemap.errors import OptionError
from moisturemap.geostat import (
    Covariance,
    EarlierFloors,
    FitOptions,
    FloorPattern,
    fit_covariance,
    simulate,
)

USUAL = (0.5, 1.0)


def told(ranges: list[float], noise: float = 2.0, direction: float = 0.1) -> EarlierFloors:
    """Floors of these practical ranges [m]."""
    found = EarlierFloors.of([FloorPattern(one, 0.2, noise, 0.2, direction) for one in ranges])
    assert found is not None
    return found


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0.2, 30.0), min_size=1, max_size=40))
def test_it_is_a_density_and_its_share_below_agrees(ranges: list[float]) -> None:
    """It sums to 1 and its integral up to a value is the chance below it."""
    floors = told(ranges)

    def density(value: float) -> float:
        return float(np.exp(floors.log_density(value, floors.log_range, USUAL)))

    whole = quad(density, -60.0, 60.0, limit=400, points=[USUAL[0], floors.log_range.mean])[0]
    below = quad(density, -60.0, 1.0, limit=400, points=[USUAL[0], floors.log_range.mean])[0]
    assert whole == pytest.approx(1.0, abs=2e-3)
    assert floors.chance_below(1.0, floors.log_range, USUAL) == pytest.approx(below, abs=2e-3)


def test_a_further_floor_of_few_is_told_less_surely_than_of_many() -> None:
    """By hand, four floors at log 2 under mean 0.5, sd 1: BDA3 (2013), section 3.3, eq. 3.3."""
    four, many = told([2.0] * 4), told([2.0] * 400)
    middle = (0.5 + 4 * np.log(2.0)) / 5
    variance = (4 * 1.0 + 0.8 * (np.log(2.0) - 0.5) ** 2) / 8
    freedom, found, scale = four._further(four.log_range, USUAL)
    assert (freedom, found) == (8.0, pytest.approx(middle))
    assert scale == pytest.approx(np.sqrt(variance * 1.2))
    assert many._further(many.log_range, USUAL)[2] < 0.2 * scale
    assert four.trust < many.trust < 1.0


def test_a_floor_unlike_those_before_stays_possible() -> None:
    """However many earlier floors agree, a part of what is expected without them remains."""
    many = told([2.0] * 1000)
    far = float(many.log_density(np.log(20.0), many.log_range, USUAL))
    assert far > np.log(0.1) + float(norm.logpdf(np.log(20.0), *USUAL))


def test_no_floor_lends_nothing_and_nonsense_is_refused() -> None:
    """A range or chance that cannot be is refused by name."""
    assert EarlierFloors.of([]) is None
    with pytest.raises(OptionError, match="practical_range_m"):
        FloorPattern(-1.0, 0.1, 1.0, 0.1, 0.0)
    with pytest.raises(OptionError, match="chance_of_direction"):
        FloorPattern(1.0, 0.1, 1.0, 0.1, 1.5)


@pytest.mark.thorough
def test_few_readings_lean_on_earlier_floors_and_many_do_not() -> None:
    """The middle of the fitted range moves towards what was read before, less for more readings."""
    model, floors = Covariance("exponential", 25.0, 0.7, 2.0), told([1.8, 1.9, 2.0, 2.1, 2.2] * 4)
    off: dict[int, list[tuple[float, float]]] = {40: [], 250: []}
    for seed in range(4):
        rng = np.random.default_rng(seed)
        for count, found in off.items():
            points = rng.uniform(0.0, 8.0, (count, 2))
            values = 40.0 + simulate(points, model, 1, seed)[0] + rng.normal(0.0, 1.4, count)
            fits = (
                fit_covariance(points, values, options=FitOptions(earlier=one)).pattern()
                for one in (None, floors)
            )
            plain, lent = (np.log(one.practical_range_m / 2.0) for one in fits if one is not None)
            found.append((float(plain), float(lent)))
    few, many = (np.array(off[count]) for count in (40, 250))
    assert np.abs(few[:, 1]).mean() < 0.7 * np.abs(few[:, 0]).mean()
    assert np.abs(np.diff(many)).mean() < 0.5 * np.abs(np.diff(few)).mean()
