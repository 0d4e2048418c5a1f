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
    """Name readings farther from the profile than their expanded uncertainty, each side at once."""
    off = [one.rh_pct - float(np.interp(one.depth_mm, depth, profile)) for one in readings]
    astray = [
        (one, by) for one, by in zip(readings, off, strict=True) if abs(by) > 2.0 * one.sd_pct
    ]
    sides = {"above": [x for x in astray if x[1] > 0], "below": [x for x in astray if x[1] <= 0]}
    return tuple(_astray(side, found) for side, found in sides.items() if found)


def _astray(side: str, found: Sequence[tuple[DepthReading, float]]) -> str:
    fits = "the profile of a drying slab that fits best"
    if len(found) == 1:
        one, by = found[0]
        return (
            f"{one.rh_pct:.1f} %RH at {one.depth_mm:g} mm lies {abs(by):.1f} %RH {side} {fits}:"
            " read that hole again"
        )
    away = [abs(by) for _, by in found]
    depths = ", ".join(f"{one.depth_mm:g} mm" for one, _ in found)
    return (
        f"{len(found)} readings lie {min(away):.1f} to {max(away):.1f} %RH {side} {fits}, at"
        f" {depths}: read that hole again"
    )


def warmer(sealed_pct: Array) -> str:
    """Say what a warmer floor would do to the sealed humidity [%RH]."""
    rise = 100.0 * humidity_per_degree(float(np.median(sealed_pct)) / 100.0)
    return (
        "the floor stays at the temperature of the test; each 1 K warmer in use, as over floor"
        f" heating or in the sun, raises the sealed humidity by some {rise:.1f} %RH"
    )
