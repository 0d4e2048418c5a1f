"""What a cell of a workbook shows where that is not the number it holds, and what is coloured."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import Any

SHOWN_OTHERWISE = re.compile(rb'formatCode="[^"]*(?:&[gl]t;|&quot;|\\|;;|;"|\xe2\x89[\xa4\xa5])')
"""Formats that may print more than the number, or nothing (ECMA-376-1, 18.8.31)."""

COLOURED = re.compile(
    rb'patternType="solid"|<color (?:rgb="[0-9A-Fa-f]{2}(?!000000)|theme="(?!1"))', re.IGNORECASE
)
"""Cells filled with a colour (ECMA-376-1, 18.18.55), or numbers written in one (18.8.3)."""

FEW = 1 / 3
"""Coloured cells among the numbers of a column up to this share were meant one by one; more are
the colour of a table. Our choice."""

_PART = re.compile(r'"([^"]*)"|\\(.)|\[([^\]]*)\]|_.|\*.|(;)|([0#?.,@]|General|E[+-])|(.)', re.S)
_CONDITION = re.compile(r"(<=|>=|<>|<|>|=)(-?[\d.]+)")
_UNITS = (
    "rh, rf, r, hr, f, c, k, cm, mc, ma, m, mm, in, ft, lb, g, h, d, day, s, mass, wt, percent, "
    "relative, humidity, digits, units, e"
)
_UNIT_WORDS = frozenset(_UNITS.split(", "))
_HOLDS = {
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "=": lambda a, b: a == b,
    "<>": lambda a, b: a != b,
}


def shown_otherwise(value: float, number_format: str) -> str | None:
    """Return what a cell shows where that says something else than its number, or None.

    A sign before the number (">68" over a stored 68) is kept with the number as stored; a format
    that prints words alone gives these words, one that prints nothing an empty text. Rounding,
    units and percentages are no business of this function.

    Parameters
    ----------
    value : float
        What the cell holds.
    number_format : str
        In the notation of ECMA-376-1, 18.8.31.

    Examples
    --------
    >>> shown_otherwise(68.0, '">"0')
    '>68'
    >>> shown_otherwise(99.9, '[>95]"OL";0.0')
    'OL'
    >>> shown_otherwise(68.0, '0.0" %RH"') is None
    True
    """
    sections = _sections(number_format)
    before, digits, words = _chosen(value, sections)
    if not digits:
        return words.strip()
    sign = re.search(r"[<>≤≥]=?", before)
    return f"{sign.group()}{value:.12g}" if sign else None


def words_shown(value: float, number_format: str) -> str:
    """Return what the format of a number says beside it but for units: "(retest)", "void".

    Parameters
    ----------
    value : float
    number_format : str
        In the notation of ECMA-376-1, 18.8.31.

    Examples
    --------
    >>> words_shown(68.0, '0" (retest)"'), words_shown(68.0, '0.0" %RH"')
    ('(retest)', '')
    """
    _, digits, words = _chosen(value, _sections(number_format))
    told = [word.casefold() for word in re.findall(r"[^\W\d_]+", words)]
    return words.strip() if digits and not _UNIT_WORDS.issuperset(told) else ""


def _sections(number_format: str) -> list[tuple[str, str, bool, str]]:
    """Condition, text before the first digit, whether there is a digit, and all text of each."""
    sections = []
    condition, before, digits, words = "", "", False, ""
    for part in _PART.finditer(number_format):
        quoted, escaped, bracket, end, digit, bare = part.groups()
        if end:
            sections.append((condition, before, digits, words))
            condition, before, digits, words = "", "", False, ""
        elif bracket is not None:
            condition = bracket if _CONDITION.fullmatch(bracket) else condition
        elif digit:
            digits = True
        else:
            text = next((one for one in (quoted, escaped, bare) if one is not None), "")
            words += text
            before += "" if digits else text
    sections.append((condition, before, digits, words))
    return sections


def _chosen(value: float, sections: list[tuple[str, str, bool, str]]) -> tuple[str, bool, str]:
    """Return the section that prints this value: by its condition, else by the sign."""
    conditions = [_CONDITION.fullmatch(one[0]) for one in sections]
    if any(conditions):
        for found, section in zip(conditions, sections, strict=True):
            if found is None or _HOLDS[found[1]](value, float(found[2])):
                return section[1:]
        return "", True, ""
    numbers = sections[:3]
    if len(numbers) == 3 and value == 0:
        return numbers[2][1:]
    return numbers[1 if len(numbers) > 1 and value < 0 else 0][1:]


def coloured(sheet: Any) -> list[Any]:
    """Return the cells of numbers that are coloured where most others of their column are not.

    Parameters
    ----------
    sheet : openpyxl.worksheet.worksheet.Worksheet
    """
    columns: dict[int, list[Any]] = defaultdict(list)
    for row in sheet.iter_rows():
        for cell in row:
            if cell.data_type == "n" and cell.value is not None:
                columns[cell.column].append(cell)
    named = []
    for cells in columns.values():
        marked = [cell for cell in cells if _marked(cell)]
        if len(marked) <= FEW * len(cells):
            named.extend(marked)
    return named


def _marked(cell: Any) -> bool:
    fill = cell.fill
    if fill is None or fill.patternType != "solid":
        return _in_colour(cell.font.color)
    colour = fill.fgColor
    white = colour.type == "rgb" and str(colour.rgb)[-6:].upper() == "FFFFFF"
    return not white or _in_colour(cell.font.color)


def _in_colour(colour: Any) -> bool:
    """Whether a number is written in a colour of its own; none and the first of a theme is not."""
    if colour is None or colour.type == "auto":
        return False
    if colour.type == "theme":
        return bool(colour.theme != 1)
    if colour.type == "indexed":
        return colour.indexed not in (8, 64)
    return str(colour.rgb)[-6:].upper() != "000000"
