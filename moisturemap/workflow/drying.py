"""Several visits of one floor, compared."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

from shapely.geometry import Point

from moisturemap.acceptance import ProfileVerdict
from moisturemap.acceptance import decide as decide_floor
from moisturemap.bundles import Overrides, Study, StudyOptions, VisitComparison
from moisturemap.drying import (
    ROOM_RH_PCT,
    DepthTest,
    DryingOptions,
    DryingProgress,
    FloorRecords,
    Forecast,
    SlabHumidity,
    Stop,
    VisitSeries,
    compare,
    find_stop,
    lower_sentence,
    not_read_again,
    without_lower_parts,
    zone_drives,
)
from moisturemap.errors import MoistureMapError, NotEnoughData, SurveyError
from moisturemap.floorplan import Domain
from moisturemap.geostat import copies_work, one_thread
from moisturemap.survey import CleanReadings, Survey, Visit, clean_readings
from moisturemap.workflow.early_changes import (
    EarlyChanges,
    early_changes,
    level_is_stated,
    mapped_beside,
)
from moisturemap.workflow.overridden_study import decided_study
from moisturemap.workflow.recorded import dated_ahead

Progress = Callable[[str, float], None] | None


def compare_visits(
    survey: Survey,
    *,
    visits: Sequence[str] | None = None,
    study: Study | Callable[[], Study] | None = None,
    options: DryingOptions | None = None,
    study_options: StudyOptions | None = None,
    overrides: Overrides | None = None,
    progress: Progress = None,
) -> VisitComparison:
    """Compare the visits of a survey.

    Parameters
    ----------
    survey : Survey
    visits : sequence of str, optional
        Ids of the visits to compare, in any order; all with readings when left out.
    study : Study or callable, optional
        Main path of the latest of these visits when it is at hand, or what makes it.
    options : DryingOptions, optional
    study_options : StudyOptions, optional
        For the main path of the latest visit.
    overrides : Overrides, optional
        What people decided about anomalies and holes; a study at hand holds them already.
    progress : callable, optional

    Raises
    ------
    SurveyError
        When a visit is not in the survey, or named twice.
    NotEnoughData
        When no visit has readings.
    """
    chosen, notes = _chosen(survey, visits)
    options = options or DryingOptions()

    def follow() -> Study:
        return decided_study(
            survey,
            overrides,
            visit=chosen[-1].id,
            options=study_options,
            with_holes=False,
            progress=_part(progress, 0.0, 0.5),
        )

    def look() -> None:
        if progress is not None:
            progress("differencing visits", 0.5)

    make = follow if study is None or isinstance(study, Study) else study
    early = None
    if isinstance(study, Study) and study.visit.id == chosen[-1].id:
        latest = study
    elif study_options is None and copies_work() and len(chosen) > 1:
        latest, early = _mapped_beside(survey, chosen, make, options, look)
    else:
        latest = make()
    with one_thread():
        drying, told = _compared(survey, latest, chosen, early, options, progress)
    if progress is not None:
        progress("visits compared", 1.0)
    return VisitComparison(survey, latest, drying, (*notes, *told))


def _compared(
    survey: Survey,
    latest: Study,
    visits: Sequence[Visit],
    early: EarlyChanges | None,
    options: DryingOptions,
    progress: Progress,
) -> tuple[DryingProgress, tuple[str, ...]]:
    """Compare the visits with the latest, and say what was left out or refused."""
    level = latest.wet.level.value
    if early is not None:
        clean, left_out, series = early.clean, early.left_out, early.series
    else:
        clean, left_out = _cleaned(survey, visits, (latest.domains, latest.clean), level)
        series = VisitSeries.of(clean, options, level)
    spots, told = _judged_spots(survey, latest)
    tests = _depth_tests(survey, series, spots)
    found = compare(
        series,
        latest,
        records=FloorRecords(tests, survey.loggers, survey.machine_logs),
        options=options,
        progress=_part(progress, 0.5, 0.9),
        changes=None if early is None else early.changes,
    )
    drying, refused = _with_tests(latest, found, spots)
    unread = not_read_again(clean, level)
    first = (*_dates_doubted(visits), *filter(None, [lower_sentence(clean[-1]), unread.sentence]))
    drying = replace(drying, not_read=unread, statements=(*first, *drying.statements))
    return drying, (*left_out, *found.notes, *told, *refused)


def _dates_doubted(visits: Sequence[Visit]) -> tuple[str, ...]:
    """Say which visits cannot be of the time they state: order and rates rest on it."""
    same = (
        f"Visits {one.id} and {after.id} state the same start: one of the two is wrong, and what is"
        " said to have changed between them may be the wrong way round."
        for one, after in pairwise(visits)
        if one.started is not None and one.started == after.started
    )
    return (*same, *(told for _, told in dated_ahead(visits)))


def _chosen(
    survey: Survey, visits: Sequence[str] | None
) -> tuple[tuple[Visit, ...], tuple[str, ...]]:
    """Pick the visits to compare in the order of the survey, oldest first."""
    wanted = None if visits is None else [survey.visit(one).id for one in visits]
    notes = []
    if wanted is not None and len(set(wanted)) < len(wanted):
        message = "a visit is named twice"
        raise SurveyError(message, value=", ".join(wanted), allowed="each visit once")
    known = [one.id for one in survey.visits if wanted is None or one.id in wanted]
    if wanted is not None and wanted != known:
        notes.append(f"The visits were put in order of time: {', '.join(known)}.")
    read = set(survey.readings["visit"])
    empty = [one for one in known if one not in read]
    if empty:
        notes.append(f"Visit {', '.join(empty)} has no readings and is left out.")
    kept = tuple(survey.visit(one) for one in known if one in read)
    if not kept:
        message = "no visit has readings to compare"
        raise NotEnoughData(message)
    return kept, tuple(notes)


def _mapped_beside(
    survey: Survey,
    visits: Sequence[Visit],
    make: Callable[[], Study],
    options: DryingOptions,
    look: Callable[[], None],
) -> tuple[Study, EarlyChanges | None]:
    """Map the latest visit, and find what changed beside it where it is known what is wet."""
    if not level_is_stated(survey, visits[-1]):
        return make(), None

    def clean(
        parts: Sequence[Domain], last: CleanReadings, level: float
    ) -> tuple[list[CleanReadings], tuple[str, ...]]:
        return _cleaned(survey, visits, (parts, last), level)

    return mapped_beside(make, lambda: early_changes(survey, visits[-1], clean, options), look)


def _cleaned(
    survey: Survey,
    visits: Sequence[Visit],
    latest: tuple[Sequence[Domain], CleanReadings],
    level: float | None,
) -> tuple[list[CleanReadings], tuple[str, ...]]:
    """Clean each visit's readings with the meter of the latest; leave out visits without it.

    Parts that a visit read lower as a whole are set aside.
    """
    parts, last = latest
    meter = last.instrument.id
    clean, notes = [], []
    for visit in visits[:-1]:
        used = set(survey.readings_of(visit.id)["instrument"])
        if meter not in used:
            others = ", ".join(sorted(map(str, used)))
            notes.append(
                f"Visit {visit.id} was read with {others}, the latest with {meter}: two "
                f"scales are never compared, so {visit.id} is left out."
            )
            continue
        if used != {meter}:
            notes.append(f"On visit {visit.id} only the readings of {meter} are compared.")
        clean.append(clean_readings(survey, visit.id, instrument=meter, domains=tuple(parts)))
    return without_lower_parts([*clean, last], survey, level), tuple(notes)


def _judged_spots(
    survey: Survey, latest: Study
) -> tuple[tuple[ProfileVerdict, ...], tuple[str, ...]]:
    """Return the places with valid tests at depth, and why there are none."""
    if survey.tests.empty:
        return (), (
            "No calibrated test is recorded: every forecast is of the relative reading only.",
        )
    try:
        return tuple(decide_floor(survey, latest).spots), ()
    except MoistureMapError as refusal:
        return (), (f"The calibrated tests could not be used for a forecast: {refusal}",)


def _depth_tests(
    survey: Survey, series: VisitSeries, spots: Sequence[ProfileVerdict]
) -> tuple[DepthTest, ...]:
    """Return the humidities at depth with their day; of the latest visit where none is recorded."""
    first = series.visits[0].started
    room = [one.air_rh_pct for one in series.visits if one.air_rh_pct is not None]
    found = []
    for spot in spots:
        for reading in spot.readings:
            read = _read_at(survey, spot, reading.depth_mm)
            day = float(series.days[-1])
            if read is not None and first is not None:
                day = (read - first).total_seconds() / 86_400.0
            if reading.depth_mm > 0.0:
                air = sum(room) / len(room) if room else ROOM_RH_PCT
                found.append(DepthTest(spot.x, spot.y, day, reading.depth_mm, reading.rh_pct, air))
    return tuple(found)


def _read_at(survey: Survey, spot: ProfileVerdict, depth_mm: float) -> datetime | None:
    """When a depth was read at a place; None where that is not recorded."""
    table = survey.tests
    near = (table["x"] - spot.x).abs().lt(0.01) & (table["y"] - spot.y).abs().lt(0.01)
    same = table[near & (table["depth_mm"] - depth_mm).abs().lt(0.5)]
    read = [one for one in same["read"] if isinstance(one, datetime)]
    return max(read) if read else None


def _with_tests(
    latest: Study, found: DryingProgress, spots: Sequence[ProfileVerdict]
) -> tuple[DryingProgress, tuple[str, ...]]:
    """Add what calibrated tests tell: forecasts by the physics of the slab, and drives."""
    visits = found.series.visits
    forecasts = [
        _by_physics(latest, spot, find_stop(latest.survey, visits, spot.room))
        for spot in spots
        if spot.wait is not None
    ]
    slabs = [_humidity(latest, spot) for spot in spots]
    drives = zone_drives(latest.visit, [one for one in slabs if one is not None])
    refused = tuple(f"At {one.spot}: {one.refusal}." for one in spots if one.refusal)
    added = replace(
        found,
        forecasts=(*found.forecasts, *forecasts),
        drives=drives,
        statements=(*found.statements, *(one.sentence for one in forecasts), *drives["sentence"]),
    )
    return added, refused


def _by_physics(latest: Study, spot: ProfileVerdict, stop: Stop) -> Forecast:
    assert spot.wait is not None
    wait = spot.wait
    where = _zone_at(latest, spot)
    days = (wait.days.value, wait.days.low, wait.days.high)
    tests = "calibrated tests at depth" if spot.valid else "tests at depth of which none is valid"
    if stop.why and not wait.why_none:
        return Forecast(
            where,
            wait.limit_pct,
            "calibrated",
            math.nan,
            wait.days.low,
            math.inf,
            f"At {spot.spot} ({where}), by {tests} and diffusion in the slab: not before day "
            f"{math.floor(wait.days.low)} after they were read. {stop.sentence}",
            why_open=stop.why,
        )
    return Forecast(
        where,
        wait.limit_pct,
        "calibrated",
        *((math.nan,) * 3 if wait.why_none else days),
        f"At {spot.spot} ({where}), by {tests} and diffusion in the slab: {wait.sentence}",
    )


def _humidity(latest: Study, spot: ProfileVerdict) -> SlabHumidity | None:
    if not spot.readings:
        return None
    temperature = latest.visit.slab_temperature_c
    if temperature is None:
        temperature = latest.visit.air_temperature_c
    if temperature is None:
        return None
    top = spot.readings[0]
    room, started = latest.survey.plan.room_at(spot.x, spot.y), latest.visit.started
    day = None if started is None else started.date()
    return SlabHumidity(
        f"{_zone_at(latest, spot)} (at {spot.spot})",
        top.rh_pct,
        temperature,
        f"test at {top.depth_mm:g} mm" + ("" if spot.valid else ", not valid"),
        covered=room is not None and room.slab.covered_on(day),
    )


def _zone_at(latest: Study, spot: ProfileVerdict) -> str:
    place = Point(spot.x, spot.y)
    zones = latest.zones
    here = [str(zone.zone) for zone in zones.itertuples() if zone.geometry.covers(place)]
    return f"zone {here[0]}" if here else str(spot.room)


def _part(progress: Progress, begin: float, end: float) -> Progress:
    """Progress of one part within the whole."""
    if progress is None:
        return None
    return lambda phrase, done: progress(phrase, begin + (end - begin) * min(done, 0.999))
