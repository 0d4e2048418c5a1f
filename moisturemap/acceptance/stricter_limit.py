"""Words of a record that name a lower limit than the one the floor is held against.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.record import RH_METHODS, method_named
from moisturemap.acceptance.verdict import limit_words
from moisturemap.survey import Limit, Survey
from moisturemap.survey.harmless_note import left_open
from moisturemap.survey.own_words import own_notes

_HUMIDITY = (r"%(?!\s*(?:cm|mc|m\b|mass))", 40.0)
_UNITS = {
    **dict.fromkeys(RH_METHODS, _HUMIDITY),
    "carbide": (r"(?:%\s*cm\b|cm\s*-?\s*%)", 0.1),
    "oven-dry": (r"(?:mass\s*-?\s*%|m\s*-\s*%|%\s*(?:by )?mass)", 0.1),
    "pin": (r"%(?!\s*(?:r\.?h|cm))", 5.0),
}
"""How limits of a method are written behind a number, and from where on a number may be one (our
choice); emission in its two units is left out."""

_LIMITS = re.compile(
    r"\b(?:limit\w*|max\w*|at\smost|up\sto|not\sabove|no\smore\sthan|below|allow\w*|permit\w*|asks?"
    r"|höchst\w*|bis|grenz\w*|zulässig\w*|unter|jusqu|seuil|inférieure?)\b|[<≤]",
    re.IGNORECASE,
)
_BARE = re.compile(
    r"(?:\b(?:limit\w*|max\w*|at\smost|up\sto|not\s(?:above|over)|no\smore\sthan|allow\w*|permit\w*"
    r"|höchst\w*|bis|grenz\w*|zulässig\w*|jusqu\W?à|seuil)\b\.?|[<≤]=?)"
    r"(?:\s*(?:is|of|at|ist|von|de|[:=]))?\s*(\d+(?:[.,]\d+)?)(?![.,/-]?\d|\s*[^\W\d_]|\s*[°%/²])",
    re.IGNORECASE,
)
"""A number that a word makes a limit, with no unit behind it."""

_HUMIDITY_BEFORE = re.compile(
    r"\br\.?\s?[hf]\b\.?\s*(?:[:=]|[<≤]=?)?\s*(\d+(?:[.,]\d+)?)(?![.,/-]?\d|\s*[^\W\d_]|\s*[°²])",
    re.IGNORECASE,
)
"""A number behind the name of its quantity ("RH 65")."""

_TEXTS = {"covering": "the covering", "adhesive": "the adhesive"}
_NOTE = "the note of the job"


def stricter_doubts(survey: Survey) -> list[str]:
    """Say where source, covering, adhesive or note of a job name a lower limit than the stated.

    Words that name the stated limit besides name several, of which somebody chose one.

    Parameters
    ----------
    survey : Survey
    """
    limits = [*survey.room_limits.values(), *([survey.limit] if survey.limit else [])]
    found: dict[str, None] = {}
    for limit in limits:
        for told, text in _texts(survey, limit):
            lower = _lower(text, limit, named=told == _NOTE)
            if lower:
                found[
                    f"{told} says {text!r}, which names a lower limit than {limit_words(limit)}:"
                    f" state the limit that holds, or name {limit.value:g} and what {lower} is for"
                ] = None
    return list(found)


def _texts(survey: Survey, limit: Limit) -> list[tuple[str, str]]:
    own = [(told, survey.details.get(key, "")) for key, told in _TEXTS.items()]
    notes = [(_NOTE, note) for note in own_notes(survey)]
    return [("the source of the limit", limit.source), *own, *notes]


def _lower(text: str, limit: Limit, *, named: bool) -> str:
    """Return the lowest limit a text names below the stated one, which it does not name; "" none.

    Parameters
    ----------
    text : str
    limit : Limit
    named : bool
        Whether a number is a limit only where a word before it says so.
    """
    unit, least = _UNITS.get(method_named(limit.method).key, ("", 0.0))
    if not unit:
        return ""
    text = left_open(text)
    matches = [*re.finditer(rf"(\d+(?:[.,]\d+)?)\s*{unit}", text, re.IGNORECASE)]
    if method_named(limit.method).key in RH_METHODS:
        matches += _HUMIDITY_BEFORE.finditer(text)
    matches = [
        one
        for one in matches
        if not named or _LIMITS.search(text[max(0, one.start() - 30) : one.start()])
    ]
    found = {float(one[1].replace(",", ".")): one[1] for one in (*matches, *_BARE.finditer(text))}
    lower = [number for number in found if least <= number < limit.value]
    if not lower or limit.value in found:
        return ""
    return found[min(lower)]
