"""What people wrote beside tests and visits, and what of it keeps a floor from meeting its limit.

A fact for which the record has no field often stands in a note. A note is no measurement: it makes
no result and no floor pass or fail, it asks to be cleared up.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.noted_numbers import may_be_result, tells_higher
from moisturemap.acceptance.wetted import tested_again
from moisturemap.survey import Survey
from moisturemap.survey.note_days import days_named
from moisturemap.survey.note_words import may_spoil_test, names_water_event


def note_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which notes speak against what the floor is cleared by.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    said = [
        f"the note beside {', '.join(names)} says {note!r}, which may mean that the result does not"
        " stand: clear it up in the note, or repeat the test"
        for note, names in _by_note([one for one in judged if _heard(one)]).items()
        if may_spoil_test(note)
    ]
    return [*_after_tests(survey, judged), *said, *_higher(survey, judged)]


def _heard(test: JudgedTest) -> bool:
    """Whether what is written beside a test may speak against the floor.

    Beside one that is not valid or too old, too: what its record lacks takes no doubt away.
    """
    lapsed = test.standing == "invalid" or not test.fresh
    return test.judged or (lapsed and not test.superseded and test.value is not None)


def _higher(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which numbers beside results may be results above the limit."""
    found = []
    for test in judged:
        entry = test.entry
        limit = survey.room_limits.get(entry.room.name if entry.room else "", survey.limit)
        if not _heard(test) or limit is None:
            continue
        against, method = limit.value, entry.method.key
        said = [
            f"{heading}: {text}"
            for heading, text in entry.beyond.items()
            if may_be_result(heading, text, method, against)
        ]
        note = entry.text("note").strip()
        said += [note] if tells_higher(note, method, against) else []
        found += [
            f"{one!r} beside {entry.label} may be a result above the limit of {against:g}: enter it"
            " as a test of its own or as second_value, or name the column by what it holds"
            for one in said
        ]
    return found


def _by_note(judged: Sequence[JudgedTest]) -> dict[str, list[str]]:
    """Return tests by what is written beside them.

    A column that is not known is a note, too: a comma cuts what nobody put in quotes.
    """
    found: dict[str, list[str]] = {}
    for test in judged:
        entry = test.entry
        beyond = [f"{heading}: {text}" for heading, text in entry.beyond.items()]
        for note in (entry.text("note").strip(), *beyond):
            if note:
                found.setdefault(note, []).append(entry.label)
    return found


def _after_tests(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that a visit tells of water after tests were read."""
    found = []
    for visit in survey.visits:
        started, note = visit.started, visit.note.strip()
        if started is None or not names_water_event(note):
            continue
        told = _last_told(started, note)
        names = [
            test.entry.label
            for test in judged
            if test.judged
            and test.read is not None
            and test.read <= told
            and not tested_again(test, replace(visit, started=told), judged)
        ]
        if names:
            found.append(
                f"the note of visit {visit.id} of {started:%Y-%m-%d} says {note!r}, and"
                f" {', '.join(dict.fromkeys(names))} had been read before: what was read there does"
                " not speak for the floor since; test again, or clear it up in the note"
            )
    return found


def _last_told(started: datetime, note: str) -> datetime:
    """Return until when a note may tell of water: the visit, or the end of a later day it names."""
    ends = [
        datetime.combine(day, time.max, tzinfo=started.tzinfo)
        for day in days_named(note, started.year)
    ]
    return max([started, *ends])


def notes_beside(survey: Survey, judged: Sequence[JudgedTest]) -> tuple[str, ...]:
    """Return the notes of visits and of the tests a floor meets its limit by, in people's words.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    noted = _by_note([one for one in judged if one.judged]).items()
    told = [f"noted beside {', '.join(names)}: {note!r}" for note, names in noted]
    told += [f"noted on visit {one.id}: {one.note.strip()!r}" for one in survey.visits if one.note]
    return tuple(told)
