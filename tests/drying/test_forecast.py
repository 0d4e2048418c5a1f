"""Forecasts: intervals, open ends, and what the last one was wrong about."""

from __future__ import annotations

import math

import numpy as np
import pytest

from moisturemap.bundles import VisitComparison
from moisturemap.drying import DryingOptions, DryLevel, ZoneCourse, blend_decays, fit_decay
from moisturemap.drying.forecast import forecast_floor, forecast_zone, look_back
from moisturemap.errors import NotEnoughData

DRY = DryLevel(30.0, 2.0, "as supplied")


def _course(levels: list[float], sd: float = 1.0) -> ZoneCourse:
    days = 7.0 * np.arange(len(levels))
    return ZoneCourse("A", days, np.array(levels), np.full(len(levels), sd))


@pytest.mark.slow
def test_intervals_hold_the_true_day_about_nine_times_in_ten() -> None:
    """Over many noisy falls with an uncertain asymptote."""
    rng = np.random.default_rng(8)
    inside = 0
    for _ in range(200):
        half_life, asymptote = rng.uniform(25, 60), rng.normal(30, 2)
        days = 7.0 * np.arange(4)
        level = asymptote + 35 * 0.5 ** (days / half_life) + rng.normal(0, 1.0, 4)
        true = half_life * math.log2(35 / (42 - asymptote)) - days[-1]
        span = blend_decays(days, level, np.ones(4), (30.0, 2.0)).interval(42.0, days[-1], 0.9)
        inside += span.low <= true <= span.high
    assert 0.84 <= inside / 200 <= 0.96


def test_a_zone_that_does_not_fall_has_no_upper_bound() -> None:
    """And the sentence says so."""
    found = forecast_zone(_course([60, 60.5, 59.8, 60.2]), 45.0, DRY, DryingOptions())
    assert math.isinf(found.high)
    assert "no upper bound" in found.sentence or "no bound" in found.sentence


def test_a_target_below_the_dry_level_is_never_met() -> None:
    """Drier air is needed first."""
    found = forecast_zone(_course([60, 50, 43]), 25.0, DRY, DryingOptions())
    assert "drier air" in found.sentence


def test_the_last_forecast_is_compared_with_what_was_read() -> None:
    """A zone that stopped drying is slower than forecast."""
    said = look_back(_course([60.0, 52.0, 46.0, 46.0]), 40.0, DRY, DryingOptions())
    assert "slower than forecast" in said


def test_two_visits_give_no_look_back() -> None:
    """There was no forecast before."""
    assert look_back(_course([60.0, 52.0]), 40.0, DRY, DryingOptions()) == ""


def test_the_last_zone_sets_the_floor() -> None:
    """And the floor has no forecast while a zone has none."""
    fast = forecast_zone(_course([60, 50, 43]), 40.0, DRY, DryingOptions())
    slow = forecast_zone(_course([60, 57, 54]), 40.0, DRY, DryingOptions())
    floor = forecast_floor([fast, slow], DryingOptions())
    assert floor is not None
    assert floor.days == slow.days


def test_one_time_is_too_few() -> None:
    """A rate needs two times."""
    with pytest.raises(NotEnoughData, match="two different times"):
        fit_decay([3.0, 3.0], [50.0, 51.0], [1.0, 1.0], 30.0)


def test_forecasts_say_they_are_relative(mixed: VisitComparison) -> None:
    """A relative reading says nothing of depth, and no forecast calls a floor dry."""
    said = " ".join((*mixed.drying.statements, *mixed.notes))
    assert "not of moisture at depth" in said or "relative reading only" in said
    assert all(one.basis == "relative" for one in mixed.drying.forecasts)
