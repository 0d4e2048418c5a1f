"""How far a sheet of a workbook reaches, told from its XML before any cell is held in memory.

Readers of workbooks make room for every cell between the first and the last, blank ones included:
two cells in opposite corners of a sheet would take 17 thousand million of them. Cells and rows as
ECMA-376, part 1, sections 18.3.1.4 (``c``) and 18.3.1.73 (``row``) write them.
"""

from __future__ import annotations

import re

from moisturemap.errors import FormatError

MOST_CELLS = 6_000_000
"""Cells from the first row and column to the last of one sheet, blank ones included.

Our choice: a million readings in six columns. It takes about 500 MB to read.
"""

MOST_LOOKED_AT = 500_000
"""Cells of a sheet with errors, formulas, hidden or merged cells, which a slower reader must see.

Our choice: that reader takes about 15 s and 500 MB for them.
"""

MOST_MERGED = 200_000
"""Cells that merged ranges may cover; the reader makes each of them. Our choice."""

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""What a sheet can hold at most (ECMA-376, part 1, section 18.3.1.4; as spreadsheets keep it)."""

_CELL = re.compile(rb"<(?:\w+:)?c[\s/>]")
_PLACE = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]{1,3})([0-9]{1,7})["']""")
_TAG = re.compile(rb"<(?:\w+:)?(row|c)(\s[^<>]*|/)?>")
_ROW_NUMBER = re.compile(rb"""\sr\s*=\s*["']([0-9]{1,7})["']""")
_STATED = re.compile(rb"\sr\s*=")
_MERGED = re.compile(
    rb"""<(?:\w+:)?mergeCell\s[^>]*?ref\s*=\s*["']([A-Za-z]{1,3})(\d{1,7}):([A-Za-z]{1,3})(\d{1,7})"""
)


def check_size(sheet: bytes, source: str, place: str, *, looked_at: bool) -> None:
    """Refuse a sheet that reaches further than a survey does.

    Parameters
    ----------
    sheet : bytes
        XML of the sheet.
    source, place : str
        File and part, for messages.
    looked_at : bool
        Whether the slower reader has to see it too.

    Raises
    ------
    FormatError
        With the cell it reaches to and how many it may have.
    """
    cells = len(_CELL.findall(sheet))
    rows, columns = _reach(sheet, cells, source, place)
    if rows > LAST_ROW or columns > LAST_COLUMN:
        raise FormatError(
            "a cell lies outside of what a sheet can hold",
            source=source,
            place=place,
            value=f"row {rows:,}, column {columns:,}",
            allowed=f"rows to {LAST_ROW:,} and columns to {LAST_COLUMN:,}",
        )
    if rows * columns > MOST_CELLS:
        raise FormatError(
            "the sheet reaches too far",
            source=source,
            place=place,
            value=f"{rows:,} rows by {columns:,} columns",
            allowed=f"{MOST_CELLS:,} cells from the first to the last: delete what stands far from "
            "the table, blank formatted cells included, or save the table as CSV",
        )
    if looked_at and cells > MOST_LOOKED_AT:
        raise FormatError(
            "the sheet is too large to look for errors, formulas, hidden and merged cells",
            source=source,
            place=place,
            value=f"{cells:,} cells",
            allowed=f"{MOST_LOOKED_AT:,} cells, or the table saved as CSV",
        )
    _check_merged(sheet, source, place)


def _reach(sheet: bytes, cells: int, source: str, place: str) -> tuple[int, int]:
    """Return the last row and column, both counted from 1."""
    places = _PLACE.findall(sheet)
    if len(places) < cells:
        return _reach_by_order(sheet, source, place)
    rows = max((int(row) for _, row in places), default=0)
    columns = max(map(_column, {letters for letters, _ in places}), default=0)
    return rows, columns


def _reach_by_order(sheet: bytes, source: str, place: str) -> tuple[int, int]:
    """Follow rows and cells in their order: one that states no place comes after the one before."""
    row = column = last_row = last_column = 0
    for match in _TAG.finditer(sheet):
        said = match[2] or b""
        if match[1] == b"row":
            number = _ROW_NUMBER.search(said)
            if number is None and _STATED.search(said):
                raise _damaged(source, place, match[0])
            row, column = (int(number[1]) if number else row + 1), 0
        else:
            found = _PLACE.search(said)
            if found is None and _STATED.search(said):
                raise _damaged(source, place, match[0])
            if found is None:
                column += 1
            else:
                row, column = int(found[2]), _column(found[1])
            last_row, last_column = max(last_row, row), max(last_column, column)
    return last_row, last_column


def _damaged(source: str, place: str, tag: bytes) -> FormatError:
    return FormatError(
        "a row or cell of the sheet does not say where it stands",
        source=source,
        place=place,
        value=tag[:60].decode("utf-8", "replace"),
        allowed="the workbook saved again by a spreadsheet program",
    )


def _column(letters: bytes) -> int:
    """Return the number of a column from its letters, A is 1."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - 64
    return number


def _check_merged(sheet: bytes, source: str, place: str) -> None:
    covered = sum(
        (abs(int(bottom) - int(top)) + 1) * (abs(_column(right) - _column(left)) + 1)
        for left, top, right, bottom in _MERGED.findall(sheet)
    )
    if covered > MOST_MERGED:
        raise FormatError(
            "merged ranges cover too many cells",
            source=source,
            place=place,
            value=f"{covered:,} cells",
            allowed=f"{MOST_MERGED:,}: unmerge what covers whole rows or columns",
        )
