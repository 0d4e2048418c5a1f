"""Days that people's notes name: "8 March", "am 8. März", "2026-03-08", "8.3."."""

from __future__ import annotations

import re
from datetime import date

_MONTHS = (
    ("jan",),
    ("feb", "fév", "fev"),
    ("mar", "mär", "maerz", "mrz"),
    ("apr", "avr"),
    ("may", "mai"),
    ("jun", "juin"),
    ("jul", "juil"),
    ("aug", "aoû", "aou"),
    ("sep",),
    ("oct", "okt"),
    ("nov",),
    ("dec", "dez", "déc"),
)
MONTH_NAME = "|".join(name for names in _MONTHS for name in names)
_FORMS = (
    re.compile(r"\b(?P<y>20\d\d)-(?P<m>\d{1,2})-(?P<d>\d{1,2})\b"),
    re.compile(r"\b(?P<d>\d{1,2})\.\s?(?P<m>\d{1,2})\.(?:(?P<y>20\d\d)|(?!\d))"),
    re.compile(r"\b(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>20\d\d)\b"),
    re.compile(
        rf"\b(?P<d>\d{{1,2}})(?:st|nd|rd|th|er|\.)?\s+(?P<w>{MONTH_NAME})\w*\.?,?\s*(?P<y>20\d\d)?",
        re.IGNORECASE,
    ),
    re.compile(
        rf"\b(?P<w>{MONTH_NAME})\w*\.?\s+(?P<d>\d{{1,2}})(?:st|nd|rd|th)?\b,?\s*(?P<y>20\d\d)?",
        re.IGNORECASE,
    ),
)


def days_named(note: str, year: int) -> tuple[date, ...]:
    """Return the days a note names; those without a year are of the year given.

    Parameters
    ----------
    note : str
    year : int

    Examples
    --------
    >>> [str(one) for one in days_named("flooded on 8 March, dried by 2026-03-12", 2026)]
    ['2026-03-12', '2026-03-08']
    """
    found: dict[date, None] = {}
    for form in _FORMS:
        for told in form.finditer(note):
            part = told.groupdict()
            month = month_number(part["w"]) if "w" in part else int(part["m"])
            try:
                found[date(int(part.get("y") or year), month, int(part["d"]))] = None
            except ValueError:  # no day of any month
                continue
    return tuple(found)


def month_number(word: str) -> int:
    """Return the number of a month by its name, cut short or not.

    Examples
    --------
    >>> [month_number(one) for one in ("March", "mai", "Dez")]
    [3, 5, 12]
    """
    text = word.casefold()
    return next(n for n, names in enumerate(_MONTHS, 1) if text.startswith(names))
