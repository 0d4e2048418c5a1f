"""Drying machines that stood on a floor while it was tested.

Artificial drying is off four days before and during a test with a hood (UK practice after BS 8203,
App. A, from secondary sources), and a dish or hood in moving dry air reads the skin of the floor.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.survey import Survey

OFF = timedelta(days=4)
"""Machines are off for so long before a test of the surface."""

SURFACE_METHODS = ("hood-rh", "mver")


def machines_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that surfaces were tested in a room in which machines are recorded to have stood."""
    return [
        f"{words}: hoods and dishes are read with all drying off for four days, so see when they"
        " were taken off, or test again without them"
        for words in _standing(survey, [one for one in judged if _surface(one)])
    ]


def machines_told(survey: Survey, judged: Sequence[JudgedTest]) -> tuple[str, ...]:
    """Tell of machines beside tests in the depth, which feel them less."""
    return tuple(_standing(survey, [one for one in judged if not _surface(one)]))


def _surface(test: JudgedTest) -> bool:
    return test.entry.method.key in SURFACE_METHODS


def _standing(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say by visit which machines stood in the rooms of which tests up to four days before."""
    found = []
    for visit in survey.visits:
        rows = survey.equipment[survey.equipment["visit"] == visit.id]
        started = visit.started
        if started is None or rows.empty:
            continue
        places = rows[["x", "y"]].to_numpy(dtype=float).tolist()
        under = [survey.plan.room_at(x, y) for x, y in places]
        rooms = {room.name for room in under if room is not None}
        names = [
            one.entry.label
            for one in judged
            if one.judged
            and one.read is not None
            and one.entry.room is not None
            and one.entry.room.name in rooms
            and started.date() <= one.read.date()
            and one.read - started <= OFF
        ]
        if names:
            machines = ", ".join(dict.fromkeys(str(name) for name in rows["machine"]))
            found.append(
                f"drying machines ({machines}) are recorded on visit {visit.id} of"
                f" {started:%Y-%m-%d} in the room of {', '.join(dict.fromkeys(names))}, read at"
                " most four days later"
            )
    return found
