"""The air a slab dried into, as far as visits, acclimation logs, loggers and tests record it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime

import numpy as np

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.psychrometrics import saturation_pressure
from moisturemap.slab import RoomAir, temperature_factor
from moisturemap.survey import LoggerSeries, Survey

USUAL_C = 20.0
"""Temperature of a slab that no test states [C]."""

WARMTH_C = (5.0, 40.0)
"""Temperatures for which the temperature factor of diffusivity is meant [C]."""

Record = tuple[date | None, float | None, float | None, float | None]
"""Day, temperature and humidity of the air, temperature of the slab [C], [%RH], [C]."""


def room_air(
    survey: Survey, own: Sequence[JudgedTest], judged: Sequence[JudgedTest]
) -> RoomAir | None:
    """Return the air of the room of some tests; None where its humidity is recorded nowhere.

    Each day counts once; what its records differ by widens the range.

    Parameters
    ----------
    survey : Survey
    own : sequence of JudgedTest
        Of one place.
    judged : sequence of JudgedTest
        All of the floor: what those of the same room record counts, too.
    """
    room = own[0].entry.room
    name = "" if room is None else room.name
    days: dict[date | None, list[float]] = {}
    warmth: list[float] = []
    for day, air_c, air_rh, slab_c in _records(survey, name, judged):
        slab = slab_c if slab_c is not None else air_c
        if slab is not None:
            warmth.append(slab)
        if air_rh is not None:
            days.setdefault(day, []).append(_at_slab(air_rh, air_c, slab))
    if not days:
        return None
    means = [float(np.mean(values)) for values in days.values()]
    every = [value for values in days.values() for value in values]
    return RoomAir(float(np.mean(means)), float(np.std(every)), _pace(own, warmth), len(days))


def _records(survey: Survey, room: str, judged: Sequence[JudgedTest]) -> Iterator[Record]:
    for visit in survey.visits:
        day = None if visit.started is None else visit.started.date()
        yield day, visit.air_temperature_c, visit.air_rh_pct, visit.slab_temperature_c
        for one in visit.acclimation:
            if one.room in ("", room):
                yield (
                    one.when.date(),
                    one.air_temperature_c,
                    one.air_rh_pct,
                    one.slab_temperature_c,
                )
    for logger in survey.loggers:
        if logger.place == "air" and logger.room in ("", room):
            yield from _logged(logger)
    for test in judged:
        entry = test.entry
        if entry.room is not None and entry.room.name == room:
            day = None if test.read is None else test.read.date()
            numbers = map(entry.number, ("air_temperature_c", "air_rh_pct", "slab_temperature_c"))
            air_c, air_rh, slab_c = numbers
            yield day, air_c, air_rh, slab_c


def _logged(logger: LoggerSeries) -> Iterator[Record]:
    """Yield the middle of each day of a logger; a thinned series keeps its extremes."""
    start = datetime.combine(logger.began.date(), datetime.min.time(), logger.began.tzinfo)
    whole = np.floor(logger.days_since(start)).astype(int)
    rh, warm = np.asarray(logger.rh_pct), np.asarray(logger.temperature_c)
    for number in np.unique(whole):
        here = (whole == number) & np.isfinite(rh)
        if here.any():
            known = warm[here][np.isfinite(warm[here])]
            air_c = float(np.median(known)) if known.size else None
            day = date.fromordinal(start.toordinal() + int(number))
            yield day, air_c, float(np.median(rh[here])), None


def _at_slab(air_rh: float, air_c: float | None, slab_c: float | None) -> float:
    """Humidity of the air brought to the temperature of the slab [%RH]."""
    if air_c is None or slab_c is None or air_c == slab_c:
        return air_rh
    return min(100.0, air_rh * saturation_pressure(air_c) / saturation_pressure(slab_c))


def _pace(own: Sequence[JudgedTest], warmth: Sequence[float]) -> float:
    """How much slower it dries where the slab is recorded colder than in the hole; 1 where not."""
    entry = own[0].entry
    hole = entry.number("temperature_c") or entry.number("slab_temperature_c") or USUAL_C
    if not warmth:
        return 1.0
    room, read = (
        temperature_factor(float(np.clip(one, *WARMTH_C))) for one in (np.mean(warmth), hole)
    )
    return min(1.0, room / read)
