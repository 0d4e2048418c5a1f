"""When each wet zone, and the floor, would meet the target. See ``docs/method/drying.md``."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.air_history import AirHistory
from moisturemap.drying.courses import KnownSlab, draw_courses
from moisturemap.drying.depth_evidence import DepthTest, depth_prior
from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.forecast_ends import ForecastEnds, find_ends, not_sooner
from moisturemap.drying.forecast_words import (
    TimeWords,
    floor_sentence,
    look_back_sentence,
    zone_sentence,
)
from moisturemap.drying.mixture import KEPT_AFTER, CourseMixture, weigh_courses
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.plateau import stops_above
from moisturemap.drying.slow_depth import slow_depth_open
from moisturemap.drying.stop import FIRST, NO_STOP, Stop
from moisturemap.drying.zone_course import ZoneCourse

Array = NDArray[np.float64]

ROSE_SDS = 2.0
"""A latest visit this much higher than the one before gets no day [sd of the difference]; our
choice, one course in 40 that stands still."""


@dataclass(frozen=True)
class ForecastBasis:
    """What a forecast rests on besides the readings.

    Attributes
    ----------
    slab : KnownSlab
    air : AirHistory
    tests : tuple of DepthTest
        In or beside the zone.
    rising : bool
        True where the zone is shown to have taken up water: then no latest day is given.
    latest : datetime or None
        Start of the latest visit, to name days.
    rewetted : tuple of str, optional
        Ids of two visits between which the zone is shown to have taken up water: then no latest day
        is given either.
    zero_doubted : bool
        The whole floor reads lower on the latest visit: no latest day, whatever the courses say.
    stop : Stop
        What the records of the latest visit say against a latest day.
    """

    slab: KnownSlab = field(default_factory=KnownSlab)
    air: AirHistory = field(default_factory=AirHistory)
    tests: tuple[DepthTest, ...] = ()
    rising: bool = False
    latest: datetime | None = None
    rewetted: tuple[str, str] | None = None
    zero_doubted: bool = False
    stop: Stop = NO_STOP


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
        Even chance and ends of the interval, from the latest visit [days]. ``high`` is inf where no
        latest day is given, and ``days`` then NaN: ``low`` is a one-sided bound, "not before".
        All NaN without forecast.
    sentence : str
    kept_wet : float
        Chance that something keeps the zone wet; NaN on a calibrated basis.
    why_open : str
        Why no latest day is given: ``""``, ``"rising"``, ``"rewetted"``, ``"zero"``,
        ``"kept-wet"``, ``"far"``, ``"asymptote"``, ``"air"``, ``"noted"``,
        ``"depth"`` or ``"machines"``.
    look_back : str
        What the forecast made before the latest visit was wrong about, "" when there was none.
    course : ZoneCourse or None
    mixture : CourseMixture or None
        The weighed courses, for drawing.
    """

    zone: str
    target: float
    basis: str
    days: float
    low: float
    high: float
    sentence: str
    kept_wet: float = math.nan
    why_open: str = ""
    look_back: str = ""
    course: ZoneCourse | None = None
    mixture: CourseMixture | None = field(default=None, repr=False)


def weigh(course: ZoneCourse, dry: DryLevel, basis: ForecastBasis) -> CourseMixture:
    """Weigh the courses a zone may take by its visits, tests and air.

    Parameters
    ----------
    course : ZoneCourse
    dry : DryLevel
    basis : ForecastBasis

    Returns
    -------
    CourseMixture
    """
    courses = draw_courses(basis.slab)
    prior = depth_prior(basis.tests, courses, basis.air)
    return weigh_courses(course, courses, dry, basis.air, prior)


def forecast_zone(
    course: ZoneCourse,
    target: float,
    dry: DryLevel,
    options: DryingOptions,
    basis: ForecastBasis | None = None,
) -> Forecast:
    """Forecast when a zone meets the target, and say how the last forecast did.

    Parameters
    ----------
    course : ZoneCourse
        At least two different days.
    target : float
        The wet level [reading units].
    dry : DryLevel
    options : DryingOptions
    basis : ForecastBasis, optional

    Returns
    -------
    Forecast
        All days NaN where there are no visits on two different days.
    """
    basis = basis or ForecastBasis()
    basis = replace(basis, rising=basis.rising or _rose_last(course))
    if np.unique(course.days).size < 2:
        said = f"Zone {course.zone}: no forecast, visits on two different days are needed."
        nan = math.nan
        return Forecast(course.zone, target, "relative", nan, nan, nan, said, course=course)
    mixture = weigh(course, dry, basis)
    ends = _ends(course, target, dry, mixture, options, basis.slab)
    if course.level[-1] > course.level[-2]:
        kept_level = replace(course, level=np.append(course.level[:-1], course.level[-2]))
        kept = weigh(kept_level, dry, basis)
        ends = not_sooner(ends, _ends(kept_level, target, dry, kept, options, basis.slab))
    if opened := _opened(basis):
        ends = replace(ends, high=math.inf, why_open=opened)
    if basis.stop.why and ((basis.stop.first and not opened) or not ends.why_open):
        ends = replace(ends, high=math.inf, why_open=basis.stop.why)
    wet = mixture.kept_wet
    if basis.rising:
        # a rise is shown against a false discovery rate: so sure is it that water came
        wet = max(wet, 1.0 - options.discovery)
    elif basis.stop.water or (basis.rewetted and not mixture.was_rewetted):
        # a note, or the map, tells of water that the mean of the wettest tenth does not show
        wet = max(wet, KEPT_AFTER)
    mixture = replace(mixture, kept_wet=wet)
    return Forecast(
        course.zone,
        target,
        "relative",
        math.nan if ends.why_open else ends.days,
        ends.low,
        ends.high,
        zone_sentence(
            course,
            target,
            dry,
            mixture,
            ends,
            TimeWords(options, basis.latest, basis.rewetted, basis.stop),
        ),
        wet,
        ends.why_open,
        look_back(course, target, dry, options, basis),
        course,
        mixture,
    )


