"""When each wet zone, and the floor, would meet the target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.change_map import ChangeMap
from moisturemap.drying.decay import DecayBlend, blend_decays
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries
from moisturemap.errors import NotEnoughData
from moisturemap.mapping import MoistureSurface

Array = NDArray[np.float64]

CORE_SHARE = 0.1
"""A zone has met the target when its wettest tenth has."""

CORE_CELLS = 4
MOST_AVERAGED = 200

RELATIVE_ONLY = (
    "This is a forecast of the relative reading near the surface, not of moisture at depth: deep "
    "moisture lags behind, and an exponential fall is optimistic late in drying."
)


@dataclass(frozen=True)
class DryLevel:
    """What floor dries to in this room's air.

    Attributes
    ----------
    value, sd : float
        [reading units]
    how : str
        Where it comes from, in words.
    """

    value: float
    sd: float
    how: str


@dataclass(frozen=True)
class ZoneCourse:
    """The readings of a zone's wettest part over the visits.

    Attributes
    ----------
    zone : str
    days, level, sd : ndarray, shape (visits,)
        Since the first visit [days]; mean reading of the core; its sd without what is the same on
        every visit.
    """

    zone: str
    days: Array
    level: Array
    sd: Array


@dataclass(frozen=True)
class Forecast:
    """When a zone would meet the target.

    Attributes
    ----------
    zone : str
        Name of the zone, or ``"floor"``.
    target : float
        [reading units], or [%RH] on a calibrated basis.
    basis : str
        ``"relative"`` or ``"calibrated"``.
    days, low, high : float
        From the latest visit [days]; ``inf`` where no such day can be named; NaN without forecast.
    half_life_days : float
        Of the excess over the dry level; inf where it does not fall.
    sentence : str
    look_back : str
        What the forecast made before the latest visit was wrong about, "" when there was none.
    course : ZoneCourse or None
    blend : DecayBlend or None
        The fitted fall, for drawing.
    """

    zone: str
    target: float
    basis: str
    days: float
    low: float
    high: float
    half_life_days: float
    sentence: str
    look_back: str = ""
    course: ZoneCourse | None = None
    blend: DecayBlend | None = field(default=None, repr=False)


def zone_course(
    zone: str,
    geometry: BaseGeometry,
    levels: Sequence[MoistureSurface],
    series: VisitSeries,
    change: ChangeMap,
) -> ZoneCourse | None:
    """Follow the wettest tenth of a zone over the visits; None where it is not mapped.

    The sd of a level is that of its change between visits, over the square root of two: what is the
    same on every visit, such as texture that was not read, has no part in it.
    """
    latest = levels[-1]
    core, domain = _core(geometry, latest)
    if core is None or domain not in change.fields:
        return None
    if any(domain not in surface.fields for surface in levels):
        return None
    level = np.array([surface.fields[domain].average(core)[0] for surface in levels])
    field_ = change.fields[domain]
    own = field_.average(core)[1]
    squares = float(field_.weights @ field_.weights)
    noise = math.sqrt(max(own**2 - field_.common_sd**2, 0.0) / squares)
    sd = np.hypot(noise, np.array([offset.sd for offset in series.offsets]))
    return ZoneCourse(zone, series.days, level, sd)


def _core(geometry: BaseGeometry, surface: MoistureSurface) -> tuple[Array | None, str]:
    """Wettest tenth of the cells of a zone, and its domain."""
    grid = surface.grid
    x, y = np.meshgrid(grid.x, grid.y)
    mean = surface.dataset["mean"].to_numpy()
    shapely.prepare(geometry)
    inside = shapely.contains_xy(geometry, x, y) & np.isfinite(mean)
    if not inside.any():
        return None, ""
    order = np.argsort(-mean[inside], kind="stable")
    count = min(max(CORE_CELLS, round(CORE_SHARE * order.size)), order.size)
    cells = np.column_stack([x[inside], y[inside]])[order[:count]]
    domain = surface.domains[int(grid.domain[inside][order[0]])].key
    return cells[np.linspace(0, count - 1, min(count, MOST_AVERAGED)).astype(int)], domain


def forecast_zone(
    course: ZoneCourse, target: float, dry: DryLevel, options: DryingOptions
) -> Forecast:
    """Forecast when a zone meets the target, and say how the last forecast did."""
    try:
        blend = blend_decays(course.days, course.level, course.sd, (dry.value, dry.sd))
    except NotEnoughData as error:
        return Forecast(
            course.zone,
            target,
            "relative",
            math.nan,
            math.nan,
            math.nan,
            math.inf,
            f"Zone {course.zone}: no forecast, {error}.",
            course=course,
        )
    today = float(course.days[-1])
    span = blend.interval(target, today, options.interval)
    sentence = _sentence(course, target, dry, (span.value, span.low, span.high), options)
    return Forecast(
        course.zone,
        target,
        "relative",
        span.value,
        span.low,
        span.high,
        blend.best.half_life_days,
        sentence,
        look_back(course, target, dry, options),
        course,
        blend,
    )


def look_back(course: ZoneCourse, target: float, dry: DryLevel, options: DryingOptions) -> str:
    """Say what the forecast made before the latest visit expected of it, and what was read."""
    if np.unique(course.days[:-1]).size < 2:
        return ""
    try:
        before = blend_decays(
            course.days[:-1], course.level[:-1], course.sd[:-1], (dry.value, dry.sd)
        )
    except NotEnoughData:
        return ""
    expected, sd = before.at(float(course.days[-1]))
    total = math.hypot(sd, float(course.sd[-1]))
    read = float(course.level[-1])
    z = 1.6448536269514722
    inside = abs(read - expected) <= z * total
    missed = "slower than forecast" if read > expected else "faster than forecast"
    pace = "as expected" if inside else missed
    span = before.interval(target, float(course.days[-2]), options.interval)
    return (
        f"The forecast of the visit before expected {expected:.1f} ({expected - z * total:.1f} to "
        f"{expected + z * total:.1f}) in zone {course.zone} today; {read:.1f} was read: {pace}. "
        f"From that visit on it gave: {_span(span.value, span.low, span.high, options)}."
    )


def forecast_floor(zones: Sequence[Forecast], options: DryingOptions) -> Forecast | None:
    """Forecast for the floor: the last zone to meet the target sets it."""
    known = [one for one in zones if not math.isnan(one.days)]
    if not known or len(known) < len(zones):
        return None
    days = max(one.days for one in known)
    low, high = max(one.low for one in known), max(one.high for one in known)
    last = max(known, key=lambda one: (one.days, one.low))
    sentence = (
        f"Whole floor: {_span(days, low, high, options)}; zone {last.zone} is the last "
        f"to meet it. {RELATIVE_ONLY}"
    )
    return Forecast(
        "floor", known[0].target, "relative", days, low, high, last.half_life_days, sentence
    )


def _sentence(
    course: ZoneCourse,
    target: float,
    dry: DryLevel,
    span: tuple[float, float, float],
    options: DryingOptions,
) -> str:
    if target <= dry.value:
        return (
            f"Zone {course.zone}: the target {target:.3g} is not above {dry.value:.3g}, what "
            f"floor dries to here ({dry.how}): drier air is needed, no day can be "
            "named."
        )
    if span[0] == 0.0:
        return f"Zone {course.zone}: its wettest tenth reads at or below {target:.3g} already."
    met = f"until its wettest tenth reads {target:.3g}"
    return (
        f"Zone {course.zone}, {met}: {_span(*span, options)} from the latest visit, if air and "
        "machines stay as they have been."
    )


def _span(days: float, low: float, high: float, options: DryingOptions) -> str:
    share = f"{options.interval:.0%} interval"
    end = "no upper bound" if math.isinf(high) else f"{_number(high, options)} days"
    if math.isinf(low):
        return f"no day can be named, the readings do not show that it dries ({share}: no bound)"
    if math.isinf(days):
        return (
            f"{_number(low, options)} days at the earliest and no upper bound: the readings do "
            "not show that it dries"
        )
    return f"{_number(days, options)} days ({share} {_number(low, options)} to {end})"


def _number(days: float, options: DryingOptions) -> str:
    if days > options.horizon_days:
        return f"more than {options.horizon_days:.0f}"
    return f"{days:.1f}" if days < 10 else f"{days:.0f}"
