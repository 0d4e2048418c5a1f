"""What a survey calls its own rooms, people and instruments, and what it notes of itself."""

from __future__ import annotations

import re

from moisturemap.survey.survey import Survey

_CODE = re.compile(r"\W*(?:(?:[a-z]{1,4}[-. /]?)?\d+[a-z]?|[a-z])(?![^\W_])", re.IGNORECASE)

NOTES = ("note", "notes", "remark", "remarks", "comment")
"""Details of a survey that are notes."""

LEFT_UNREAD = "lies beside the survey and is not named in it"
"""In the note on a file that nobody read and that may draw services."""


def behind_code(name: str) -> str:
    """Return what stands behind the code a hole is called by; "" where it has none.

    Examples
    --------
    >>> behind_code("H3 (void)").strip(), behind_code("shop 2")
    ('(void)', '')
    """
    code = _CODE.match(name)
    return name[code.end() :] if code else ""


def own_names(survey: Survey) -> list[str]:
    """Return what rooms, tests, people and instruments of a job are called.

    Parameters
    ----------
    survey : Survey
    """
    holes = survey.tests["hole"].dropna().unique() if "hole" in survey.tests else ()
    called = [name.removesuffix(behind_code(name)) for name in map(str, holes)]
    return [*job_names(survey), *called]


def job_names(survey: Survey) -> list[str]:
    """Return what rooms, people and instruments of a job are called.

    Parameters
    ----------
    survey : Survey
    """
    tests = survey.tests
    columns = [name for name in ("operator", "instrument") if name in tests]
    listed = [str(name) for column in columns for name in tests[column].dropna().unique()]
    visits = [name for visit in survey.visits for name in (visit.id, visit.operator)]
    rooms = [room.name for room in survey.plan.rooms]
    return [*rooms, *visits, *listed, *survey.instruments]


def own_notes(survey: Survey) -> list[str]:
    """Return what is noted of a survey as a whole.

    Parameters
    ----------
    survey : Survey
    """
    return [survey.details[key] for key in NOTES if survey.details.get(key)]
