"""Records of tests at odds with the plan, with their visit, with the covering and with each other.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import combinations
from math import dist

from shapely.geometry import Point

from moisturemap.acceptance.covering_kinds import coverings_named
from moisturemap.acceptance.covering_laid import said_to_be_laid
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.measure import LOGGED_OFF_C, slab_off_service
from moisturemap.acceptance.supersede import SAME_SPOT_M
from moisturemap.acceptance.validity import said
from moisturemap.survey import Survey, Visit

ON_LINE_M = 0.05
"""A hole as near to the middle of a drawn service would have met it [m]; our choice."""

BEFORE_VISIT, AFTER_VISIT = timedelta(days=45), timedelta(days=92)
"""A visit may hold tests read so long before it started, as earlier ones are keyed in, and made so
long after, as retests are kept under the first; our choice."""

LEAST_OVEN_HOURS = 12.0
"""No sample dries to constant mass sooner [h]; ISO 12570 asks for weighings a day apart (from
memory), the half is ours."""

STILL_RISING_PCT, FEWEST_RISING = 0.5, 3
"""So many hoods that all rose by so much [%RH] did not do so by the step of the display; the trade
says identical (UK practice, secondary), the numbers are ours."""

_SURFACE = ("hood-rh", "mver")
_PIERCING = ("in-situ-rh", "sleeve-rh", "carbide", "oven-dry")
_BELOW = re.compile(r"\b(?:on|over|above|auf|über|sur)\b.*", re.IGNORECASE)
_TAKEN_UP = re.compile(
    r"(?<!not )(?<!yet )(?<!be )(?<!nicht )(?<!non )(?<!pas )(?:removed|stripped|lifted"
    r"|taken (?:up|off)|ground off|planed|entfernt|ausgebaut|abgeschliffen"
    r"|gefräst|déposé|enlevé)",
    re.IGNORECASE,
)
_COVERS = (
    *("parquet", "vinyl", "linoleum", "lino", "carpet", "laminate", "plywood", "chipboard", "osb"),
    *("hardboard", "overlay", "adhesive", "glue", "bitumen", "epoxy", "paint", "coat", "tile"),
    *("surface dpm", "surface membrane", "still laid", "still covered", "covered", "parkett"),
    *("teppich", "fliese", "kleber", "bodenbelag", "beschicht", "bitume", "moquette", "carrelage"),
    *("primer", "primed", "sealed", "sealer", "latex", "underlay", "matting", "rubber", "cork"),
    *("altbelag", "belag", "grundier", "versiegel", "colle", "revêtement", "peinture"),
)


def at_odds(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which tests cannot have been made as they are written down.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    may_speak = [one for one in judged if one.judged]
    found = [*_two_coverings(survey, may_speak), *_one_hood(may_speak), *_all_rising(may_speak)]
    found += [one for visit in survey.visits for one in _far_from(visit, may_speak)]
    found += said_to_be_laid(survey) if may_speak else []
    for test in may_speak:
        found += [_covered(test), _on_service(test, survey), _cold(test), _dried_at_once(test)]
    return list(dict.fromkeys(filter(None, found)))


def _covered(test: JudgedTest) -> str:
    """Say that a hood or dish stood on a floor that is covered by its days or its name."""
    room = test.entry.room
    if room is None or test.entry.method.key not in _SURFACE:
        return ""
    began = test.entry.moment("placed") or test.read
    if room.slab.covered_on(None if began is None else began.date()):
        return (
            f"{room.name} was covered when {test.entry.label} was placed on its surface, by the"
            " days it was covered and lifted: what lies on a floor hides what the floor holds; test"
            " on the bare base, or correct the days"
        )
    parts = re.split(r"[,;]|\band\b|\bund\b|\bet\b", room.slab.base)
    open_ = [_BELOW.sub("", part) for part in parts if not _TAKEN_UP.search(part)]
    names = [word for word in _COVERS for part in open_ if said(word, part)]
    if not names:
        return ""
    return (
        f"{room.name} is of {room.slab.base}, and {test.entry.label} was read on its surface: what"
        " lies on a floor hides what the floor holds; test on the bare base, or correct the name of"
        " the layer"
    )


def _on_service(test: JudgedTest, survey: Survey) -> str:
    """Say that a hole lies on a service drawn on the plan."""
    place = test.entry.place
    if place is None or test.entry.method.key not in _PIERCING:
        return ""
    for line in survey.plan.lines_of("known-service"):
        if line.recognised and line.geometry.distance(Point(place)) <= ON_LINE_M:
            return (
                f"{test.entry.label} lies on {line.name or 'a service'}, as the plan shows it: a"
                " hole there meets the service, and beside a warm or wet one floor reads otherwise;"
                " see which of the two is drawn wrong, and test at a place clear of services"
            )
    return ""


def _cold(test: JudgedTest) -> str:
    """Say that a dish stood on a slab that was far from the temperature of service."""
    off = slab_off_service(test.entry)
    if test.entry.method.key != "mver" or off is None or off <= LOGGED_OFF_C:
        return ""
    return (
        f"{test.entry.label} stood on a slab of {test.entry.concrete_c:g} °C, {off:.0f} K from"
        " that of service: slab and air are at service conditions for 48 h before and during the"
        " test, and a cold slab gives off less; warm the room and test again"
    )


def _dried_at_once(test: JudgedTest) -> str:
    """Say that a sample cannot have been dried in so short a time."""
    entry = test.entry
    taken, read = entry.moment("drilled"), entry.moment("read")
    if entry.method.key != "oven-dry" or taken is None or read is None:
        return ""
    alone = {"drilled", "read"} & set(entry.text("day_only").split())
    spent = (read - taken).total_seconds() / 3600.0
    first = 0.0 if "drilled" in alone or not alone else -24.0
    if not first <= spent < first + (24.0 if alone else LEAST_OVEN_HOURS):
        return ""
    if alone:
        return (
            f"{entry.label} was taken on the day of its result: no sample dries to constant mass"
            " so soon; state the times, or dry it on and weigh it again"
        )
    return (
        f"{entry.label} was taken {spent:.0f} h before its result: no sample dries to constant mass"
        " so soon; see the times, or dry it on and weigh it again"
    )


def _one_hood(judged: Sequence[JudgedTest]) -> list[str]:
    """Say that one hood or dish is recorded at two places of a room at one time."""
    found = []
    surface = [one for one in judged if one.entry.method.key in _SURFACE and one.entry.place]
    for one, other in combinations(surface, 2):
        first, second = one.entry, other.entry
        same = first.hole and first.hole == second.hole and first.room is second.room
        apart = dist(first.place or (), second.place or ()) > SAME_SPOT_M
        if same and apart and _together(one, other):
            found.append(
                f"{first.hole} is recorded at two places of one room at the same time: one hood or"
                " dish stands at one place; give each its own name, or correct the entries"
            )
    return found


def _together(one: JudgedTest, other: JudgedTest) -> bool:
    """Whether two tests stood at one time."""
    spans = [(test.entry.moment("placed"), test.read) for test in (one, other)]
    stated = [(early, late) for early, late in spans if early is not None and late is not None]
    if len(stated) < len(spans):
        return False
    return max(early for early, _ in stated) < min(late for _, late in stated)


def _all_rising(judged: Sequence[JudgedTest]) -> list[str]:
    """Say that all hoods of a room read higher the second time."""
    rises: dict[str, list[float]] = {}
    for test in judged:
        entry = test.entry
        first, second = entry.number("value"), entry.number("second_value")
        if entry.method.key == "hood-rh" and first is not None and second is not None:
            rises.setdefault(entry.room.name if entry.room else "", []).append(second - first)
    return [
        f"{name}: all {len(rose)} hoods read higher the second time, by {min(rose):.1f} to"
        f" {max(rose):.1f} %RH: they may still be rising; read them again a day later until two"
        " readings agree"
        for name, rose in rises.items()
        if len(rose) >= FEWEST_RISING and min(rose) >= STILL_RISING_PCT
    ]


def _far_from(visit: Visit, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that a visit started long before or after its tests were made."""
    started = visit.started
    if started is None:
        return []
    far = [
        one.entry.label
        for one in judged
        if one.entry.text("visit") == visit.id and _outside(started, one)
    ]
    if not far:
        return []
    return [
        f"visit {visit.id} started on {started:%Y-%m-%d}, long before or after its tests"
        f" {', '.join(dict.fromkeys(far))} were made: its air, its log and who read belong to"
        " another day; correct the date, or give the tests to the visit they were read on"
    ]


def _outside(started: datetime, test: JudgedTest) -> bool:
    times = ("drilled", "lined", "placed", "read", "second_read")
    stated = [when for when in map(test.entry.moment, times) if when is not None]
    if not stated:
        return False
    return started > max(stated) + BEFORE_VISIT or started < min(stated) - AFTER_VISIT


def _two_coverings(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that a job is of two coverings in fewer rooms, under one limit."""
    covering = survey.details.get("covering", "").strip()
    kinds = coverings_named(covering)
    limits = {survey.room_limits.get(room.name, survey.limit) for room in survey.plan.rooms}
    if not judged or len(kinds) < 2 or len(limits) > 1:
        return []
    return [
        f"the covering is stated as {covering!r}, and one limit for all of it: coverings have"
        " limits of their own, so draw a room for each part with the limit of its covering, or"
        " state the covering that asks for the driest floor"
    ]
