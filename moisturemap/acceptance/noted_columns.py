"""Columns nobody knows beside tests: what of them may mean that a result does not stand.

No list of what a tester may say of his test is complete, so a cell is read the other way round: one
that is no number, no answer its heading makes harmless and not made of words known to be harmless
has to be cleared up.

Method: ``docs/method/acceptance.md``, notes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from moisturemap.survey.answer_words import answer_confirms, answer_denies, is_answer
from moisturemap.survey.harmless_note import is_cleared, left_open, strange_words
from moisturemap.survey.note_words import may_spoil_test, names_fault, names_wet_floor

_NOTE = re.compile(
    r"note|remark|comment|observ|problem|issue|condition|detail|extra|info|unnamed|column|spalte"
    r"|colonne|anmerk|bemerk|hinweis|zustand|remarque|preface|^\W*\d*\W*$",
    re.IGNORECASE,
)
"""Headings of columns that hold what a note does; a comma cuts off what nobody put in quotes."""

_ABOUT = re.compile(
    r"\b(?:clients?|customer|compan(?:y|ies)|contractor|firm|job|project|order|contract|site"
    r"|building|block|address|street|city|town|storey|level|floor|apartment|flat|bay|batch|lot"
    r"|serial|s ?/?n|manufacturer|maker|make|model|brand|type|version|software|file|page|sheet"
    r"|ref\w*|gps|lat\w*|lon\w*|coord\w*|grid|image|link|url|inspector|tester|names?|initials"
    r"|signature|date|time|week|zone|country|kunde|auftrag\w*|projekt\w*|objekt|bauvorhaben|firma"
    r"|hersteller|typ|charge|\w*nummer|datum|uhrzeit|seite|blatt|chantier|projet|affaire|société"
    r"|fabricant|numéro|heure)\b|\b(?:by|von|durch|par)\W*$",
    re.IGNORECASE,
)
"""Headings of what names the job, its people and its papers (common words)."""

_NUMBER = re.compile(
    r"[<>≤≥~≈=±+\-–]*\s*\d[\d\s.,:/+\-–±TZ]*\s*"
    r"(?:%? ?r\.?h|%|°|r\.?f|h\.?r|[a-zµ]{1,3}[²³23]?(?:\s?/\s?[a-z0-9² ]{1,8})?|days?|hours?|tage?"
    r"|jours?)?(?:\s?[cfk])?\.?|[-–—./]*",
    re.IGNORECASE,
)
"""A number, a day or a time, with its unit; or a dash for none."""


def is_note(heading: str) -> bool:
    """Whether a column holds what a note does, by its heading; "" is that of the note itself.

    Parameters
    ----------
    heading : str
    """
    return not heading or _NOTE.search(heading) is not None


def open_words(heading: str, text: str, names: Sequence[str] = ()) -> tuple[str, ...]:
    """Return what of a cell is not known to be harmless under its heading.

    Parameters
    ----------
    heading : str
        Of a column that is not known, or "" for the note.
    text : str
    names : sequence of str
        What rooms, people and instruments of the job are called.

    Examples
    --------
    >>> [open_words(*one) for one in (("valid", "no"), ("valid", "yes"), ("crack", "no"))]
    [('no',), (), ()]
    >>> [open_words(*one) for one in (("seal", "open"), ("batch", "A7"), ("age", "90 days"))]
    [('open',), (), ()]
    """
    told = left_open(text)
    if is_note(heading):
        return strange_words(told, names)
    if is_cleared(heading) or answer_denies(heading, told) or answer_confirms(heading, told):
        return ()
    about = _ABOUT.search(heading) is not None
    if is_answer(told) and not _counts(heading, told):
        return () if about and len(told) == 1 else (told,)
    if _NUMBER.fullmatch(told):
        return ()
    if "?" in told or (not about and _asks_for_harm(heading)):
        return (told,)
    return () if about and not names_fault(told) else strange_words(told, names)


def _counts(heading: str, told: str) -> bool:
    """Whether 0 and 1 under a heading are numbers: where neither is an answer to it."""
    yes_or_no = (answer_denies(heading, "no"), answer_confirms(heading, "yes"))
    return told.isdigit() and not any(yes_or_no) and not _asks_for_harm(heading)


def _asks_for_harm(heading: str) -> bool:
    """Whether a heading asks for something that spoils a test, so that any answer but no does."""
    return answer_denies(heading, "no") or may_spoil_test(heading) or names_wet_floor(heading)
