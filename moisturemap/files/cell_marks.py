"""What people put onto cells of a workbook beside values: comments, and lines through them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from moisturemap.errors import SurveyError

MARKED = re.compile(rb"<(?:\w+:)?strike\b")
"""A line through a text or a style (ECMA-376-1, 18.4.10)."""

_THREAD = re.compile(r"^\[[^\]]*\].*?(?:comment|kommentar|commentaire)\s*:\s*\n", re.I | re.S)
"""What spreadsheet programs write above a comment that older ones cannot show as a thread."""


def may_be_marked(name: str, content: bytes) -> bool:
    """Whether a part of a workbook holds comments, or lines through values.

    Parameters
    ----------
    name : str
        Of the part.
    content : bytes
    """
    return "comments" in name.casefold() or MARKED.search(content) is not None


def comments_of(sheet: Any) -> dict[tuple[int, int], str]:
    """Return the comments of a sheet by row and column from 0, each in one line.

    Parameters
    ----------
    sheet : openpyxl.worksheet.worksheet.Worksheet
    """
    return {
        (cell.row - 1, cell.column - 1): words
        for cell in _cells(sheet)
        if cell.comment is not None and (words := _words(cell.comment))
    }


def _words(comment: Any) -> str:
    text = str(comment.text or "").strip()
    text = _THREAD.sub("", text).removeprefix(f"{comment.author}:")
    return " ".join(text.split())


def refuse_struck(sheet: Any, label: str) -> None:
    """Refuse a value with a line through it: whether it holds is not told.

    Parameters
    ----------
    sheet : openpyxl.worksheet.worksheet.Worksheet
        Read with rich text.
    label : str
        File and sheet, for the message.

    Raises
    ------
    SurveyError
    """
    for cell in _cells(sheet):
        if cell.value is not None and _struck(cell):
            raise SurveyError(
                "this is struck through, and whether it holds is not told",
                source=label,
                place=f"cell {cell.coordinate}",
                value=str(cell.value),
                allowed="what holds, without the line; a result that was withdrawn keeps its row,"
                " with the reason in its note",
            )


def _struck(cell: Any) -> bool:
    runs = cell.value if isinstance(cell.value, list) else ()
    fonts = [getattr(run, "font", None) for run in runs]
    return bool(cell.font and cell.font.strike) or any(font and font.strike for font in fonts)


def _cells(sheet: Any) -> Iterator[Any]:
    return (cell for row in sheet.iter_rows() for cell in row)
