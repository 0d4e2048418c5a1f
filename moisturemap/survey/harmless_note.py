"""Which notes beside tests and visits are harmless, and which wait to be cleared up by hand.

No list of words that spoil a test is ever complete, so notes are read the other way round: what is
not made of words known to be harmless (``harmless_words.toml``) has to be cleared up. Whoever does
so writes it behind the note in brackets: ``moved by the cleaners (cleared: A. B., 2026-03-12)``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from moisturemap.survey.note_days import days_named
from moisturemap.survey.note_words import without_denials

_MARK = re.compile(
    r"[\[(]\s*(?:cleared(?: up)?|geklärt|geklaert|levé|éclairci)\s*(?:by|von|par)?\s*:?\s+"
    r"(?P<who>[^\W\d_][^()\[\],;:]*?)\s*[,;]\s*(?P<day>[^()\[\]]*\d[^()\[\]]*)[\])]",
    re.IGNORECASE,
)
_DISTANCE = re.compile(
    r"\b\d+(?:[.,]\d+)?\s*(?:m|cm|ft|in)\b(?:\s*(?:from|off|to|von|vom|zur|zum|de|du)\s+"
    r"(?:the |der |dem |la |le |l')?[^\W\d_]+)?",
    re.IGNORECASE,
)
_CLOCK = re.compile(
    r"\b(?:(?:read|placed|drilled|set|abgelesen|gesetzt|gebohrt|lu|posé|foré)\s+)?"
    r"(?:(?:at|um|à)\s+)?\d{1,2}[:.]\d{2}\b(?!\s*(?:%|cm|mm|m|bar|h)\b)",
    re.IGNORECASE,
)
_CODE = re.compile(
    r"\b(?!(?:rh|rf|hr|cm|mc|ph)\d)[a-z]{1,3}[-. ]?\d{1,5}[a-z]?\b|\b[a-z]\b(?!['’])",
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W\d_]+")
_TELLING = re.compile(
    r"(?:heat|heiz|chauff|warm|dry|trock|sec|wet|damp|nass|feucht|leak|open|off|not?|kein|ohne|un"
    r"|boil|plant)",
    re.IGNORECASE,
)
"""Words that tell something even where a room or a person is called so."""


def left_open(note: str) -> str:
    """Return what of a note nobody cleared up: all that stands behind the last clearance in it.

    Examples
    --------
    >>> left_open("moved (cleared: A. B., 2026-03-12) then lifted"), left_open("moved (cleared)")
    ('then lifted', 'moved (cleared)')
    """
    ends = [mark.end() for mark in _marks(note)]
    return note[max(ends, default=0) :].strip()


def is_cleared(text: str) -> bool:
    """Whether somebody cleared something up in a text, with name and full date.

    Examples
    --------
    >>> [is_cleared(one) for one in ("weather (cleared: A. B., 2026-03-12)", "weather (cleared)")]
    [True, False]
    """
    return bool(_marks(text))


def without_clearances(note: str) -> str:
    """Return a note without what was written in it to clear it up.

    Examples
    --------
    >>> without_clearances("joist 24 % (geklärt: A. B., 12.03.2026)")
    'joist 24 %'
    """
    for mark in reversed(_marks(note)):
        note = note[: mark.start()] + note[mark.end() :]
    return note.strip()


def strange_words(note: str, names: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the words of a note that are not known to be harmless.

    Parameters
    ----------
    note : str
    names : iterable of str
        What rooms, people and instruments of the job are called.

    Examples
    --------
    >>> [strange_words(one) for one in ("corner by the door", "moved 0.5 m", "no cracks")]
    [(), ('moved',), ()]
    """
    known, phrases = _known()
    own = {word for name in names for word in _words(name) if not _TELLING.match(word)}
    text = phrases.sub(" ", without_denials(note))
    for harmless in (_DISTANCE, _CLOCK, _CODE):
        text = harmless.sub(" ", text)
    return tuple(dict.fromkeys(one for one in _words(text) if one not in known | own))


def _words(text: str) -> list[str]:
    return [word.casefold() for word in _WORD.findall(text)]


def _marks(note: str) -> list[re.Match[str]]:
    """Return the clearances in a note that name a person and a full date."""
    return [one for one in _MARK.finditer(note) if days_named(one["day"], 0)]


@cache
def _known() -> tuple[frozenset[str], re.Pattern[str]]:
    text = files("moisturemap.survey").joinpath("harmless_words.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    phrases = table.pop("phrases")
    words = frozenset(word for listed in table.values() for word in _words(listed))
    return words, re.compile(rf"\b(?:{'|'.join(map(re.escape, phrases))})\b", re.IGNORECASE)
