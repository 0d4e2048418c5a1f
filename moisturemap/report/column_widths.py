"""How wide the columns of a table are: as wide as their texts ask for, so that rows stay low."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from textwrap import wrap

import numpy as np
from numpy.typing import NDArray

from moisturemap.figures.typeface import advance
from moisturemap.report.content import Column, Content, Section, Table
from moisturemap.report.options import UPRIGHT
from moisturemap.report.plain import joined
from moisturemap.report.reference import plain

LETTER_MM, DENSE_MM, LETTER_EM, PADDING = 1.47, 1.25, 0.521, 2.0
"""Mean width of a letter of tables and of dense ones [mm], the same of any size [em], and what a
cell leaves free beside its text [letters]; measured on the typeset page."""

BOLD, SPARE = 1.15, 0.5
"""Width of the letters of headings against those of cells; what a word leaves free for typesetters
that place letters otherwise [letters]."""

HEAD_LINES, TIGHT = 3, 0.7
"""A heading stands in so many lines at most, words permitting, unless all columns then asked for
more than this share of the table at least, which long texts need more (our choice)."""

UNBROKEN, SHORT, LONGEST_WORD = 24, 12, 16
"""A right-hand value of so many letters stays on one line, and any value of so few where there is
room; a word longer than that may break."""

_BLANK = re.compile(r"(?<!-\d\d)[ \t]+|[ \t]+(?!\d\d:\d\d)")
"""Where a line may end: not between a day and its time."""

MOST_ROWS, STEPS, SHARPNESS = 80, 120, 8
"""Rows looked at, steps in which the room is given away, and exponent by which the highest cell of
a row counts as its height (our choice)."""


def fitted(content: Content) -> Content:
    """Return a report with the columns of its tables as wide as their texts ask for."""
    width_mm = UPRIGHT[content.paper][0]
    return replace(content, sections=tuple(_section(one, width_mm) for one in content.sections))


def _section(section: Section, width_mm: float) -> Section:
    blocks = [_table(one, width_mm) if isinstance(one, Table) else one for one in section.blocks]
    return replace(section, blocks=tuple(blocks))


@dataclass(slots=True)
class _Kind:
    """Columns of one kind, which stay alike: how often it stands, and widths in letters."""

    places: list[int]
    least: float
    most: float
    width: float = 0.0


def _table(table: Table, width_mm: float) -> Table:
    room = width_mm / (DENSE_MM if table.dense else LETTER_MM) - PADDING * len(table.columns)
    for head_lines, short in ((HEAD_LINES, SHORT), (HEAD_LINES, 0), (None, 0)):
        kinds = [_kind(table, one, head_lines, short) for one in dict.fromkeys(table.columns)]
        if sum(one.least * len(one.places) for one in kinds) <= TIGHT * room:
            break
    _keep_blank(table, kinds, room)
    left = room - sum(one.least * len(one.places) for one in kinds)
    for one in kinds:
        one.width = one.least
    if left > 0:
        _give_away(table, kinds, left)
    widths = {place: one.width + PADDING for one in kinds for place in one.places}
    columns = [replace(one, width=round(widths[k], 1)) for k, one in enumerate(table.columns)]
    return replace(table, columns=tuple(columns))


def _kind(table: Table, column: Column, head_lines: int | None, short: int) -> _Kind:
    places = [k for k, one in enumerate(table.columns) if one == column]
    cells = {plain(row[k]) for row in table.rows for k in places}
    lines = [line for cell in cells for line in cell.split("\n")]
    most_whole = UNBROKEN if column.side == "right" else short
    whole = [line for line in lines if len(line) <= most_whole]
    words = [_letters(word[:LONGEST_WORD]) for line in lines for word in _BLANK.split(joined(line))]
    heads = [BOLD * _letters(line) for line in _head_lines(column.title, head_lines)]
    least = SPARE + max([1.0, *map(_letters, whole), *words, *heads])
    most = SPARE + max([0.0, BOLD * _letters(column.title), *map(_letters, lines)])
    return _Kind(places, least, max(least, most))


def _letters(text: str) -> float:
    """Return the width of a line [letters of the mean]."""
    return advance(text) / LETTER_EM


def _head_lines(title: str, most: int | None) -> list[str]:
    """Return a heading in as narrow lines as its words and their number, if any, allow."""
    if most is None:
        return title.split()
    narrow = max([1, *map(len, title.split())])
    wraps = (wrap(title, width) for width in range(narrow, narrow + len(title) + 1))
    return next(lines for lines in wraps if len(lines) <= most)


def _keep_blank(table: Table, kinds: list[_Kind], room: float) -> None:
    """Leave columns that are filled in by hand the share they were given."""
    wished = sum(one.width for one in table.columns)
    for one in kinds:
        if not any(row[k].strip() for row in table.rows for k in one.places):
            share = table.columns[one.places[0]].width / wished * room
            one.least = one.most = max(one.least, share)


def _give_away(table: Table, kinds: list[_Kind], left: float) -> None:
    """Widen, step by step, the columns that make the rows lowest; what is over goes to all."""
    lengths = _lengths(table, kinds)
    count = np.array([len(one.places) for one in kinds], dtype=float)
    most = np.array([one.most for one in kinds])
    width = np.array([one.width for one in kinds])
    step = left / STEPS
    while left > 0:
        gain = np.where(width < most, _gain(lengths, width) / count, 0.0)
        best = int(gain.argmax())
        if gain[best] <= 0:
            break
        given = min(step / count[best], most[best] - width[best], left / count[best])
        width[best] += given
        left -= given * count[best]
    if left > 0:
        wished = np.array([table.columns[one.places[0]].width for one in kinds])
        width += left * wished / (wished * count).sum()
    for one, found in zip(kinds, width, strict=True):
        one.width = float(found)


def _lengths(table: Table, kinds: list[_Kind]) -> NDArray[np.float64]:
    """Return the longest text of each kind of column in each row looked at, the heading first."""
    some = table.rows[:: max(1, -(-len(table.rows) // MOST_ROWS))]
    heads = [BOLD * _letters(table.columns[one.places[0]].title) for one in kinds]
    rows = [[max(_letters(plain(row[k])) for k in one.places) for one in kinds] for row in some]
    return np.array([heads, *rows], dtype=float)


def _gain(lengths: NDArray[np.float64], width: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return by how much the rows become lower [lines] for each letter a column is wider."""
    lines = np.where(lengths > width, lengths / width, 0.0)
    height = (lines**SHARPNESS).sum(axis=1, keepdims=True) ** (1 / SHARPNESS)
    share = np.divide(lines, height, out=np.zeros_like(lines), where=height > 0)
    gained: NDArray[np.float64] = (height * share**SHARPNESS / width).sum(axis=0)
    return gained
