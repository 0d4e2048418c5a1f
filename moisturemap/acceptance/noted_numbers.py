"""Numbers in notes and in columns nobody knows that may be results above the limit.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.record import RH_METHODS

MOST_TIMES_LIMIT = 5.0
"""A number beyond so many times the limit is of something else, where the method has no end of its
scale; project choice."""

_RESULT = re.compile(
    r"(?:^|[\W_])(?:rh|hr|rf|cm|mc|mver|readings?|read|values?|results?|retest|max\w*|corr\w*"
    r"|humidity|moisture|messwert|wert|ergebnis|feuchte|valeur|lecture|mesure|humidité)(?:$|[\W_\d])",
    re.IGNORECASE,
)
"""Headings of results, whatever else they name (\"RH after 72 h\")."""

_OTHER = re.compile(
    r"(?:^|[\W_])(?:ages?|days?|hours?|time|date|weeks?|elevation|height|temp\w*|dew\w*|°?[cf]|mm|cm|m|ft"
    r"|in|kg|g|h|d|min|bar|m2|ft2|area|batch|lot|serial|s\s?/?n|ids?|no|nr|number|phone|page|photo|zone"
    r"|storey|floor|level|unit|bag|grid|row|col|job|order|alter|tage?|stunden|datum|höhe|fläche|charge"
    r"|nummer|seite|âge|jours?|heures?|hauteur|surface|lot|numéro)(?:$|[\W_\d])",
    re.IGNORECASE,
)
"""Headings of numbers that are no results (common practice)."""

_OF_ANOTHER = (
    r"\s*(?:mm|cm|m|ft|in|inch\w*|['\"′″]|°|deg\w*|[cfk]\b|h|hrs?|hours?|min\w*|s|sec\w*|d|days?|tagen?"
    r"|jours?|weeks?|months?|years?|bar|g|kg|lbs?|v|hz|pages?|st|nd|rd|th|/|:|-\d)(?![\w%]|-%)"
)
_NAMES = (
    r"(?:\b(?:no|nr|n°|room|raum|grid|page|photo|hole|loch|serial|certificate|cert|permit|bag|batch"
    r"|sleeve|plug|column|pillar|board|plank|row|joist|door|bay|axis|desk|stütze|achse|tür|salt|salz|sel|nacl|kcl|kno3|bs|en|din|iso|astm|edition)\b\.?\s*|[#/:.,\-–]|[a-z])"
)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def may_be_result(heading: str, text: str, method: str, limit: float) -> bool:
    """Whether a cell of a column that is not known may hold a result above the limit.

    Parameters
    ----------
    heading : str
    text : str
    method : str
        Of the test in its row.
    limit : float
        In the unit of the results.
    """
    if _in_unit(text, method, limit):
        return True
    if _OTHER.search(heading) and not _RESULT.search(heading):
        return False
    return tells_higher(text, method, limit, counted=True)


def _in_unit(text: str, method: str, limit: float) -> bool:
    """Whether a cell states a number above the limit in the unit of the results, whatever heads it.

    A share of something else has a heading of its own and a bare per cent sign.
    """
    unit = _UNITS.get(method, r"%\s*(?:r\.?\s?[hf]|h\.?r)")
    numbers = re.findall(rf"(\d+(?:[.,]\d+)?)\s*(?:{unit})", text, re.IGNORECASE)
    return any(limit < float(one.replace(",", ".")) <= _end(method, limit) for one in numbers)


_UNITS = {
    "carbide": r"%\s*cm|cm\s*-?\s*%",
    "oven-dry": r"mass\s*-?\s*%|m\s*-\s*%|%\s*(?:by mass|mass)",
    "mver": r"lbs?\b|g/m",
    "pin": r"%\s*m\.?c",
}
"""Units of results as they are written behind a number; of the others that of humidity."""


def tells_higher(note: str, method: str, limit: float, *, counted: bool = False) -> bool:
    """Whether a number in a note may be a result above the limit.

    Parameters
    ----------
    note : str
    method : str
    limit : float
    counted : bool
        Whether whole numbers without a unit may be results of every method; else of humidities
        and of timber alone, which are read to the whole per cent.

    Examples
    --------
    >>> said = ("second probe said 91", "H91", "drilled to 90 mm", "91 % on arrival", "2026-03-89")
    >>> [tells_higher(one, "in-situ-rh", 85.0) for one in said]
    [True, False, False, True, False]
    """
    for found in _NUMBER.finditer(note):
        before, after = note[: found.start()], note[found.end() :]
        if re.search(rf"{_NAMES}$", before, re.IGNORECASE):
            continue
        if re.match(_OF_ANOTHER, after, re.IGNORECASE):
            continue
        whole = re.fullmatch(r"\d+", found.group()) is not None
        named = re.match(r"\s*(?:%|cm\b|rh\b|lb)", after, re.IGNORECASE) is not None
        if method not in (*RH_METHODS, "pin") and whole and not named and not counted:
            continue
        if limit < float(found.group().replace(",", ".")) <= _end(method, limit):
            return True
    return False


def _end(method: str, limit: float) -> float:
    """Return up to where a number may be a result of a method."""
    return 100.0 if method in RH_METHODS else MOST_TIMES_LIMIT * limit
