"""Whether a spot is what its age and a drying slab let expect."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf

from moisturemap.slab.diffusivity import humidity_per_degree
from moisturemap.slab.reading import DepthReading
from moisturemap.slab.scope import SlabSpec

Array = NDArray[np.float64]

LOG_FACTOR_SD = float(np.log(2.0) / np.sqrt(3.0))
"""sd of the logarithm of a quantity right to a factor of two: that of an even spread over the
factor, held as a normal distribution so that nothing is excluded outright."""

AGE_MISFIT = 2.0
"""Distance from the expected state of drying that is said [sd of ln Fo]."""

FASTEST_DIFFUSIVITY = 65.0
"""D1 of ordinary concrete times the factor that is said to be off its age [mm2/day]."""
SELF_DRIED, DRIEST_AIR = 85.0, 30.0
"""Humidity of concrete that water of hydration alone leaves after days to weeks at a low
water-cement ratio (down to 10 %RH below 95 to 98, common practice), and of dry heated air [%RH];
project choice."""


def expected_time(spec: SlabSpec, days: float, times: Array) -> float:
    """Fo that the age of a slab [days] lets expect, kept within the times of the library."""
    expected = spec.diffusivity_mm2_day * max(days, 1.0) / spec.drying_length_mm**2
    return float(np.clip(expected, times[0], times[-1]))


def off_age(spec: SlabSpec, drawn: Array, times: Array) -> tuple[str, ...]:
    """Say when a slab is much wetter or drier than its age lets expect.

    Parameters
    ----------
    spec : SlabSpec
    drawn : ndarray, shape (draws,)
        Fo of the candidates that explain the readings.
    times : ndarray
        Times of the library [Fo].
    """
    if spec.drying_days is None:
        return ()
    expected = expected_time(spec, spec.drying_days, times)
    off = float(np.log(drawn / expected).mean()) / LOG_FACTOR_SD
    age = f"{spec.drying_days:.0f} days since it was placed"
    if off < -AGE_MISFIT:
        return (
            f"the slab is wetter than {age} let expect: drying began late, the surface is tight, or"
            " water comes from somewhere",
        )
    if off > AGE_MISFIT:
        return (f"the slab is drier than {age} let expect: check its age, thickness and faces",)
    return ()


def driest_at_age(depth_mm: float, days: float) -> float:
    """Return the lowest humidity that a concrete slab can have at a depth and age [%RH].

    Half-space that dries to its surface (Crank 1975, eq. 3.13), linear, with more than the
    diffusivity of saturated concrete right through, from the humidity that concrete of a low
    water-cement ratio dries itself to: three bounds on the dry side, so that no real slab is called
    too dry.

    Parameters
    ----------
    depth_mm : float
        Below the top face [mm].
    days : float
        Since placing.
    """
    reach = 2.0 * np.sqrt(FASTEST_DIFFUSIVITY * days)
    return DRIEST_AIR + (SELF_DRIED - DRIEST_AIR) * float(erf(depth_mm / reach))


def off_profile(readings: Sequence[DepthReading], depth: Array, profile: Array) -> tuple[str, ...]:
    """Name readings farther from the profile than their expanded uncertainty."""
    remarks = []
    for reading in readings:
        off = reading.rh_pct - float(np.interp(reading.depth_mm, depth, profile))
        if abs(off) > 2.0 * reading.sd_pct:
            side = "above" if off > 0 else "below"
            remarks.append(
                f"{reading.rh_pct:.1f} %RH at {reading.depth_mm:g} mm lies {abs(off):.1f} %RH"
                f" {side} the profile of a drying slab that fits best: read that hole again"
            )
    return tuple(remarks)


def warmer(sealed_pct: Array) -> str:
    """Say what a warmer floor would do to the sealed humidity [%RH]."""
    rise = 100.0 * humidity_per_degree(float(np.median(sealed_pct)) / 100.0)
    return (
        "the floor stays at the temperature of the test; each 1 K warmer in use, as over floor"
        f" heating or in the sun, raises the sealed humidity by some {rise:.1f} %RH"
    )
