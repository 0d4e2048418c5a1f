"""Loggers that contradict tests: wet floor in the depth, air that was not as the tests state it.

A logger is no calibrated test, so it makes no floor fail or pass. Where one says otherwise than the
tests, which of the two is right is not known, and nothing is proven by the lower one.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import dist

import numpy as np

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.measure import LOGGED_OFF_C, LOGGED_OFF_RH, off_service
from moisturemap.acceptance.plainly_wet import HIGHEST_OF_COVERINGS, PLAINLY_WET
from moisturemap.acceptance.record import RH_METHODS, method_named
from moisturemap.acceptance.supersede import SAME_SPOT_M
from moisturemap.acceptance.verdict import limit_value
from moisturemap.errors import InputError
from moisturemap.floorplan import Room
from moisturemap.quantities import spoken_figures
from moisturemap.slab import DepthReading, ProfileOptions, SlabSpec, estimate_profile
from moisturemap.survey import Limit, LoggerSeries, Survey

MEANT_SHARE = {1: 0.4, 2: 0.2}
"""Depth a humidity is read at, as share of the thickness, by the faces that dry (ASTM F2170 10.2,
from secondary sources)."""

DEEPER = 1.15
"""A sensor more than so many times as deep as that is held against the limit by what a covering
would face; project choice."""

SENSOR_SD_PCT = 2.0
"""Standard uncertainty of a logger nobody checked [%RH]; project choice."""

AIR_OFF_RH = 20.0
"""Air that a logger has so far off what stands beside a test is not the same air [%RH]; twice the
margin of service conditions, for hand meters stray by a few; project choice."""

BEFORE_READING, LONGEST = timedelta(hours=48), timedelta(days=7)
"""The room is at service conditions for 48 h before a reading and during the test (ASTM F2170 9,
ASTM F1869, secondary); of a longer test the last week counts, and a logger that ended longer before
the tests tells nothing of them, our choice."""

_HELD = ("in-situ-rh", "mver")
"""Methods that ask for service conditions."""

_NEAR = timedelta(hours=12)


@dataclass(frozen=True)
class _Day:
    """One day of a series: medians, NaN where not recorded [%RH], [C]."""

    day: date
    rh_pct: float
    temperature_c: float


def logger_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say where loggers, or the log of acclimation, contradict the tests a floor is cleared by.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    speaking = [one for one in judged if one.judged and one.read is not None]
    if not speaking:
        return []
    found = []
    for logger in survey.loggers:
        if logger.place == "hole":
            found += [_wet(survey, logger, room, speaking) for room in _rooms(survey, logger)]
        else:
            found += _air(survey, logger, speaking)
    return [*filter(None, found), *_acclimation(speaking)]


def _rooms(survey: Survey, logger: LoggerSeries) -> list[Room]:
    """Return the rooms a logger may stand in: the one it names or lies in, else all."""
    rooms = list(survey.plan.rooms)
    named = [room for room in rooms if room.name == logger.room]
    if named or logger.x is None or logger.y is None:
        return named or rooms
    under = survey.plan.room_at(logger.x, logger.y)
    return [under] if under is not None else rooms


def _wet(survey: Survey, logger: LoggerSeries, room: Room, speaking: Sequence[JudgedTest]) -> str:
    """Say that a logger sealed in the slab reads above the limit on or after the day of tests."""
    limit = survey.room_limits.get(room.name, survey.limit)
    own = [one for one in speaking if one.entry.room is room]
    days = [one for one in _days(logger) if np.isfinite(one.rh_pct)]
    reads = [one.read.date() for one in own if one.read is not None]
    if limit is None or not own or not days:
        return ""
    if days[-1].day < max(reads) - LONGEST:
        return ""
    since = min(max(reads), days[-1].day)
    high = [one for one in days if one.day >= since and _above(one.rh_pct, logger, room, limit)]
    high = [one for one in high if not _tested_there(logger, one.day, own)]
    if not high:
        return ""
    worst, bound = max(high, key=lambda one: one.rh_pct), _bound(limit)
    value, shown = spoken_figures(worst.rh_pct, bound), spoken_figures(bound, worst.rh_pct)
    return (
        f"logger {logger.id}, sealed {logger.depth_mm:g} mm deep in {room.name}, reads {value} %RH"
        f" on {worst.day:%Y-%m-%d}, above {shown}, though the tests there meet the limit: which of"
        " the two is right is not known; test where the logger sits (state its x and y), at the"
        " depth of the limit, on that day or later"
    )


def _bound(limit: Limit) -> float:
    """Return the humidity above which a slab contradicts a limit [%RH]."""
    key = method_named(limit.method).key
    if key in RH_METHODS:
        return limit_value(limit)
    beyond = limit_value(limit) > HIGHEST_OF_COVERINGS[key]
    return (PLAINLY_WET if beyond else HIGHEST_OF_COVERINGS)["in-situ-rh"]


def _above(rh_pct: float, logger: LoggerSeries, room: Room, limit: Limit) -> bool:
    """Whether a logger reads above a limit; a deep one by what the covering would face."""
    bound, depth, thick = _bound(limit), logger.depth_mm, room.slab.thickness_mm
    if rh_pct <= bound or not depth:
        return rh_pct > bound
    meant = MEANT_SHARE.get(room.slab.open_faces, MEANT_SHARE[1])
    if not thick or depth <= DEEPER * meant * thick:
        return True
    spec = SlabSpec(thick, room.slab.open_faces, None, room.slab.base, bool(room.slab.heated))
    reading = DepthReading(depth, min(rh_pct, 100.0), SENSOR_SD_PCT, logger.id)
    try:
        estimate = estimate_profile([reading], spec, options=ProfileOptions())
    except InputError:
        return True
    return estimate.sealed.value > bound


def _tested_there(logger: LoggerSeries, day: date, own: Sequence[JudgedTest]) -> bool:
    """Whether a test that speaks for the floor was read where a logger sits, that day or later."""
    if logger.x is None or logger.y is None:
        return False
    at = (logger.x, logger.y)
    return any(
        one.entry.place is not None
        and dist(at, one.entry.place) <= SAME_SPOT_M
        and one.read is not None
        and one.read.date() >= day
        for one in own
    )


def _days(logger: LoggerSeries) -> list[_Day]:
    """Return the days of a series."""
    times = [logger.began + timedelta(hours=hour) for hour in logger.hours]
    ordinals = np.array([time.date().toordinal() for time in times])
    series = (np.asarray(logger.rh_pct), np.asarray(logger.temperature_c))
    return [
        _Day(date.fromordinal(int(day)), *(_median(one[ordinals == day]) for one in series))
        for day in np.unique(ordinals)
    ]


def _median(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else float("nan")


def _air(survey: Survey, logger: LoggerSeries, speaking: Sequence[JudgedTest]) -> list[str]:
    """Say of which tests a logger has the air otherwise than the record."""
    rooms, days = _rooms(survey, logger), _days(logger)
    others: dict[tuple[str, str], list[str]] = {}
    away: dict[tuple[str, str], list[str]] = {}
    for test in speaking:
        if test.entry.room not in rooms:
            continue
        other, off = _other_air(logger, test), _not_held(days, test)
        if other:
            others.setdefault(other, []).append(test.entry.label)
        elif off:
            away.setdefault(off, []).append(test.entry.label)
    told = [
        f"{_named(names)}: the air is stated as {stated}, and logger {logger.id} has {found} at the"
        " reading: one of the two is wrong; see which, and correct it or test again"
        for (stated, found), names in others.items()
    ]
    return told + [_not_at_service(f"logger {logger.id}", *one, away[one]) for one in away]


def _other_air(logger: LoggerSeries, test: JudgedTest) -> tuple[str, str] | None:
    """Return the air as stated and as logged at the reading of a test, where they differ."""
    read = test.read
    assert read is not None
    hours = np.asarray(logger.hours) - (read - logger.began).total_seconds() / 3600.0
    near = np.abs(hours) <= _NEAR.total_seconds() / 3600.0
    series = (
        (logger.temperature_c, "air_temperature_c", LOGGED_OFF_C, "°C"),
        (logger.rh_pct, "air_rh_pct", AIR_OFF_RH, "%RH"),
    )
    for values, name, most, unit in series:
        stated, found = test.entry.number(name), _median(np.asarray(values)[near])
        if stated is not None and np.isfinite(found) and abs(found - stated) > most:
            return f"{stated:.3g} {unit}", f"{found:.3g} {unit}"
    return None


def _not_held(days: Sequence[_Day], test: JudgedTest) -> tuple[str, str] | None:
    """Return the first day a logger has a room away from service while it is tested, and how."""
    begin, read = _span(test)
    if test.entry.method.key not in _HELD:
        return None
    for one in days:
        if begin.date() < one.day <= read.date():
            off = off_service(test.entry, one.temperature_c, one.rh_pct)
            if off:
                return f"{one.day:%Y-%m-%d}", off
    return None


def _acclimation(speaking: Sequence[JudgedTest]) -> list[str]:
    """Say that the log of acclimation has the room away from service during a test."""
    away: dict[tuple[str, str], list[str]] = {}
    for test in speaking:
        if test.entry.method.key not in _HELD:
            continue
        begin, read = _span(test)
        for one in test.entry.log:
            values = (one.air_temperature_c, one.air_rh_pct)
            off = off_service(test.entry, *values) if begin < one.when <= read else ""
            if off:
                away.setdefault((f"{one.when:%Y-%m-%d}", off), []).append(test.entry.label)
                break
    return [_not_at_service("the log of acclimation", *one, away[one]) for one in away]


def _not_at_service(what: str, day: str, off: str, names: Sequence[str]) -> str:
    return (
        f"{_named(names)}: {what} has the air of {day} at {off}, and the room is to be at service"
        f" conditions (within {LOGGED_OFF_C:g} K and {LOGGED_OFF_RH:g} %RH) for 48 h before a"
        " reading and during the test: test again once it is, or correct the entry"
    )


def _named(names: Sequence[str]) -> str:
    return ", ".join(dict.fromkeys(names))


def _span(test: JudgedTest) -> tuple[datetime, datetime]:
    """Return from when to when the room is to be at service conditions."""
    read = test.read
    assert read is not None
    placed = test.entry.moment("placed") or read
    return max(min(placed, read - BEFORE_READING), read - LONGEST), read
