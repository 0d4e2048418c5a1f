"""Settings of a TOML table, checked key by key."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any

from moisturemap.errors import SurveyError


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What a key of a table may hold.

    Attributes
    ----------
    kind : str
        ``text``, ``number``, ``whole``, ``flag``, ``day``, ``moment``, ``numbers``, ``scale``,
        ``spots``, ``tables``, ``table``, ``files`` or ``limit``.
    choices : tuple
        The only values allowed, when there are such.
    low, high, above : float or None
        Bounds of a number; ``above`` itself is not allowed.
    required : bool
    """

    kind: str
    choices: tuple[Any, ...] = ()
    low: float | None = None
    high: float | None = None
    above: float | None = None
    required: bool = False

    @property
    def allowed(self) -> str:
        """What is allowed, in words."""
        if self.choices:
            return ", ".join(repr(choice) for choice in self.choices)
        bounds = _bounds(self.low, self.high)
        bounds += "" if self.above is None else f" above {self.above:g}"
        return {
            "text": "text in quotes",
            "number": f"a number{bounds}, with a decimal point",
            "whole": f"a whole number{bounds}",
            "flag": "true or false",
            "day": "a date such as 2026-03-14",
            "moment": "a date and time such as 2026-03-14T09:30:00",
            "numbers": "numbers in brackets, such as [12, 14, 13.5]",
            "scale": "[lowest, highest] as two numbers, the lower first",
            "spots": "[x, y, value] for each place, such as [[1.2, 0.4, 14.5], [3.0, 2.2, 18]]",
            "tables": "tables, each under its own heading in double brackets",
            "table": "a table",
            "files": 'a file name, a table such as {file = "a.csv"}, or a list of them',
            "limit": "a number, or a table with method, value, unit and source",
        }[self.kind]


def _bounds(low: float | None, high: float | None) -> str:
    if low is not None and high is not None:
        return f" from {low:g} to {high:g}"
    if low is not None:
        return f" of at least {low:g}"
    return f" of at most {high:g}" if high is not None else ""


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known word a person most likely meant, or an empty string.

    Parameters
    ----------
    word : str
        As written.
    known : iterable of str
        Words that are understood.
    """
    by_case = {name.casefold(): name for name in known}
    close = get_close_matches(word.casefold(), list(by_case), n=1, cutoff=0.6)
    return by_case[close[0]] if close else ""


def check_settings(
    table: Mapping[str, Any], settings: Mapping[str, Setting], source: str, where: str
) -> dict[str, Any]:
    """Return the settings a table states, each of the right type.

    Raises
    ------
    SurveyError
        For an unknown key (the nearest valid one is suggested), a wrong type or value, or a
        missing key.
    """
    for key in table:
        if key not in settings:
            meant = nearest(key, settings)
            message = "there is no such key" + (f"; did you mean {meant!r}?" if meant else "")
            raise SurveyError(
                message, source=source, place=where, value=key, allowed=", ".join(settings)
            )
    for key, setting in settings.items():
        blank = key in table and isinstance(table[key], str) and not table[key].strip()
        if setting.required and (key not in table or blank):
            message = f"the key {key!r} is {'empty' if blank else 'missing'}"
            raise SurveyError(message, source=source, place=where, allowed=setting.allowed)
    return {
        key: _checked(value, settings[key], source, f"{where} {key}")
        for key, value in table.items()
    }


def _checked(value: Any, setting: Setting, source: str, place: str) -> Any:
    fits = _FITS[setting.kind]
    good = fits(value)
    if good and setting.choices:
        good = value in setting.choices
    if good and setting.kind in ("number", "whole"):
        good = (setting.low is None or value >= setting.low) and (
            setting.high is None or value <= setting.high
        )
        good = good and (setting.above is None or value > setting.above)
    if not good:
        message = "this value cannot be used"
        if setting.choices and isinstance(value, str):
            meant = nearest(value, [str(choice) for choice in setting.choices])
            message += f"; did you mean {meant!r}?" if meant else ""
        raise SurveyError(message, source=source, place=place, value=value, allowed=setting.allowed)
    return float(value) if setting.kind == "number" else value


LARGEST_NUMBER = 1e15
"""Largest number a setting may be; doubles hold every whole number up to it. Our choice."""


def is_number(value: Any) -> bool:
    """Whether a TOML value is a number that can be computed with (true and false are none)."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return abs(value) <= LARGEST_NUMBER  # also False for NaN, and no overflow for long integers


def _is_numbers(value: Any) -> bool:
    return isinstance(value, list) and all(map(is_number, value))


def _is_files(value: Any) -> bool:
    entries = value if isinstance(value, list) else [value]
    return all(isinstance(entry, str | dict) for entry in entries)


_FITS: dict[str, Callable[[Any], bool]] = {
    "text": lambda value: isinstance(value, str),
    "number": is_number,
    "whole": lambda value: isinstance(value, int) and is_number(value),
    "flag": lambda value: isinstance(value, bool),
    "day": lambda value: isinstance(value, date) and not isinstance(value, datetime),
    "moment": lambda value: isinstance(value, date),
    "numbers": _is_numbers,
    "scale": lambda value: _is_numbers(value) and len(value) == 2 and value[0] < value[1],
    "spots": lambda v: isinstance(v, list) and all(_is_numbers(one) and len(one) == 3 for one in v),
    "tables": lambda v: isinstance(v, list) and all(isinstance(one, dict) for one in v),
    "table": lambda value: isinstance(value, dict),
    "files": _is_files,
    "limit": lambda value: is_number(value) or isinstance(value, dict),
}
