"""What comes next at a spot: the surface after covering, beside rules of thumb."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.covering import after_covering
from moisturemap.slab.diffusion import StepRule
from moisturemap.slab.library import library
from moisturemap.slab.plausibility import LOG_FACTOR_SD, off_profile
from moisturemap.slab.profile import ProfileEstimate

Array = NDArray[np.float64]

CURVE_DRAWS = 60

INCH_MM = 25.4
"""Of the rule of thumb by the inch [mm]."""

AFTER_DAYS = (1.0, 3.0, 7.0, 14.0, 30.0, 60.0, 90.0, 180.0, 365.0)
"""Days after covering at which the surface is worked out."""

COARSE = StepRule(1.0e-4, 0.25, 1.0e-5)

EQUIVALENT_DEPTH = {1: 0.40, 2: 0.20}
"""Depth over thickness at which a reading stands for the sealed humidity, by drying faces; ASTM
F2170 and NT BUILD 439, after work at Lund (seen through trade accounts)."""


@dataclass(frozen=True)
class SurfaceCurve:
    """Humidity at the top of a slab after it is covered.

    Attributes
    ----------
    days : ndarray, shape (k,)
        Since covering; the first is 0 (uncovered).
    value, low, high : ndarray, shape (k,)
        Median and interval [%RH].
    level : float
        Probability inside.
    """

    days: Array
    value: Array
    low: Array
    high: Array
    level: float


def surface_after_covering(
    estimate: ProfileEstimate, days: tuple[float, ...] = AFTER_DAYS
) -> SurfaceCurve:
    """Work out the humidity at the top of the slab in the weeks after it is covered.

    Parameters
    ----------
    estimate : ProfileEstimate
    days : tuple of float
        Days after covering [d].

    Returns
    -------
    SurfaceCurve
        Median and 90% interval [%RH].
    """
    known, few = library(), estimate.candidates.some(CURVE_DRAWS)
    rate = _rate(estimate, known.times[few.moment])
    h = known.h[few.history, few.moment]
    material = known.material.take(few.history)
    reach = rate * max(days)
    times = np.geomspace(1e-4, max(float(reach.max()), 1e-3), 40)
    path = after_covering(material, h, known.cells, times, few.absorption, steps=COARSE)[:, :, 0]
    rows = [
        np.interp(np.log(rate[i] * np.array(days)), np.log(times), path[i])
        for i in range(len(rate))
    ]
    table = 100.0 * np.column_stack([h[:, 0], np.array(rows)])
    level = estimate.sealed.level
    low, middle, high = np.quantile(table, (0.5 - level / 2, 0.5, 0.5 + level / 2), axis=0)
    return SurfaceCurve(np.r_[0.0, days], middle, low, high, level)


def _rate(estimate: ProfileEstimate, fo: Array) -> Array:
    """Fo per day of each candidate: from the age where known, else from D1 to a factor of two."""
    spec = estimate.spec
    if spec.drying_days:
        return np.asarray(fo / spec.drying_days)
    spread = np.random.default_rng(11).normal(0.0, LOG_FACTOR_SD, fo.size)
    return np.asarray(spec.diffusivity_mm2_day * np.exp(spread) / spec.drying_length_mm**2)


@dataclass(frozen=True, slots=True)
class DryingRule:
    """A rule of thumb for the whole drying time of a layer.

    Attributes
    ----------
    rule : str
        As the trade says it.
    days : (float, float) or None
        Least and most for the thickness asked [days]; None outside the range of the rule.
    source : str
    """

    rule: str
    days: tuple[float, float] | None
    source: str


def rules_of_thumb(thickness_mm: float) -> tuple[DryingRule, ...]:
    """Rules of thumb for drying from one face, beside the physics: they do not agree.

    They are linear in thickness where diffusion is quadratic; a check of order of magnitude only.

    Parameters
    ----------
    thickness_mm : float
        [mm]

    Returns
    -------
    tuple of DryingRule
        With the source of each [days].
    """
    thick = float(thickness_mm)
    by_day = thick if thick <= 75.0 else 75.0 + 2.0 * (thick - 75.0)
    return (
        DryingRule(
            "1 mm a day, up to 50 mm of screed; longer beyond",
            (thick, thick) if thick <= 50.0 else None,
            "UK screed guidance after BS 8204-1",
        ),
        DryingRule(
            "1 mm a day to 75 mm, then 0.5 mm a day to 100 mm",
            (by_day, by_day) if thick <= 100.0 else None,
            "UK trade guidance",
        ),
        DryingRule(
            f"28 to 30 days for each {INCH_MM} mm of concrete",
            (28.0 * thick / INCH_MM, 30.0 * thick / INCH_MM),
            "US trade guidance, called an approximation there",
        ),
    )


@dataclass(frozen=True, slots=True)
class EquivalentDepth:
    """Where a single reading would equal the sealed humidity.

    Attributes
    ----------
    rule_mm : float
        By the rule, 40 or 20% of the thickness [mm].
    actual_mm : float
        Where the profile passes the sealed humidity now [mm].
    reading_minus_sealed : float
        What a reading at the rule's depth would show above the sealed humidity [%RH].
    sentence : str
        Says when the rule misleads.
    """

    rule_mm: float
    actual_mm: float
    reading_minus_sealed: float
    sentence: str


def equivalent_depth(estimate: ProfileEstimate) -> EquivalentDepth:
    """Compare the rule's depth with where the profile passes the sealed humidity.

    Parameters
    ----------
    estimate : ProfileEstimate

    Returns
    -------
    EquivalentDepth
        [mm]
    """
    spec = estimate.spec
    rule = EQUIVALENT_DEPTH[spec.drying_faces] * spec.thickness_mm
    half = estimate.depth_mm <= spec.drying_length_mm
    depth, profile = estimate.depth_mm[half], np.maximum.accumulate(estimate.profile[half])
    actual = float(np.interp(estimate.sealed.value, profile, depth))
    excess = float(np.interp(rule, depth, profile)) - estimate.sealed.value
    sentence = (
        f"By the fitted profile the humidity at {rule:.0f} mm differs from the sealed humidity by"
        f" {abs(excess):.1f} %RH here; the uncertainty of a reading there comes on top."
    )
    astray = off_profile(estimate.readings, estimate.depth_mm, estimate.profile)
    if astray:
        sentence = (
            "The readings do not lie on one profile of a drying slab, so none of them by itself"
            " stands for the sealed humidity."
        )
    elif excess < -1.0:
        sentence = (
            f"A reading at {rule:.0f} mm would show {-excess:.1f} %RH less than the covering will"
            f" face: the slab is early in its drying or takes water up unwillingly; the depth that"
            f" stands for the sealed humidity is {actual:.0f} mm here."
        )
    elif excess > 1.0:
        sentence = (
            f"A reading at {rule:.0f} mm would show {excess:.1f} %RH more than the covering will"
            f" face: the rule is on the careful side here; the depth that stands for the sealed"
            f" humidity is {actual:.0f} mm."
        )
    return EquivalentDepth(rule, actual, excess, sentence)
