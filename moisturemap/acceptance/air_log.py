"""The log of a room's air up to a test: what was entered by hand, and what loggers recorded."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from moisturemap.floorplan import Room
from moisturemap.survey import AmbientReading, LoggerSeries, Survey

BLOCK_HOURS = 6.0
"""The entries of a logger count by their middle over so long [h]: a door that stood open for a
while ends no service conditions, a cold night does; our choice."""


def air_log(room: Room | None, read: datetime | None, survey: Survey) -> tuple[AmbientReading, ...]:
    """Return the log of the air of a room up to a reading, in order of time.

    Parameters
    ----------
    room : Room or None
        Of the test; None counts entries of the whole floor alone.
    read : datetime or None
        With zone; None takes all.
    survey : Survey
    """
    name = room.name if room else ""
    entered = [one for visit in survey.visits for one in visit.acclimation]
    logged = [
        one
        for logger in survey.loggers
        if logger.place in ("air", "surface")
        for one in _blocks(logger)
    ]
    kept = [
        one
        for one in (*entered, *logged)
        if one.room in ("", name) and (read is None or one.when <= read)
    ]
    return tuple(sorted(kept, key=lambda one: one.when))


def _blocks(logger: LoggerSeries) -> Iterator[AmbientReading]:
    """Yield the middle of each quarter of a day of a logger, at its last entry."""
    hours = np.asarray(logger.hours)
    block = np.floor(hours / BLOCK_HOURS).astype(int)
    for number in np.unique(block):
        here = block == number
        yield AmbientReading(
            when=logger.began + timedelta(hours=float(hours[here].max())),
            air_temperature_c=_middle(np.asarray(logger.temperature_c)[here]),
            air_rh_pct=_middle(np.asarray(logger.rh_pct)[here]),
            room=logger.room,
        )


def _middle(values: np.ndarray) -> float | None:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else None
