"""What loggers and logs of machines tell against tests that were read beside them.

A logger is no test by a standard and clears nothing; what it reads above the limit asks for a test.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.plainly_wet import HIGHEST_OF_COVERINGS
from moisturemap.acceptance.record import RH_METHODS, method_named
from moisturemap.floorplan import Room
from moisturemap.slab import EQUIVALENT_DEPTH
from moisturemap.survey import Limit, LoggerSeries, Survey

WAIT = timedelta(days=1)
"""A sensor just put into its hole settles for so long; our choice, the shortest wait of F2170."""

DEEPER_MM, DEEPER_PCT = 10.0, 15.0
"""A sensor more than so much below the depth the limit is meant for [mm] may read so much more than
the limit [%RH]: deep floor is damper by nature; our choice."""


def loggers_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which loggers in holes read above the limit while and after tests were read.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    found = []
    for logger in survey.loggers:
        room = _room_of(logger, survey)
        limit = survey.limit if room is None else survey.room_limits.get(room.name, survey.limit)
        beside = [
            one.read
            for one in judged
            if one.judged and one.read is not None and room in (None, one.entry.room)
        ]
        if logger.place != "hole" or limit is None or not beside:
            continue
        bound, day = _bound(limit, logger, room), _highest_day(logger, min(beside) - WAIT)
        if day is not None and day[1] > bound:
            found.append(
                f"logger {logger.id} in a hole at {logger.depth_mm:g} mm of"
                f" {room.name if room else 'the floor'} read {day[1]:.0f} %RH on {day[0]:%Y-%m-%d},"
                f" above {bound:g}: a logger is no test, and the tests beside it say otherwise;"
                " test there, or take it out with its reason"
            )
    return found


def _room_of(logger: LoggerSeries, survey: Survey) -> Room | None:
    if logger.x is not None and logger.y is not None:
        return survey.plan.room_at(logger.x, logger.y)
    return next((room for room in survey.plan.rooms if room.name == logger.room), None)


def _bound(limit: Limit, logger: LoggerSeries, room: Room | None) -> float:
    """Above which humidity a logger speaks against a floor [%RH].

    The limit where it is a humidity; else what is wet whatever the covering.
    """
    by_humidity = method_named(limit.method).key in RH_METHODS
    bound = limit.value if by_humidity else HIGHEST_OF_COVERINGS["in-situ-rh"]
    slab = None if room is None else room.slab
    if slab is None or not slab.thickness_mm or logger.depth_mm is None:
        return bound
    meant = EQUIVALENT_DEPTH[slab.open_faces] * slab.thickness_mm
    return bound if logger.depth_mm <= meant + DEEPER_MM else min(bound + DEEPER_PCT, 99.0)


def _highest_day(logger: LoggerSeries, since: datetime) -> tuple[datetime, float] | None:
    """Return the day of the highest middle of a day from a moment on, and that middle [%RH]."""
    begin = max(since, logger.began + WAIT)
    days, rh = logger.days_since(begin), np.asarray(logger.rh_pct)
    known = (days >= 0.0) & np.isfinite(rh)
    if not known.any():
        return None
    number = np.floor(days[known]).astype(int)
    middles = {int(k): float(np.median(rh[known][number == k])) for k in np.unique(number)}
    highest = max(middles, key=lambda k: middles[k])
    return begin + timedelta(days=highest), middles[highest]
