"""Drying machines that stood on a floor while it was tested.

Artificial drying is off four days before and during a test with a hood (UK practice after BS 8203,
App. A, from secondary sources), and a dish or hood in moving dry air reads the skin of the floor.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import pandas as pd

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.survey import MachineLog, Survey, Visit

OFF = timedelta(days=4)
"""Machines are off for so long before a test of the surface."""

SURFACE_METHODS = ("hood-rh", "mver")


def machines_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that surfaces were tested in a room in which machines are recorded to have stood."""
    surface = [one for one in judged if _surface(one)]
    return [
        f"{words}: hoods and dishes are read with all drying off for four days, so see when they"
        " were taken off, or test again without them"
        for words in (*_standing(survey, surface), *_ran(survey, surface))
    ]


def machines_told(survey: Survey, judged: Sequence[JudgedTest]) -> tuple[str, ...]:
    """Tell of machines beside tests in the depth, which feel them less."""
    return tuple(_standing(survey, [one for one in judged if not _surface(one)]))


def _surface(test: JudgedTest) -> bool:
    return test.entry.method.key in SURFACE_METHODS


def _standing(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say by visit which machines stood in the rooms of which tests."""
    listed = [
        (visit, rows)
        for visit in survey.visits
        if not (rows := survey.equipment[survey.equipment["visit"] == visit.id]).empty
    ]
    found: list[str] = []
    for k, (visit, rows) in enumerate(listed):
        here = _tests_in(survey, rows, judged)
        machines = ", ".join(dict.fromkeys(str(name) for name in rows["machine"]))
        if here and visit.started is None:
            found.append(
                f"drying machines ({machines}) are recorded on visit {visit.id}, whose day is not"
                f" stated, in the room of {_named(here)}"
            )
            continue
        near = [one for one in here if _within(visit, one)]
        if near:
            found.append(
                f"drying machines ({machines}) are recorded on visit {visit.id} of"
                f" {visit.started:%Y-%m-%d} in the room of {_named(near)}, tested at most four days"
                " later"
            )
        if k + 1 == len(listed):
            continue
        after, rows_after = listed[k + 1]
        still = _tests_in(survey, rows_after, here)
        between = [one for one in still if one not in near and _between(visit, one, after)]
        if between:
            found.append(
                f"drying machines ({machines}) are recorded on visit {visit.id} and still on visit"
                f" {after.id}, in the room of {_named(between)}, tested between them"
            )
    return found


def _ran(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say by log which machines ran under tests, or in the four days before."""
    found = []
    for log in survey.machine_logs:
        beside = [
            (one, when)
            for one in judged
            if one.judged and one.entry.room is not None
            if log.room in ("", one.entry.room.name) and (when := _last_run(log, one)) is not None
        ]
        if beside:
            tests = _named([one for one, _ in beside])
            last = max(when for _, when in beside)
            found.append(
                f"the log of machine {log.machine} has it running up to {last:%Y-%m-%d}, in the"
                f" room of {tests}, tested then or at most four days later"
            )
    return found


def _last_run(log: MachineLog, test: JudgedTest) -> datetime | None:
    """Return the last entry of a run in the time that a test asks machines to be off."""
    if test.read is None:
        return None
    began = min(test.entry.moment("placed") or test.read, test.read)
    ran = [
        one.when
        for one in log.entries
        if began - OFF < one.when <= test.read
        if any((one.litres, one.run_hours, one.energy_kwh, one.current_a))
    ]
    return max(ran, default=None)


def _tests_in(
    survey: Survey, machines: pd.DataFrame, judged: Sequence[JudgedTest]
) -> list[JudgedTest]:
    """Return the tests that speak for the floor in rooms in which machines are listed."""
    places = machines[["x", "y"]].to_numpy(dtype=float).tolist()
    under = [survey.plan.room_at(x, y) for x, y in places]
    rooms = {room.name for room in under if room is not None}
    return [
        one
        for one in judged
        if one.judged and one.read is not None and one.entry.room is not None
        if one.entry.room.name in rooms
    ]


def _within(visit: Visit, test: JudgedTest) -> bool:
    """Whether a test began at most four days after a visit, or was under way on its day."""
    if visit.started is None or test.read is None or visit.started.date() > test.read.date():
        return False
    began = test.entry.moment("placed") or test.read
    return min(began, test.read) - visit.started <= OFF


def _between(visit: Visit, test: JudgedTest, after: Visit) -> bool:
    if visit.started is None or after.started is None or test.read is None:
        return False
    return visit.started <= test.read <= after.started


def _named(tests: Sequence[JudgedTest]) -> str:
    return ", ".join(dict.fromkeys(one.entry.label for one in tests))
