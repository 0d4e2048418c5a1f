"""A table as it stands in a file: cells, where each of them is, and what was noticed reading it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import TypeAlias

from moisturemap.errors import FormatError, SurveyError
from moisturemap.files.delimited import read_delimited
from moisturemap.files.workbook import Merged, read_workbook

Cell: TypeAlias = "str | float | datetime | date | time"

LARGEST_FILE = 100_000_000
"""Bytes of the largest table opened; a million readings take about 40 million. Our choice."""

TEXT_SUFFIXES = (".csv", ".txt", ".tsv", ".tab")
BOOK_SUFFIXES = (".xlsx", ".xlsm")
ERROR_VALUES = frozenset(
    (
        "#N/A",
        "#NA",
        "#NV",
        "#REF!",
        "#BEZUG!",
        "#VALUE!",
        "#WERT!",
        "#VALEUR!",
        "#DIV/0!",
        "#NAME?",
        "#NOM?",
        "#NUM!",
        "#ZAHL!",
        "#NOMBRE!",
        "#NULL!",
        "#NUL!",
        "#SPILL!",
        "#CALC!",
        "#GETTING_DATA",
    )
)
"""What spreadsheets write where a formula failed, in English, German and French."""


@dataclass(frozen=True)
class Table:
    """Rows of cells from the first row of the sheet on, so that row ``i`` is number ``i + 1``.

    Attributes
    ----------
    source : str
        File, with the sheet where a workbook has several.
    rows : list of list of Cell
        All of the same length; "" where a cell is blank.
    merged : tuple of Merged
        Merged ranges, in indices from 0.
    book : bool
        True when it came from a workbook, whose numbers are numbers already.
    notes : tuple of str
    comments : mapping of (int, int) to str
        Comments of a workbook, by row and column of their cells.
    """

    source: str
    rows: list[list[Cell]]
    merged: tuple[Merged, ...] = ()
    book: bool = False
    notes: tuple[str, ...] = ()
    comments: Mapping[tuple[int, int], str] = field(default_factory=dict)

    def column(self, index: int, first_row: int) -> list[Cell]:
        """Return the cells of a column from a row on."""
        return [row[index] for row in self.rows[first_row:]]

    def is_blank_row(self, index: int) -> bool:
        """Whether nothing stands in a row."""
        return all(is_blank(cell) for cell in self.rows[index])

    def place(self, row: int, column: int | None = None) -> str:
        """Name a place as a spreadsheet shows it: ``row 14`` or ``row 14, cell C14``."""
        if column is None:
            return f"row {row + 1}"
        return f"row {row + 1}, cell {address(row, column)}"


def address(row: int, column: int) -> str:
    """Return the cell address of indices that count from 0, e.g. ``C7``."""
    from openpyxl.utils import get_column_letter

    return f"{get_column_letter(column + 1)}{row + 1}"


def is_blank(cell: Cell) -> bool:
    """Whether a cell holds nothing but white space."""
    return isinstance(cell, str) and not cell.strip()


def shown(cell: Cell) -> str:
    """Return a cell as text: what a person would read in it."""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    return cell.isoformat()


def read_table(path: Path, sheet: str | None = None, name: str | None = None) -> Table:
    """Read a CSV text file or one sheet of a workbook.

    Parameters
    ----------
    path : Path
    sheet : str, optional
        Sheet of a workbook; may be left out when only one sheet holds anything.
    name : str, optional
        How messages call the file; its name when left out.

    Raises
    ------
    FormatError
        If the file is not what its name says, is damaged, encrypted or hostile.
    SurveyError
        If it is empty or holds a spreadsheet error value.
    """
    source = name or path.name
    suffix = path.suffix.lower()
    if not path.is_file():
        raise SurveyError("there is no such file", source=source)
    if path.stat().st_size > LARGEST_FILE:
        message = f"the file is larger than {LARGEST_FILE // 1_000_000} MB"
        raise FormatError(message, source=source, value=path.stat().st_size)
    if suffix in BOOK_SUFFIXES:
        rows, merged, notes, label, comments = read_workbook(path, source, sheet)
        table = Table(label, rows, merged, True, notes, comments)
    elif suffix in TEXT_SUFFIXES:
        if sheet is not None:
            message = "a sheet is named, but a text file has no sheets"
            raise SurveyError(message, source=source, value=sheet)
        text_rows, notes = read_delimited(path, source)
        table = Table(source, text_rows, (), False, notes)
    else:
        allowed = ", ".join((*TEXT_SUFFIXES, *BOOK_SUFFIXES))
        if suffix == ".xls":
            allowed += "; open an old .xls in a spreadsheet program and save it as .xlsx"
        raise FormatError(
            "tables are not read from this kind of file",
            source=source,
            value=suffix,
            allowed=allowed,
        )
    _refuse_error_values(table)
    return table


def _refuse_error_values(table: Table) -> None:
    if not any(is_blank(cell) is False for row in table.rows for cell in row):
        raise SurveyError("the table is empty", source=table.source)
    for i, row in enumerate(table.rows):
        for j, cell in enumerate(row):
            if isinstance(cell, str) and cell[:1] == "#" and cell.strip().upper() in ERROR_VALUES:
                raise SurveyError(
                    "a spreadsheet error stands where a value should be",
                    source=table.source,
                    place=table.place(i, j),
                    value=cell.strip(),
                    allowed="a value, or a blank cell where nothing was read",
                )


def texts(cells: Sequence[Cell]) -> list[str]:
    """Return cells as stripped text."""
    return [shown(cell) for cell in cells]
