"""How numbers, units, days and people's own texts are written in a report."""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import Any

import pandas as pd

from moisturemap.units import DATES, SYSTEMS, Units, zone_name

UNITS = SYSTEMS

MISSING = "not recorded"
"""Stands where a value was not given: a blank would leave open whether it was looked for."""

_TURNING = {"Cf"}
_JOINERS = "\u200c\u200d\u00ad\u200e\u200f"
"""Format characters that scripts and emoji need and that turn nothing round."""


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
    """Units, days and zone of one report.

    Attributes
    ----------
    units : str
        One of ``UNITS``.
    dates : str
        One of ``DATES``.
    zone : tzinfo or None
        Zone all times are printed in, said once in the head of the report; each time carries its
        own without it.
    """

    units: str = "metric"
    dates: str = "iso"
    zone: tzinfo | None = None

    @property
    def system(self) -> Units:
        """Units and days."""
        return Units(self.units, self.dates)

    @property
    def us(self) -> bool:
        """True for feet, inches and Fahrenheit."""
        return self.system.us

    @property
    def area_unit(self) -> str:
        """Unit of area."""
        return "ft2" if self.us else "m2"

    def length(self, metres: Any) -> str:
        """Write a distance [m], in feet and inches as on a tape."""
        return MISSING if is_missing(metres) else self.system.length(metres)

    def depth(self, millimetres: Any) -> str:
        """Write a depth or thickness [mm]."""
        return MISSING if is_missing(millimetres) else self.system.depth(millimetres)

    def place(self, x: Any, y: Any) -> str:
        """Write a place of the plan [m]: across, then up."""
        return MISSING if is_missing(x) or is_missing(y) else self.system.place(x, y)

    def area(self, square_metres: Any, *, unit: bool = True) -> str:
        """Write an area [m2]."""
        if is_missing(square_metres):
            return MISSING
        say = self.system.area if unit else self.system.area_number
        return say(square_metres)

    def temperature(self, celsius: Any) -> str:
        """Write a temperature [C]."""
        return MISSING if is_missing(celsius) else self.system.temperature(celsius)

    def day(self, when: date | None) -> str:
        """Write a day."""
        return MISSING if is_missing(when) or when is None else DATES[self.dates](when)

    def here(self, when: datetime) -> datetime:
        """Return a time in the zone of the report, where it has one."""
        if self.zone is None or when.tzinfo is None:
            return when
        return when.astimezone(self.zone)

    def moment(self, when: datetime | None) -> str:
        """Write day and time, in the zone of the report or with their own."""
        if is_missing(when) or when is None:
            return MISSING
        if self.zone is not None and when.tzinfo is not None:
            when = self.here(when)
            return f"{DATES[self.dates](when)} {when:%H:%M}"
        zone = f" {zone_name(when)}" if when.tzinfo else ""
        return f"{DATES[self.dates](when)} {when:%H:%M}{zone}"

    def sentence(self, text: str) -> str:
        """Restate the metric numbers and the days of a sentence as the report has them."""
        return self.system.sentence(text)


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


WORDS = {
    "in-situ-rh": "RH in the hole",
    "hood-rh": "RH under a hood",
    "sleeve-rh": "RH in a sleeve",
    "carbide": "carbide (CM)",
    "mver": "moisture vapour emission",
    "oven-dry": "oven-dry",
    "rh-probe": "RH probe",
    "known-service": "known service",
    "keep-clear": "keep clear",
    "power-point": "power point",
}


def word_of(key: object) -> str:
    """Return what a reader calls a kind that files name by a key."""
    return WORDS.get(str(key), str(key).replace("-", " "))
