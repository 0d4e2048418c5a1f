"""How long a slab still dries: by its air, its readings, and what it fell before."""

from itertools import pairwise

import numpy as np
import pytest

from moisturemap.slab import (
    DepthReading,
    Fall,
    Interval,
    RoomAir,
    SlabSpec,
    estimate_profile,
    wait_for_limit,
)
from moisturemap.slab.wait import AIR_NEAR_PCT

SPEC = SlabSpec(150.0, 1, 304.0)


def _wait(rh: float, limit: float = 80.0, sd: float = 1.7, spec: SlabSpec = SPEC, **known):  # type: ignore[no-untyped-def]
    return wait_for_limit(estimate_profile([DepthReading(60, rh, sd)], spec), limit, **known)


def _ends(days: Interval) -> list[float]:
    return [days.low, days.value, days.high]


def test_damper_air_means_later() -> None:
    """Each end comes later; in the dampest air no end is seen."""
    found = [_ends(_wait(86.5, air=RoomAir(rh)).days) for rh in (30.0, 50.0, 65.0, 75.0)]
    for drier, damper in pairwise(found):
        assert all(a < b for a, b in zip(drier[:2], damper[:2], strict=True))
        assert drier[2] <= damper[2]
    assert np.isinf(found[-1][2])


@pytest.mark.parametrize("rh", [80.0 - AIR_NEAR_PCT, 85.0, 90.0])
def test_in_air_near_the_limit_no_day_is_named(rh: float) -> None:
    """No slab dries below the air it stands in."""
    wait = _wait(86.5, air=RoomAir(rh))
    assert "no slab dries below the air" in wait.sentence
    assert wait.why_none
    assert np.isinf(wait.days.low)


def test_the_air_is_said() -> None:
    """What was recorded, and where nothing was, what is assumed."""
    assert "(recorded near 50 %RH" in _wait(86.5, air=RoomAir(50.0)).sentence
    mean = _wait(86.5, air=RoomAir(50.0, days=3)).sentence
    assert "(recorded near 50 %RH at the temperature of the slab, the mean of 3 days)" in mean
    assert "no air is recorded, so 40 to 70 %RH is assumed" in _wait(86.5).sentence


def test_records_that_differ_widen_the_interval_and_cold_delays() -> None:
    """Air between 30 and 70 is less known than air at 50; at half the pace it takes twice."""
    sure, wide = (_wait(86.5, air=RoomAir(50.0, sd)).days for sd in (0.0, 15.0))
    assert wide.low < sure.low
    assert wide.high > sure.high
    cold = _wait(86.5, air=RoomAir(50.0, pace=0.5)).days
    assert cold.value == pytest.approx(2.0 * sure.value)


@pytest.mark.parametrize(
    ("days", "air"),
    [
        pytest.param(days, air, marks=() if day == kind else pytest.mark.thorough)
        for day, days in enumerate([30.0, 304.0, None])
        for kind, air in enumerate([None, RoomAir(50.0, 4.0), RoomAir(70.0)])
    ],
)
def test_a_wetter_reading_never_brings_an_end_forward(
    days: float | None, air: RoomAir | None
) -> None:
    """Whatever the age and the air; drawn candidates gave 38 days at 87.5 and 20 at 88."""
    spec = SlabSpec(150.0, 1, days)
    last = [0.0, 0.0, 0.0]
    for rh in np.arange(80.5, 97.0, 1.3):
        now = _ends(_wait(float(rh), sd=0.8, spec=spec, air=air).days)
        assert all(a <= b for a, b in zip(last, now, strict=True)), rh
        last = now


def test_it_begins_today_only_where_the_limit_may_be_met_today() -> None:
    """An interval of the sealed humidity that lies above the limit leaves no day 0."""
    for rh in np.arange(80.5, 92.0, 1.0):
        estimate = estimate_profile([DepthReading(60, float(rh), 3.0)], SPEC)
        low = wait_for_limit(estimate, 80.0, air=RoomAir(35.0)).days.low
        assert low > 0.0 or estimate.sealed.low <= 80.0


def test_a_slab_is_credited_with_no_faster_fall_than_seen() -> None:
    """Nothing in the middle without a fall; none at all where it rose; a fast fall credits none."""
    alone = _wait(86.5).days
    fast = _wait(86.5, falls=[Fall(5.5, 0.7, 28.0)]).days
    assert fast.value == pytest.approx(alone.value, rel=0.05)
    slow = _wait(86.5, falls=[Fall(0.5, 0.2, 28.0)]).days
    assert slow.value > 1.1 * alone.value
    assert np.isinf(_wait(86.5, falls=[Fall(-0.01, 0.7, 28.0)]).days.value)
    assert _wait(86.5, falls=[Fall(-3.0, 0.7, 28.0)]).why_none
