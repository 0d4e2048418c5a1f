"""Days with the month in words: "9 March 2026 10:30", "9-Mar-26 10am", "March 9th, 2026"."""

from __future__ import annotations

import re
from datetime import date
from typing import NamedTuple

from moisturemap.survey.note_days import MONTH_NAME, month_number

_WEEKDAY = (
    r"(?:(?:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so|lun|mar|mer|jeu|ven|sam|dim)"
    r"[a-zäö]*\.?,?\s+)?"
)
_MONTH = rf"(?P<month>(?:{MONTH_NAME})[a-zäéûô]*)\.?"
_YEAR = r"(?P<year>\d{4}|\d{2})"
_CLOCK = (
    r"(?:(?:,|T|\s|\bat\b|\bum\b|\bà\b)+"
    r"(?P<clock>\d{1,2}(?:[:.h]\d{2}(?::\d{2})?)?\s*(?:[ap]\.?m\.?|h|uhr)?))?"
)
_FORMS = tuple(
    re.compile(rf"{_WEEKDAY}{order}{_CLOCK}", re.IGNORECASE)
    for order in (
        rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th|er|\.)?[\s-]+{_MONTH},?[\s-]+{_YEAR}",
        rf"{_MONTH}\s+(?P<day>\d{{1,2}})(?:st|nd|rd|th)?,?\s+(?P<year>\d{{4}})",
    )
)


class NamedDay(NamedTuple):
    """A day written with its month in words.

    Attributes
    ----------
    day : datetime.date
    clock : str
        Time of day as it stands behind it; "" for none.
    """

    day: date
    clock: str


def named_day(text: str) -> NamedDay | None:
    """Return the day and the time of day of a text; None where it is no such day.

    Parameters
    ----------
    text : str

    Raises
    ------
    ValueError
        If there is no such day.

    Examples
    --------
    >>> named_day("9th March 2026 10:30"), named_day("March 2026")
    (NamedDay(day=datetime.date(2026, 3, 9), clock='10:30'), None)
    """
    for form in _FORMS:
        told = form.fullmatch(text.strip())
        if told:
            year = int(told["year"])
            day = date(
                year + (2000 if year < 100 else 0), month_number(told["month"]), int(told["day"])
            )
            return NamedDay(day, (told["clock"] or "").strip())
    return None
