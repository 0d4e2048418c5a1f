"""What people wrote beside tests and visits, and what of it keeps a floor from meeting its limit.

A fact for which the record has no field often stands in a note. A note is no measurement: it makes
no result and no floor pass or fail, it asks to be cleared up.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.noted_columns import is_note, open_words
from moisturemap.acceptance.noted_numbers import may_be_result, tells_higher
from moisturemap.acceptance.wetted import tested_again
from moisturemap.survey import Survey, Visit
from moisturemap.survey.answer_words import answer_denies, answer_spoils
from moisturemap.survey.harmless_note import left_open, strange_words, without_clearances
from moisturemap.survey.note_days import days_named
from moisturemap.survey.note_words import (
    may_spoil_test,
    names_water_event,
    names_wet_floor,
    tells_of_drying,
)
from moisturemap.survey.own_words import own_names, own_notes

_LAYERS = re.compile(r"\b(?:membrane|coat\w*|primer\w*|epoxy|resin|joints?)\b", re.IGNORECASE)
"""What the note of a job may name because it will be laid, or lies below."""

DRYING_OFF = timedelta(days=4)
"""Heating and artificial drying are off for so long before a test; UK practice after BS 8203."""


def note_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which notes speak against what the floor is cleared by, or are not known to be harmless.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    names, said = own_names(survey), []
    for (heading, text), labels in _by_note([one for one in judged if heard(one)]).items():
        note = f"{heading}: {text}" if heading else text
        told, beside = left_open(note), f"the note beside {', '.join(labels)}"
        words = open_words(heading, text, names)
        if answer_denies(heading, text):
            continue
        if may_spoil_test(told) or answer_spoils(heading, text):
            said.append(
                f"{beside} says {note!r}, which may mean that the result does not"
                " stand: clear it up in the note, or repeat the test"
            )
        elif words:
            of_column = _not_known if is_note(heading) else _column_not_known
            said.append(of_column(beside, note, words))
    of_visits = _of_visits(survey, judged, names)
    of_job = [*_of_job(survey, judged), *_job_spoils(survey, judged)]
    return [*of_job, *_after_tests(survey, judged), *said, *of_visits, *_higher(survey, judged)]


def _not_known(beside: str, note: str, words: Sequence[str]) -> str:
    """Say that nobody can tell from a note whether it spoils a test."""
    return (
        f"{beside} says {note!r}, and not all of it is known to be harmless ({', '.join(words)}):"
        " repeat the test, or clear it up by hand in brackets behind the note, (cleared: name,"
        " 2026-03-31)"
    )


def _column_not_known(beside: str, note: str, words: Sequence[str]) -> str:
    """Say that nobody can tell from a column that is not known whether it spoils a test."""
    return (
        f"{beside} says {note!r}, and under that heading it is not known to be harmless"
        f" ({', '.join(words)}): repeat the test, or clear it up by hand in brackets behind the"
        " cell, or behind the heading for the whole column, (cleared: name, 2026-03-31)"
    )


def _of_visits(survey: Survey, judged: Sequence[JudgedTest], names: Sequence[str]) -> list[str]:
    """Say which notes of the visits of tests, or of visits meanwhile, are not known harmless."""
    found = []
    for visit in survey.visits:
        own = [one.entry.label for one in judged if one.judged and _visit_of(one) == visit.id]
        meanwhile = [one.entry.label for one in judged if one.judged and _stood(one, visit)]
        notes = (visit.note, *(one.note for one in visit.acclimation))
        for note in dict.fromkeys(filter(None, map(str.strip, notes))):
            told = left_open(note)
            words = strange_words(told, names)
            if words and (own or (meanwhile and tells_of_drying(told))):
                labels = ", ".join(dict.fromkeys(own or meanwhile))
                beside = f"the note of visit {visit.id} about {labels}"
                found.append(_not_known(beside, note, words))
    return found


def _visit_of(test: JudgedTest) -> str:
    return test.entry.text("visit")


def _stood(test: JudgedTest, visit: Visit) -> bool:
    """Whether a visit fell within a test, or so shortly before that its drying still tells."""
    entry, started = test.entry, visit.started
    times = ("drilled", "lined", "placed", "read", "second_read")
    stated = [when for when in map(entry.moment, times) if when is not None]
    return (
        bool(stated)
        and started is not None
        and (min(stated) - DRYING_OFF <= started <= max(stated))
    )


def heard(test: JudgedTest) -> bool:
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
        if not heard(test) or limit is None:
            continue
        against, method = limit.value, entry.method.key
        said = [
            f"{heading}: {text}"
            for heading, text in entry.beyond.items()
            if may_be_result(heading, text, method, against)
        ]
        note = without_clearances(entry.text("note"))
        said += [note] if tells_higher(note, method, against) else []
        found += [
            f"{one!r} beside {entry.label} may be a result above the limit of {against:g}: enter it"
            " as a test of its own or as second_value, or name the column by what it holds"
            for one in said
        ]
    return found


def _by_note(judged: Sequence[JudgedTest]) -> dict[tuple[str, str], list[str]]:
    """Return tests by what is written beside them.

    Heading and text; "" heads the note. A column that is not known is a note, too: a comma cuts
    what nobody put in quotes.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for test in judged:
        entry = test.entry
        for heading, text in (("", entry.text("note").strip()), *entry.beyond.items()):
            if text:
                found.setdefault((heading, text), []).append(entry.label)
    return found


def _after_tests(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that a visit tells of water after tests were read."""
    found = []
    for visit in survey.visits:
        started, note = visit.started, visit.note.strip()
        if started is None or not names_water_event(left_open(note)):
            continue
        told = _last_told(started, left_open(note))
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


def _of_job(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that the note of the job tells of water, and nobody of when: or of after the tests."""
    note = survey.details.get("note", "").strip()
    told = left_open(note)
    reads = [one.read for one in judged if one.judged and one.read is not None]
    if not reads or not names_water_event(told):
        return []
    days, first = days_named(told, max(reads).year), min(reads).date()
    if days and max(days) < first:
        return []
    when = f"on {max(days):%Y-%m-%d}" if days else "on a day it does not name"
    return [
        f"the note of the job tells of water {when}: {note!r}; tests that were read before do not"
        " speak for the floor since: name the day, test again, or clear it up behind the note,"
        " (cleared: name, 2026-03-31)"
    ]


def _job_spoils(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that a note of the job speaks of heating, drying, wet floor or doubtful results."""
    reads = [one.read for one in judged if one.judged and one.read is not None]
    found = []
    for note in map(str.strip, own_notes(survey) if reads else ()):
        told = _LAYERS.sub(" ", left_open(note))
        days = days_named(told, max(reads).year)
        if days and max(days) < min(reads).date() - DRYING_OFF:
            continue
        if names_water_event(told):
            continue
        if tells_of_drying(told) or names_wet_floor(told) or may_spoil_test(told):
            found.append(
                f"the note of the job says {note!r}, which may mean that results do not stand:"
                " name the day, or clear it up by hand in brackets behind the note, (cleared: name,"
                " 2026-03-31)"
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
    speaking = [one for one in judged if one.judged]
    noted = [
        (f"{heading}: {text}" if heading else text, names)
        for (heading, text), names in _by_note(speaking).items()
    ]
    told = [f"noted beside {', '.join(names)}: {note!r}" for note, names in noted]
    told += [f"noted on visit {one.id}: {one.note.strip()!r}" for one in survey.visits if one.note]
    return tuple(told)
