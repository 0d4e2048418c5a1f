"""What was known on the day of a decision: evidence of later days speaks for nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.survey import Instrument, Survey, Visit
from moisturemap.zones import MappedVisit


def known_on(survey: Survey, as_of: datetime) -> Survey:
    """Return a survey without the checks of instruments and the scans that were made after a day.

    Tests read afterwards stay: they are told as such, and stand against the floor.

    Parameters
    ----------
    survey : Survey
    as_of : datetime
        Day of the decision, with zone.
    """
    known = {name: _known(one, as_of) for name, one in survey.instruments.items()}
    later = [one.id for one in later_scans(survey, as_of)]
    readings, former = survey.readings, survey.former_readings
    if later:
        readings = readings[~readings["visit"].isin(later)].reset_index(drop=True)
        former = former if former.empty else former[~former["visit"].isin(later)]
    return replace(survey, instruments=known, readings=readings, former_readings=former)


def later_scans(survey: Survey, as_of: datetime) -> tuple[Visit, ...]:
    """Return the visits on which the floor was scanned after a day.

    Parameters
    ----------
    survey : Survey
    as_of : datetime
        Day of the decision, with zone.
    """
    scanned = set() if survey.readings.empty else set(survey.readings["visit"])
    return tuple(one for one in survey.visits if one.id in scanned and _after(one, as_of))


def known_study(study: MappedVisit | None, as_of: datetime) -> MappedVisit | None:
    """Return the map beside the tests, None where it was made after the day of the decision.

    Parameters
    ----------
    study : MappedVisit or None
    as_of : datetime
        Day of the decision, with zone.
    """
    return None if study is None or _after(study.visit, as_of) else study


def said_of_later(survey: Survey, as_of: datetime) -> tuple[str, ...]:
    """Say which scans are not counted, as they are of a later day.

    Parameters
    ----------
    survey : Survey
    as_of : datetime
        Day of the decision, with zone.
    """
    return tuple(
        f"the scan of visit {one.id} of {one.started:%Y-%m-%d} is later than the day of the"
        f" decision, {as_of:%Y-%m-%d}, and counts for nothing: see that the dates are right"
        for one in later_scans(survey, as_of)
    )


def said_of_covered(tests: Sequence[JudgedTest]) -> tuple[str, ...]:
    """Say which floors were covered before their tests were read.

    Parameters
    ----------
    tests : sequence of JudgedTest
    """
    late: dict[str, str] = {}
    for test in tests:
        room, read = test.entry.room, test.read
        covered = None if room is None else room.slab.covered
        if room is not None and covered and test.judged and read and read.date() > covered:
            late.setdefault(room.name, f"{covered:%Y-%m-%d}, and {test.entry.label} was read later")
    return tuple(
        f"{name} was covered on {when}: what the tests show is not how dry it was when covered"
        for name, when in late.items()
    )


def said_of_lapsing(survey: Survey, until: datetime | None) -> tuple[str, ...]:
    """Say which floors are to be covered after the day until which a verdict holds.

    Parameters
    ----------
    survey : Survey
    until : datetime or None
        Until when a floor that meets does; None for one that does not.
    """
    if until is None:
        return ()
    later: dict[date, list[str]] = {}
    for room in survey.plan.rooms:
        if room.slab.covered and room.slab.covered > until.date():
            later.setdefault(room.slab.covered, []).append(room.name)
    return tuple(
        f"{', '.join(names)} is to be covered on {day:%Y-%m-%d}, and the verdict holds until"
        f" {until:%Y-%m-%d}: read again before that floor is covered"
        for day, names in sorted(later.items())
    )


def _after(visit: Visit, as_of: datetime) -> bool:
    return visit.started is not None and visit.started > as_of


def _known(instrument: Instrument, as_of: datetime) -> Instrument:
    checks = tuple(check for check in instrument.checks if check.when <= as_of)
    if len(checks) == len(instrument.checks):
        return instrument
    return replace(instrument, checks=checks)
