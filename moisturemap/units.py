"""Lengths, areas, temperatures, rates, days and zones as printed: metric, or as on a US tape.

Inside the package everything is metric (``docs/conventions.md``); this file says how a number
leaves it. Sentences made further in speak metric; :meth:`Units.sentence` restates them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction
from functools import cache
from typing import Annotated

from moisturemap.checked import checked, one_of
from moisturemap.language import (
    ENGLISH,
    Spelling,
    keep_as_they_are,
    spelling,
    spoken,
    spoken_language,
)
from moisturemap.quantities import FEET

SYSTEMS = ("metric", "us")
"""Metric; or feet, inches, Fahrenheit, pints a day and grains a pound."""

INCH_MM = 25.4
"""Millimetres in an inch (exact; international yard and pound agreement 1959)."""

FEET2 = FEET**2
"""Square metres in a square foot (exact)."""

US_PINT_L = 0.473176473
"""Litres in a US liquid pint (exact: 28.875 cubic inches)."""

INHG_PA = 3386.389
"""Pascals in an inch of mercury (ISO 80000-4 table of other units; mercury at 0 degrees C)."""

GRAINS_PER_G_KG = 7.0
"""Grains a pound in one gram a kilogram (exact: a pound has 7000 grains)."""

TAPE_PART, DEPTH_PART = 8, 16
"""Parts of an inch a tape distance and a depth are printed to: what a steel tape shows at arm's
length (3 mm), and what a depth stop is set to (1.6 mm). Our choice."""

FINEST_MM = 3.0
"""Below this a fraction of an inch would mislead; printed with decimals (our choice)."""

MONTHS = (
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
    "dmy": lambda day: f"{day.day} {MONTHS[day.month - 1]} {day.year}",
    "mdy": lambda day: f"{MONTHS[day.month - 1]} {day.day}, {day.year}",
    "en-GB": lambda day: f"{day.day} {MONTHS[day.month - 1]} {day.year}",
    "en-US": lambda day: f"{MONTHS[day.month - 1]} {day.day}, {day.year}",
    "de-DE": lambda day: f"{day.day:02}.{day.month:02}.{day.year}",
    "fr-FR": lambda day: f"{day.day:02}/{day.month:02}/{day.year}",
}
"""Ways of writing a day: international, by the order of its parts, or by locale."""

_QUOTED = re.compile(r'("[^"]*"|“[^”]*”|\'[^\']*\'|\(cleared: [^)]*\))')
_NUMBERED = r"(\d{4})-(\d\d)-(\d\d)"
_NAMED = rf"(\d{{1,2}}) ({'|'.join(MONTHS)}) (\d{{4}})"
_DAY = re.compile(rf"(?<![\w./-])(?:{_NUMBERED}|{_NAMED})(?![\w/-]|\.\w)")

_UNIT = r"mm|cm|m2|m3|m|[lL]/day|l/Tag|g/kg|Pa|°C|C|K"


@cache
def _patterns(spelt: Spelling) -> tuple[re.Pattern[str], ...]:
    """Return how a language writes quantities, places, metres to the millimetre, and numbers."""
    number = rf"[+-]?\d+(?:{re.escape(spelt.decimal)}\d+)?"
    joint = "|".join(map(re.escape, spelt.joints))
    quantity = (
        rf"(?<![\w.,/-])(?<!ft2 \()(?<!ft \()({number}(?:(?:{joint}){number})*) ({_UNIT})(?![\w/²])"
        rf"(?: \(({number}){re.escape(spelt.joints[0])}({number})\)| \(({number} ft2?)\))?"
    )
    place = rf"(?<![\w)])\(({number})[,;] ({number})\)"
    after = rf"(?:(?:{joint}){number})* m(?![\w/²])|[,;] {number}(?: m)?\)|(?: m)?\)"
    exact = rf"(?<![\w.,/-])[+-]?\d+{re.escape(spelt.decimal)}\d{{3}}(?={after})"
    return re.compile(quantity), re.compile(place), re.compile(exact), re.compile(number)


def zone_name(when: datetime) -> str:
    """Write the zone of a time by its distance from UTC."""
    offset = when.strftime("%z")
    return "UTC" if offset in ("+0000", "") else f"UTC{offset[:3]}:{offset[3:5]}"


def zone_told(named: str, when: datetime) -> str:
    """Write the zone of a record by its name, where it has one, and its distance from UTC.

    Parameters
    ----------
    named : str
        As the record states it, such as ``Europe/London`` or ``+01:00``; "" where it states none.
    when : datetime
        A time of the record, in its zone: the distance is that of its day.
    """
    offset = zone_name(when)
    if "/" in named:
        return f"{named} ({offset})"
    stated = named or when.tzinfo is not UTC
    return offset if stated else f"{offset}, as no time zone is stated"


@dataclass(frozen=True, slots=True)
@checked
class Units:
    """How numbers are printed.

    Attributes
    ----------
    system : str
        ``"metric"`` or ``"us"``.
    dates : str
        How days are written: one of ``DATES``.
    """

    system: Annotated[str, one_of(*SYSTEMS)] = "metric"
    dates: Annotated[str, one_of(*DATES)] = "iso"

    @property
    def us(self) -> bool:
        """True for feet and inches."""
        return self.system == "us"

    @property
    def axis(self) -> tuple[str, float]:
        """Unit of the axes of a drawing, and metres in it."""
        return ("ft", FEET) if self.us else ("m", 1.0)

    def day(self, when: date) -> str:
        """Write a day."""
        return DATES[self.dates](when)

    def length(self, metres: float) -> str:
        """Write a distance [m]: ``3.20 m`` or ``10 ft 6 in``."""
        return feet_and_inches(metres) if self.us else f"{_on_tape(metres)} m"

    def depth(self, millimetres: float) -> str:
        """Write a depth or thickness [mm]: ``60 mm`` or ``2 3/8 in``."""
        return inches(millimetres) if self.us else f"{millimetres:.0f} mm"

    def area(self, square_metres: float) -> str:
        """Write an area [m2]: ``16.3 m2`` or ``175 ft2``."""
        return f"{self.area_number(square_metres)} {'ft2' if self.us else 'm2'}"

    def area_number(self, square_metres: float) -> str:
        """Write an area [m2] without its unit."""
        if not self.us:
            return f"{square_metres:.1f}"
        # From the tenth that metric words show, so that sentence, table and map agree.
        shown = round(square_metres, 1) if abs(square_metres) >= 1 else square_metres
        feet2 = shown / FEET2
        return f"{feet2:.0f}" if abs(feet2) >= 10 else f"{feet2:.1f}"

    def temperature(self, celsius: float) -> str:
        """Write a temperature [C]."""
        return f"{celsius * 9 / 5 + 32:.0f} °F" if self.us else f"{celsius:.1f} °C"

    def place(self, x: float, y: float) -> str:
        """Write a place of the plan [m]: across, then up."""
        if self.us:
            return f"{feet_and_inches(x)}, {feet_and_inches(y)}"
        return f"{_on_tape(x)}, {_on_tape(y)} m"

    def place_in_a_list(self, x: float, y: float) -> str:
        """Write a place of the plan [m] as short as a tape does: ``12' 3 1/2", 4' 1/8"``.

        Metric places have their unit in :attr:`heading_of_places`.
        """
        if not self.us:
            return f"{_on_tape(x)}, {_on_tape(y)}"
        return ", ".join(_with_primes(feet_and_inches(one)) for one in (x, y))

    @property
    def heading_of_places(self) -> str:
        """Head a list of :meth:`place_in_a_list`."""
        return "x, y" if self.us else "x, y [m]"

    def sentence(self, text: str) -> str:
        """Restate the lengths, areas, temperatures and rates of an English sentence.

        In another language it is said there first, since the word tables are metric and their
        places bare. Days of English are written as chosen.
        """
        if self.dates != "iso" and spoken_language() == ENGLISH:
            text = with_days(text, self.dates)
        if not self.us and not any(one.search(text) for one in _patterns(Spelling())[1:3]):
            return text
        said, spelt = spoken(text), spelling()
        quantity, place, exact, _ = _patterns(spelt)
        if not self.us:
            told = place.sub(lambda match: f"{match[0][:-1]} m)", said)
            told = exact.sub(lambda match: spelt.number(_on_tape(spelt.plain(match[0]))), told)
            keep_as_they_are([told])
            return told
        told = quantity.sub(lambda match: _restated(match, spelt), said)
        told = place.sub(lambda match: _restated_place(match, spelt), told)
        keep_as_they_are([told])
        return told


def with_days(text: str, dates: str) -> str:
    """Rewrite the days of an English sentence; what is quoted, or to be typed, stays as it is.

    Parameters
    ----------
    text : str
        With days as "2026-03-29" or "29 March 2026".
    dates : str
        One of ``DATES``.
    """
    parts = _QUOTED.split(text)
    parts[::2] = [_DAY.sub(lambda found: _rewritten(found, dates), one) for one in parts[::2]]
    return "".join(parts)


def _rewritten(found: re.Match[str], dates: str) -> str:
    year, month, day, spoken_day, name, spoken_year = found.groups()
    try:
        if name:
            return DATES[dates](date(int(spoken_year), MONTHS.index(name) + 1, int(spoken_day)))
        return DATES[dates](date(int(year), int(month), int(day)))
    except ValueError:  # no day of the calendar: somebody's own number
        return found[0]


def _on_tape(metres: str | float) -> str:
    """Write a distance [m] to the centimetre, from the millimetre that a sentence holds."""
    return f"{round(float(metres), 3):.2f}"


def feet_and_inches(metres: float, parts_of_inch: int = TAPE_PART) -> str:
    """Write a distance [m] as a tape shows it, such as ``6 ft 11 1/2 in``; to 1/8 inch."""
    count = round(abs(round(metres, 3)) / FEET * 12 * parts_of_inch)
    feet, rest = divmod(count, 12 * parts_of_inch)
    sign = "-" if metres < 0 and count else ""
    words = [f"{feet} ft"] if feet else []
    if rest or not feet:
        words.append(f"{_mixed(Fraction(rest, parts_of_inch))} in")
    return sign + " ".join(words)


def _with_primes(told: str) -> str:
    return told.replace(" ft", "'").replace(" in", '"')


def inches(millimetres: float) -> str:
    """Write a depth or thickness [mm] in inches, such as ``1 7/8 in``; to 1/16 inch."""
    if 0 < abs(millimetres) < FINEST_MM:
        return f"{millimetres / INCH_MM:.2f} in"
    sign = "-" if millimetres < 0 else ""
    return (
        f"{sign}{_mixed(Fraction(round(abs(millimetres) / INCH_MM * DEPTH_PART), DEPTH_PART))} in"
    )


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"


def _restated_place(match: re.Match[str], spelt: Spelling) -> str:
    across, up = (_as_read(spelt.plain(match[k]), "m") for k in (1, 2))
    return f"({across}, {up})"


def _as_read(number: str, unit: str) -> str:
    """Write a metric length in US units, no finer than it was given."""
    value = float(number)
    if unit == "mm":
        return inches(value)
    metres = value if unit == "m" else value / 100
    # A tenth of a metre is no tape distance: eighths of an inch would claim more than was said.
    exact = unit == "cm" or len(number.partition(".")[2]) > 1
    return feet_and_inches(metres, TAPE_PART if exact else 1)


_SCALES = {
    "m2": (1 / FEET2, "ft2"),
    "m3": (1 / FEET**3, "ft3"),
    "L/day": (1 / US_PINT_L, "pints a day"),
    "l/day": (1 / US_PINT_L, "pints a day"),
    "l/Tag": (1 / US_PINT_L, "pints a day"),
    "g/kg": (GRAINS_PER_G_KG, "grains/lb"),
    "Pa": (1 / INHG_PA, "inHg"),
    "K": (1.8, "°F"),
    "C": (1.8, "°F"),
    "°C": (1.8, "°F"),
}
"""Factor from metric, and the unit printed."""


def _written(number: str, unit: str) -> tuple[str, str]:
    """Return number and unit of one metric value in US units."""
    sign = "+" if number.startswith("+") else ""
    if unit not in _SCALES:
        return sign + _as_read(number, unit), ""
    scale, name = _SCALES[unit]
    value = float(number) * scale + (32.0 if unit in ("C", "°C") else 0.0)
    decimals = 2 if unit == "Pa" else 0 if abs(value) >= 5 else 1
    return f"{sign}{value:.{decimals}f}", name


def _restated(match: re.Match[str], spelt: Spelling) -> str:
    run, unit = match[1], match[2]
    if match[5] is not None:  # a document states the number in both units: quoted, not converted
        return match[5]
    numbers = _patterns(spelt)[3]
    told = [_written(spelt.plain(one), unit) for one in numbers.findall(run)]
    words = told[0][0]
    for joint, (number, _) in zip(numbers.split(run)[1:-1], told[1:], strict=True):
        words += joint + number
    words += f" {spoken(told[0][1])}" if told[0][1] else ""
    if match[3] is not None:
        low, high = (_written(spelt.plain(match[k]), unit)[0] for k in (3, 4))
        words += f" ({low}{spelt.joints[0]}{high})"
    return spelt.number(words)
