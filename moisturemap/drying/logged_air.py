"""The air of the room between visits, where loggers recorded it.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from moisturemap.survey import LoggerSeries, Visit

LEAST_COVERED = 0.5
"""Share of the time between two visits a logger must cover to speak for it (our choice)."""

BEFORE_FIRST = timedelta(hours=48)
"""Record before the first visit that tells the air the floor had until then (our choice)."""


def with_logged_air(visits: Sequence[Visit], loggers: Sequence[LoggerSeries]) -> tuple[Visit, ...]:
    """Return the visits with the mean air since the visit before, where loggers recorded it.

    A single reading of the air is that of an hour; what dried the floor is the mean.

    Parameters
    ----------
    visits : sequence of Visit
        In order of time.
    loggers : sequence of LoggerSeries
        Those in the air count; of several the mean.
    """
    air = [one for one in loggers if one.place == "air"]
    found = []
    before: datetime | None = None
    for visit in visits:
        if visit.started is not None and air:
            begin = before if before is not None else visit.started - BEFORE_FIRST
            visit = _with_mean(visit, air, begin, visit.started)
        before = visit.started
        found.append(visit)
    return tuple(found)


def _with_mean(visit: Visit, air: Sequence[LoggerSeries], begin: datetime, end: datetime) -> Visit:
    temperature = [mean_between(one, "temperature_c", begin, end) for one in air]
    humidity = [mean_between(one, "rh_pct", begin, end) for one in air]
    known_t = [value for value in temperature if value is not None]
    known_h = [value for value in humidity if value is not None]
    return replace(
        visit,
        air_temperature_c=float(np.mean(known_t)) if known_t else visit.air_temperature_c,
        air_rh_pct=float(np.mean(known_h)) if known_h else visit.air_rh_pct,
    )


def mean_between(
    logger: LoggerSeries, quantity: str, begin: datetime, end: datetime
) -> float | None:
    """Mean over time of what a logger recorded; None where it covers less than half of it.

    Entries are weighted by the time they stand for: a thinned series keeps more of its extremes
    than of what lies between.

    Parameters
    ----------
    logger : LoggerSeries
    quantity : str
        ``"rh_pct"`` or ``"temperature_c"``.
    begin, end : datetime

    Returns
    -------
    float or None
        None where less than half of the time is recorded.
    """
    days = logger.days_since(begin)
    values = np.asarray(getattr(logger, quantity), dtype=float)
    whole = (end - begin).total_seconds() / 86_400.0
    inside = np.isfinite(values) & (days >= 0.0) & (days <= whole)
    if inside.sum() < 2 or whole <= 0.0:
        return None
    day, value = days[inside], values[inside]
    steps = np.diff(day)
    hours = np.asarray(logger.hours)[inside]
    steps[np.isin(hours[:-1], [start for start, _ in logger.gaps])] = 0.0
    if steps.sum() < LEAST_COVERED * whole:
        return None
    return float(steps @ (0.5 * (value[1:] + value[:-1])) / steps.sum())
