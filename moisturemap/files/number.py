"""Numbers as people write them: decimal commas, full-scale marks, feet and inches."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, time
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moisturemap.errors import SurveyError

ABOVE = frozenset(
    (
        "ol",
        "o.l",
        "o.l.",
        "ovl",
        "over",
        "overload",
        "overrange",
        "over-range",
        "fs",
        "f.s.",
        "fullscale",
        "full-scale",
        "max",
        "maximum",
        "saturated",
        "sat",
        "hi",
        "high",
        "oor+",
        "oor",
        "or",
        "o/r",
        "o.r",
        "o.r.",
        "ovr",
        "out of range",
        "voll",
        "ueberlauf",
        "überlauf",
        "messbereichsende",
        "saturé",
        "sature",
        "hors-gamme",
        "full scale",
        "over range",
        "off scale",
        "hors gamme",
    )
)
"""Words for a reading at or above the end of the scale (common practice).

"Out of range" alone does not say at which end: the wetter is taken."""

BELOW = frozenset(
    (
        "ul",
        "u.l",
        "under",
        "underrange",
        "under-range",
        "min",
        "minimum",
        "lo",
        "low",
        "below",
        "oor-",
        "unter",
        "under range",
        "below range",
    )
)
"""Words for a reading at or below the start of the scale (common practice)."""

_MARKS_ABOVE = re.compile(r"[+>≥]+")
"""Signs a display shows in place of a number above its scale."""

_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_SIGN = re.compile(r"^(>=|=>|≥|>|<=|=<|≤|<)\s*")
_TRIPLE = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_DOTS_THEN_COMMA = re.compile(r"[+-]?\d{1,3}(?:\.\d{3})+,\d+")
_COMMAS_THEN_DOT = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+\.\d+")
_ONE_COMMA = re.compile(r"[+-]?\d*,\d+")
_ONE_DOT = re.compile(r"[+-]?\d*\.\d+")
_GROUPED = re.compile(r"([+-]?\d{1,3})((?:[\u00a0\u202f'’]\d{3})+)(?=$|[.,])")
_INCHES_IN = {"ft": 12.0, "in": 1.0}
_SMALL_UNITS = ("mm", "cm", "in")
"""A floor is thousands of these across, and no place is stated to a thousandth of one."""
_FEET_INCHES = re.compile(
    r"([+-]?\d+(?:\.\d+)?)\s*(?:'|′|ft|feet)\s*-?\s*"
    r"(?:(\d+(?:\.\d+)?)?\s*(?:(\d+)/(\d+))?\s*(?:\"|″|''|in|inch|inches))?"
)


@dataclass(frozen=True)
class Numbers:
    """Cells read as numbers.

    Attributes
    ----------
    values : ndarray of float, shape (n,)
        NaN where a cell is blank or not a number.
    censored : ndarray of str, shape (n,)
        "", "above" or "below".
    blank, bad : ndarray of bool, shape (n,)
        Nothing there; something there that is not a number.
    """

    values: NDArray[np.float64]
    censored: NDArray[np.object_]
    blank: NDArray[np.bool_]
    bad: NDArray[np.bool_]


def parse_numbers(cells: Sequence[Any], decimal: str, *, unit: str = "") -> Numbers:
    """Read cells as numbers, each distinct text once.

    Parameters
    ----------
    cells : sequence of Cell
    decimal : str
        ``"."`` or ``","``, see :func:`decimal_mark`.
    unit : str
        Unit of a length. Feet with inches (``12' 6"``) are understood in feet and in inches only,
        and give these: in another unit the marks contradict it.
    """
    known = {cell: _parse(cell, decimal, unit) for cell in set(cells)}
    parsed = [known[cell] for cell in cells]
    values = np.array([value for value, _, _ in parsed], dtype=float)
    censored = np.array([sign for _, sign, _ in parsed], dtype=object)
    kind = np.array([kind for _, _, kind in parsed], dtype="U1")
    return Numbers(values, censored, kind == "b", kind == "x")


def _parse(cell: Any, decimal: str, unit: str) -> tuple[float, str, str]:
    """Return value, censoring and kind: (n)umber, (b)lank or (x) neither."""
    if isinstance(cell, bool | date | time):
        return math.nan, "", "x"
    if isinstance(cell, float | int):
        return (float(cell), "", "n") if math.isfinite(cell) else (math.nan, "", "x")
    text = str(cell).strip()
    if not text:
        return math.nan, "", "b"
    word = text.casefold()
    if word in ABOVE or _MARKS_ABOVE.fullmatch(word):
        return math.nan, "above", "n"
    if word in BELOW:
        return math.nan, "below", "n"
    sign = _SIGN.match(text)
    value = plain_number(text[sign.end() :] if sign else text, decimal, unit)
    if value is None:
        return math.nan, "", "x"
    censored = "" if not sign else ("above" if ">" in sign[1] or "≥" in sign[1] else "below")
    return value, censored, "n"


def plain_number(text: str, decimal: str = ".", unit: str = "") -> float | None:
    """Return the number a text states, or None; ``unit`` as for :func:`parse_numbers`."""
    tidy = text.strip().replace("−", "-")
    # a share of something is no length
    tidy = tidy if unit else tidy.removesuffix("%").rstrip()
    tidy = _GROUPED.sub(lambda m: m[1] + re.sub(r"\D", "", m[2]), tidy)
    if decimal == ",":
        if _DOTS_THEN_COMMA.fullmatch(tidy):
            tidy = tidy.replace(".", "")
        elif "." in tidy:
            return _feet(tidy, unit)
        tidy = tidy.replace(",", ".")
    elif _COMMAS_THEN_DOT.fullmatch(tidy):
        tidy = tidy.replace(",", "")
    if _PLAIN.fullmatch(tidy):
        value = float(tidy)
        return value if math.isfinite(value) else None
    return _feet(tidy, unit)


def _feet(text: str, unit: str) -> float | None:
    """Return feet with inches in feet or inches, None in any other unit."""
    match = _FEET_INCHES.fullmatch(text)
    if not match or unit not in _INCHES_IN:
        return None
    feet, inches, over, under = match.groups()
    if under is not None and int(under) == 0:
        return None
    part = float(inches or 0) + (float(Fraction(int(over), int(under))) if over else 0.0)
    whole = float(feet) + math.copysign(part / 12, float(feet) if float(feet) else 1.0)
    return whole * 12.0 / _INCHES_IN[unit]


def may_be_thousand(text: str) -> bool:
    """Whether a text like ``1.234`` or ``1,234`` may be a thousand or a decimal."""
    return _TRIPLE.fullmatch(_bare(text)) is not None


def positions_allowed(unit: str) -> str:
    """Return what is allowed as a position in a unit, for a refusal."""
    usual = "a number, without thousands marks and with one decimal mark"
    if unit in _INCHES_IN:
        return usual
    return f"{usual}, in {unit}; feet and inches where positions are in ft or in"


def decimal_mark(
    cells: Sequence[Any],
    source: str,
    place: Callable[[int], str],
    units: Sequence[str] = (),
) -> str:
    """Decide whether a file writes ``1.5`` or ``1,5``.

    One comma followed by exactly three figures may be a thousand or a decimal; it is only
    accepted when another number of the file settles it. So it is with a dot in positions in
    millimetres, centimetres or inches; in metres or feet a thousand would be no floor.

    Parameters
    ----------
    cells : sequence of Cell
        Every cell of the file that ought to be a number.
    source : str
        File, for the message.
    place : callable
        Gives the place of the cell of an index, for the message.
    units : sequence of str
        Unit of each cell that is a position, "" for others; repeats over the cells.

    Raises
    ------
    SurveyError
        If the file writes both marks, or nothing settles which it is.
    """
    unsettled = "this may be a thousand or a decimal, and no other number of the file settles it"
    seen = {_bare(cell) for cell in set(cells) if isinstance(cell, str) and "," in cell}
    if not seen:
        if doubtful := _dotted_thousands(cells, units):
            _refuse_mark(cells, doubtful, source, place, unsettled)
        return "."
    seen |= {_bare(cell) for cell in set(cells) if isinstance(cell, str) and "." in cell}
    comma = _certain(seen, _ONE_COMMA, _DOTS_THEN_COMMA)
    dot = _certain(seen, _ONE_DOT, _COMMAS_THEN_DOT)
    unsure = {text for text in seen if _TRIPLE.fullmatch(text)}
    doubtful = {text for text in unsure if ("," in text) != bool(comma)}
    if comma and dot:
        _refuse_mark(cells, comma, source, place, "decimal commas and decimal points are mixed")
    if doubtful:
        _refuse_mark(cells, doubtful, source, place, unsettled)
    return "," if comma else "."


def _dotted_thousands(cells: Sequence[Any], units: Sequence[str]) -> set[str]:
    """Return positions such as ``1.500`` in millimetres, where no cell settles what the dot is."""
    small = [unit in _SMALL_UNITS for unit in units]
    if not any(small):
        return set()
    written = {_bare(cell) for cell in set(cells) if isinstance(cell, str)}
    if _certain(written, _ONE_DOT, _COMMAS_THEN_DOT):
        return set()
    placed = {cell for k, cell in enumerate(cells) if small[k % len(small)]}
    return {
        _bare(cell) for cell in placed if isinstance(cell, str) and _TRIPLE.fullmatch(_bare(cell))
    }


def _certain(seen: set[str], single: re.Pattern[str], grouped: re.Pattern[str]) -> set[str]:
    return {
        text
        for text in seen
        if grouped.fullmatch(text) or (single.fullmatch(text) and not _TRIPLE.fullmatch(text))
    }


def _bare(cell: str) -> str:
    return _SIGN.sub("", cell.strip()).replace("−", "-").removesuffix("%").rstrip()


def _refuse_mark(
    cells: Sequence[Any], texts: set[str], source: str, place: Callable[[int], str], message: str
) -> None:
    where = next(i for i, c in enumerate(cells) if isinstance(c, str) and _bare(c) in texts)
    raise SurveyError(
        message,
        source=source,
        place=place(where),
        value=str(cells[where]).strip(),
        allowed="numbers without thousands marks, all with the same decimal mark; "
        'or state decimal = "," or decimal = "." for the file',
    )
