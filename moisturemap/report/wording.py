"""How numbers, units, days and people's own texts are written in a report."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import pandas as pd

from moisturemap.quantities import FEET

UNITS = ("metric", "us")

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

DATES: dict[str, Callable[[date], str]] = {
    "iso": lambda day: day.isoformat()[:10],
    "dmy": lambda day: f"{day.day} {_MONTHS[day.month - 1]} {day.year}",
    "mdy": lambda day: f"{_MONTHS[day.month - 1]} {day.day}, {day.year}",
    "en-GB": lambda day: f"{day.day} {_MONTHS[day.month - 1]} {day.year}",
    "en-US": lambda day: f"{_MONTHS[day.month - 1]} {day.day}, {day.year}",
    "de-DE": lambda day: f"{day.day:02}.{day.month:02}.{day.year}",
    "fr-FR": lambda day: f"{day.day:02}/{day.month:02}/{day.year}",
}
"""Ways of writing a day: international, by the order of its parts, or by locale."""

MISSING = "not recorded"
"""Stands where a value was not given: a blank would leave open whether it was looked for."""

_TURNING = {"Cf"}
_JOINERS = "\u200c\u200d\u00ad\u200e\u200f"
"""Format characters that scripts and emoji need and that turn nothing round."""

_LENGTH = re.compile(r"(?<![\w.,/])(\d+(?:\.\d+)?) (mm|m2|m)(?![\w/²])")


def printable(text: object) -> str:
    """Return a text in which nothing acts on the reader or the page.

    Control characters, and format characters that turn the direction of what follows, become
    their code in brackets; lone surrogates become the replacement character; line breaks and all
    letters stay.
    """
    whole = str(text)
    return whole if whole.isprintable() else "".join(map(_visible, whole))


def _visible(char: str) -> str:
    code, kind = ord(char), unicodedata.category(char)
    if char in "\n\t":
        return char
    if kind == "Cs":
        return "\ufffd"
    if kind == "Cc" or (kind in _TURNING and char not in _JOINERS) or code & 0xFFFE == 0xFFFE:
        return f"[U+{code:04X}]"
    return char


def is_missing(value: Any) -> bool:
    """Return whether a value was not given."""
    return value is None or value == "" or (pd.api.types.is_scalar(value) and bool(pd.isna(value)))


@dataclass(frozen=True, slots=True)
class Wording:
    """Units and days of one report."""

    units: str = "metric"
    dates: str = "iso"

    @property
    def us(self) -> bool:
        """True for feet, inches and Fahrenheit."""
        return self.units == "us"

    @property
    def length_unit(self) -> str:
        """Unit of distances on the floor."""
        return "ft" if self.us else "m"

    @property
    def depth_unit(self) -> str:
        """Unit of depth and thickness."""
        return "in" if self.us else "mm"

    @property
    def area_unit(self) -> str:
        """Unit of area."""
        return "ft2" if self.us else "m2"

    @property
    def temperature_unit(self) -> str:
        """Unit of temperature."""
        return "°F" if self.us else "°C"

    def length(self, metres: Any, *, unit: bool = True) -> str:
        """Write a distance [m]."""
        if is_missing(metres):
            return MISSING
        text = f"{metres / FEET:.2f}" if self.us else f"{metres:.2f}"
        return f"{text} {self.length_unit}" if unit else text

    def depth(self, millimetres: Any, *, unit: bool = True) -> str:
        """Write a depth or thickness [mm]."""
        if is_missing(millimetres):
            return MISSING
        text = f"{millimetres / 25.4:.2f}" if self.us else f"{millimetres:.0f}"
        return f"{text} {self.depth_unit}" if unit else text

    def area(self, square_metres: Any, *, unit: bool = True) -> str:
        """Write an area [m2]."""
        if is_missing(square_metres):
            return MISSING
        text = f"{square_metres / FEET**2:.0f}" if self.us else f"{square_metres:.1f}"
        return f"{text} {self.area_unit}" if unit else text

    def temperature(self, celsius: Any, *, unit: bool = True) -> str:
        """Write a temperature [C]."""
        if is_missing(celsius):
            return MISSING
        text = f"{celsius * 9 / 5 + 32:.1f}" if self.us else f"{celsius:.1f}"
        return f"{text} {self.temperature_unit}" if unit else text

    def day(self, when: date | None) -> str:
        """Write a day."""
        return MISSING if is_missing(when) or when is None else DATES[self.dates](when)

    def moment(self, when: datetime | None) -> str:
        """Write day, time and zone."""
        if is_missing(when) or when is None:
            return MISSING
        offset = when.strftime("%z")
        zone = " UTC" if offset in ("+0000", "") else f" UTC{offset[:3]}:{offset[3:]}"
        return f"{DATES[self.dates](when)} {when:%H:%M}{zone if when.tzinfo else ''}"

    def sentence(self, text: str) -> str:
        """Add feet and inches behind the metres of a sentence, in a report in US units."""
        return _LENGTH.sub(self._with_us, text) if self.us else text

    def _with_us(self, match: re.Match[str]) -> str:
        value = float(match[1])
        us = {"mm": self.depth, "m": self.length, "m2": self.area}[match[2]](value)
        return f"{match[0]} [{us}]"


def number(value: Any, digits: int = 1) -> str:
    """Write a number with at most so many decimals, or that it was not recorded."""
    if is_missing(value):
        return MISSING
    value = float(value)
    if math.isinf(value):
        return str(value)
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def text_or_missing(value: Any) -> str:
    """Write a text, or that it was not recorded."""
    return MISSING if is_missing(value) else str(value)


def shortened(text: str, longest: int = 80) -> str:
    """Return a text cut for a heading; it stands in full elsewhere in the report."""
    flat = " ".join(text.split())
    return flat if len(flat) <= longest else flat[: longest - 1] + "…"