def _rose_last(course: ZoneCourse) -> bool:
    """Tell whether the latest visit reads higher than the one before by more than its noise."""
    if course.level.size < 2:
        return False
    noise = math.hypot(float(course.sd[-1]), float(course.sd[-2]))
    return float(course.level[-1] - course.level[-2]) > ROSE_SDS * noise


def _opened(basis: ForecastBasis) -> str:
    """Return why there is no latest day whatever the courses say, "" where they decide."""
    if basis.rising:
        return "rising"
    if basis.rewetted:
        return "rewetted"
    return "zero" if basis.zero_doubted else ""


def _ends(
    course: ZoneCourse,
    target: float,
    dry: DryLevel,
    mixture: CourseMixture,
    options: DryingOptions,
    slab: KnownSlab,
) -> ForecastEnds:
    """Work out the ends by the courses and by the fall of the visits itself."""
    ends = find_ends(mixture, target, float(course.days[-1]), options.interval)
    if ends.why_open:
        return ends
    if stops_above(course, target):
        return replace(ends, high=math.inf, why_open="kept-wet")
    if slow_depth_open(course, target, dry, slab, ends.high):
        return replace(ends, high=math.inf, why_open="far")
    return ends


def look_back(
    course: ZoneCourse,
    target: float,
    dry: DryLevel,
    options: DryingOptions,
    basis: ForecastBasis | None = None,
) -> str:
    """Say what the forecast made before the latest visit expected of it, and what was read.

    The air is taken as it was in the end: what is looked back at is the model, not the weather.

    Parameters
    ----------
    course : ZoneCourse
    target : float
        The wet level [reading units].
    dry : DryLevel
    options : DryingOptions
    basis : ForecastBasis, optional

    Returns
    -------
    str
        "" without an earlier forecast.
    """
    basis = basis or ForecastBasis()
    if np.unique(course.days[:-1]).size < 2:
        return ""
    earlier = ZoneCourse(course.zone, course.days[:-1], course.level[:-1], course.sd[:-1])
    mixture = weigh(earlier, dry, basis)
    mean, sd = mixture.level(course.days[-1:])
    ends = _ends(earlier, target, dry, mixture, options, basis.slab)
    return look_back_sentence(course, (float(mean[0]), float(sd[0])), ends, TimeWords(options))


def forecast_floor(
    zones: Sequence[Forecast],
    options: DryingOptions,
    latest: datetime | None = None,
    rose: str = "",
) -> Forecast | None:
    """Forecast for the floor: the last zone to meet the target sets it.

    None while a zone has no forecast. A floor is kept wet where any of its zones is.

    Parameters
    ----------
    zones : sequence of Forecast
    options : DryingOptions
    latest : datetime, optional
        Start of the latest visit, to name days.
    rose : str, optional
        Where floor outside these zones rose: what water does there nobody knows yet.

    Returns
    -------
    Forecast or None
    """
    if not zones or any(math.isnan(one.low) for one in zones):
        return None
    low, high = max(one.low for one in zones), max(one.high for one in zones)
    days = max(one.days if math.isfinite(one.high) else math.inf for one in zones)
    last = max(zones, key=lambda one: (one.high, one.low))
    kept = 1.0 - math.prod(1.0 - one.kept_wet for one in zones)
    open_ = {one.why_open for one in zones}
    why = next(
        (one for one in ("rising", "rewetted", "zero", *FIRST) if one in open_),
        last.why_open,
    )
    if rose:
        why, days, high, kept = "rising", math.inf, math.inf, max(kept, 1.0 - options.discovery)
    ends = ForecastEnds(days, low, high, why)
    return Forecast(
        "floor",
        zones[0].target,
        "relative",
        math.nan if math.isinf(high) else days,
        low,
        high,
        floor_sentence(last.zone, ends, kept, TimeWords(options, latest), rose),
        kept,
        why,
    )
