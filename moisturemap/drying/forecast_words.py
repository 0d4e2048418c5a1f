"""Forecasts in words.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.forecast_ends import ForecastEnds
from moisturemap.drying.mixture import CourseMixture
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.stop import FIRST, NO_STOP, Stop
from moisturemap.drying.zone_course import ZoneCourse

RELATIVE_ONLY = (
    "This is a forecast of the relative reading near the surface, not of moisture at depth: deep "
    "moisture lags behind. Only calibrated tests tell when the floor may be covered."
)

Z90 = 1.6448536269514722


@dataclass(frozen=True, slots=True)
class TimeWords:
    """How days are said.

    Attributes
    ----------
    options : DryingOptions
        For the interval, and the horizon beyond which no number is given.
    latest : datetime or None
        Start of the latest visit, to name days of the calendar.
    rewetted : tuple of str, optional
        Ids of two visits between which the zone took up water.
    stop : Stop
        What the records of the latest visit say against a latest day.
    """

    options: DryingOptions
    latest: datetime | None = None
    rewetted: tuple[str, str] | None = None
    stop: Stop = NO_STOP


def zone_sentence(
    course: ZoneCourse,
    target: float,
    dry: DryLevel,
    mixture: CourseMixture,
    ends: ForecastEnds,
    words: TimeWords,
) -> str:
    """Say when a zone meets the target, what keeps that open, and the chance of a source."""
    head = f"Zone {course.zone}"
    chance = f" {kept_wet_words(mixture.kept_wet, mixture.kept_wet_before)}"
    again = _rewetted(mixture, words)
    if ends.why_open == "rising":
        return (
            f"{head}: its reading rose, so water may still be arriving. No day can be named before "
            "the source is found and stopped. Chance that something keeps it wet: "
            f"{_percent(1.0 - words.options.discovery)} or more."
        )
    if ends.why_open == "zero":
        return f"{head}: no latest day, {_why('zero', dry)}{again}{chance}"
    if target <= dry.value:
        return (
            f"{head}: the target {target:.3g} is not above {dry.value:.3g}, what floor dries to "
            f"here ({dry.how}): drier air is needed, no day can be named.{again}{chance}"
        )
    if float(course.level[-1]) <= target:
        return (
            f"{head}: its highest tenth reads at or below {target:.3g} already. That is a relative "
            f"reading: calibrated tests decide.{again}{chance}"
        )
    if not ends.why_open:
        said = f"its highest tenth meets {target:.3g} {span_words(ends, words)}"
        return (
            f"{head}: {said}, if air and machines stay as they are and no water comes."
            f"{again}{chance}"
        )
    said = f"{head}: its highest tenth meets {target:.3g} {span_words(ends, words)}."
    if ends.why_open == "rewetted":
        return f"{said} No latest day.{again}{chance}"
    if words.stop.why and ends.why_open == words.stop.why:
        told = "" if words.stop.first else chance  # the readings alone tell that chance
        return f"{said} {words.stop.sentence}{again}{told}"
    return f"{said} No latest day: {_why(ends.why_open, dry)}{chance}"


def kept_wet_words(chance: float, before: float | None = None) -> str:
    """Say the chance that something keeps a place wet, and what of it was assumed."""
    if before is None:
        return f"Chance that something keeps it wet: {_percent(chance)}."
    return (
        f"Chance that something keeps it wet: {_percent(chance)}, where {_percent(before)} was "
        "assumed before the visits were looked at."
    )


def _percent(chance: float) -> str:
    if chance < 0.01:
        return "below 1%"
    return "above 99%" if chance > 0.99 else f"{100.0 * chance:.0f}%"


def _why(why: str, dry: DryLevel | None) -> str:
    if why == "kept-wet":
        return (
            "the visits do not rule out that something keeps it wet, a leak or the ground below: "
            "look for the source, and state the membrane and what the slab lies on if they are not "
            "stated yet."
        )
    if why == "rewetted":
        return (
            "the readings of a zone rose between two visits. Find and stop the source, and count "
            "again from visits after it."
        )
    if why == "zero":
        return (
            "the zero of the meter is in doubt. Read the check block and floor that is dry for "
            "certain, then count from there."
        )
    if why == "machines":
        return (
            "machines that stood before are not listed on the latest visit, or stand farther off,"
            " and with them it dried faster. List those that stand."
        )
    if why == "noted":
        return "what is noted of the latest visit speaks against it."
    if why == "depth":
        return "holes at depth do not dry as the surface reads."
    if why == "record":
        return "air or slab recorded on a visit are hardly those of a room: see their units."
    if why == "air":
        return (
            "in the room air of the latest visit the slab does not dry as far or as fast as it did."
        )
    if why == "asymptote":
        level = "" if dry is None else f" ({dry.value:.3g}, sd {dry.sd:.2g}, {dry.how})"
        return (
            f"the target lies within the error of what dry floor reads{level}. Read dry "
            "references, or take a calibrated test."
        )
    if why == "few-visits":
        return (
            "two visits show how fast it fell, not how the fall slows. A third visit would help, or"
            " a test at depth."
        )
    return (
        "the visits cover too short a time to look so far ahead. Visits over a longer time, "
        "thickness and age of the slab, or a test at depth would help."
    )


def _rewetted(mixture: CourseMixture, words: TimeWords) -> str:
    if words.rewetted is None and not mixture.was_rewetted:
        return ""
    later = max(range(len(mixture.rewetted)), key=mixture.rewetted.__getitem__)
    begin, end = words.rewetted or (str(later), str(later + 1))
    return (
        f" Its readings rose between visits {begin} and {end}: find and stop the source, and "
        "count again from visits after it."
    )


def span_words(ends: ForecastEnds, words: TimeWords) -> str:
    """Say an interval, or the day before which nothing is met."""
    options, latest = words.options, words.latest
    if ends.low > options.horizon_days:
        return f"not within {options.horizon_days:.0f} days of the latest visit"
    soonest = f"day {_whole(ends.low)}"
    if math.isinf(ends.high):
        if ends.low <= 0.0:
            return "at a day that cannot be named"
        named = soonest if latest is None else f"{_date(latest, ends.low)} ({soonest}"
        share = f"{50.0 * (1.0 + options.interval):.0f}% confidence"
        return f"not before {named}, {share}" + (")" if latest is not None else "")
    last = (
        f"more than {options.horizon_days:.0f}"
        if ends.high > options.horizon_days
        else _whole(ends.high, up=True)
    )
    inside = (
        f"{_whole(ends.low)} to {last} days from the latest visit, {options.interval:.0%} "
        f"interval, even chance by day {_whole(ends.days)}"
    )
    if latest is None or ends.high > options.horizon_days:
        return f"in {inside}"
    return f"between {_date(latest, ends.low)} and {_date(latest, ends.high, up=True)} ({inside})"


def _date(latest: datetime, days: float, *, up: bool = False) -> str:
    """Name a day; the end of an interval is rounded outwards."""
    whole = math.ceil(days) if up else math.floor(days)
    day = latest + timedelta(days=whole)
    return f"{day:%Y-%m-%d}"


def _whole(days: float, *, up: bool = False) -> str:
    return str(math.ceil(days) if up else math.floor(days))


def floor_sentence(
    last: str, ends: ForecastEnds, kept: float, words: TimeWords, rose: str = ""
) -> str:
    """Say when the whole floor meets the target, or where floor outside its zones rose."""
    if rose:
        return (
            "Whole floor: no day can be named, the reading rose on floor outside the zones "
            f"({rose}). Find and stop the source first. {RELATIVE_ONLY}"
        )
    if ends.why_open == "rising":
        return (
            "Whole floor: no day can be named, a zone's reading rose. Find and stop the source "
            f"first. {RELATIVE_ONLY}"
        )
    open_ = f" No latest day: {_why(ends.why_open, None)}" if ends.why_open else ""
    chance = "" if ends.why_open in FIRST else f" {kept_wet_words(kept)}"
    return (
        f"Whole floor: the target is met {span_words(ends, words)}; zone {last} is the "
        f"last.{open_}{chance} {RELATIVE_ONLY}"
    )


def look_back_sentence(
    course: ZoneCourse, expected: tuple[float, float], ends: ForecastEnds, words: TimeWords
) -> str:
    """Say what the forecast of the visit before expected, and what was read."""
    mean, sd = expected
    reach = Z90 * math.hypot(sd, float(course.sd[-1]))
    read = float(course.level[-1])
    missed = "slower than forecast" if read > mean else "faster than forecast"
    pace = "inside that range" if abs(read - mean) <= reach else missed
    return (
        f"The forecast of the visit before expected {mean - reach:.1f} to {mean + reach:.1f} in "
        f"zone {course.zone} today; {read:.1f} was read: {pace}. Counted from that visit it said: "
        f"{span_words(ends, TimeWords(words.options))}."
    )
