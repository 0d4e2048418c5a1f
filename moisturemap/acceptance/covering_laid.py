"""Words of a job which say that its covering lies already, where no day of it is recorded.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.covering_kinds import coverings_named
from moisturemap.survey import Survey
from moisturemap.survey.harmless_note import left_open
from moisturemap.survey.own_words import own_notes

_TO_COME = (
    r"(?<!loose )(?<!loose-)(?<!be )(?<!being )(?<!not )(?<!yet )(?<!when )(?<!before )(?<!until )"
    r"(?<!nicht )(?<!lose )(?<!wird )(?<!être )(?<!non )(?<!pas )"
)
_WHEN = (
    r"(?=\s*(?:[,;.)!]|$|and\b|und\b|et\b|since\b|last\b|(?:(?:on|in|am|im|le|en)\s+)?(?:the\s+)?"
    r"(?:\d|jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mär|mai|okt|dez|fév|avr|juin|juil|aoû"
    r"|déc|mon|tue|wed|thu|fri|sat|sun)))"
)
_LAID = re.compile(
    rf"{_TO_COME}\b(?:(?:re)?laid|installed|verlegt|posée?)\b{_WHEN}"
    r"|\b(?:is|are|was|already|been)\s+(?:glued |put )?down\b|\bdown since\b|\balready laid\b"
    r"|\b(?:failing|failed|blister(?:s|ed|ing)?|came loose|coming (?:loose|up)"
    r"|liegt (?:schon|bereits)|bereits verlegt|déjà posée?)\b",
    re.IGNORECASE,
)
"""Words for a covering that lies, and not for how one is laid ("loose laid", "to be laid")."""

_FLOORING = re.compile(
    r"\b(?:floor ?coverings?|coverings?|flooring|bodenbel\w+|bel[aä]g\w*|revêtements?)\b",
    re.IGNORECASE,
)
_UP_AGAIN = re.compile(
    r"\b(?:removed|lifted|stripped|taken (?:up|off)|torn (?:up|out)|entfernt|ausgebaut|déposée?"
    r"|enlevée?)\b",
    re.IGNORECASE,
)


def said_to_be_laid(survey: Survey) -> list[str]:
    """Say which words of a job tell that its covering lies, where no room states when.

    Parameters
    ----------
    survey : Survey
    """
    if any(room.slab.covered for room in survey.plan.rooms):
        return []
    covering = left_open(survey.details.get("covering", ""))
    notes = filter(_of_covering, map(left_open, own_notes(survey)))
    texts = [("the covering", covering), *(("the note of the job", one) for one in notes)]
    return [
        f"{told} says {text!r}, and no room states the day it was covered: what is read under a"
        " covering is not how dry the floor was when it was covered; state the day with the rooms,"
        " or clear it up by hand in brackets behind the words, (cleared: name, 2026-03-31)"
        for told, text in texts
        if _LAID.search(text) and not _UP_AGAIN.search(text)
    ]


def _of_covering(text: str) -> bool:
    return bool(coverings_named(text) or _FLOORING.search(text))
