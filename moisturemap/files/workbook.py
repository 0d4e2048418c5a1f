"""One sheet of an XLSX workbook as rows of cells, after a look for what could mislead or harm."""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, SurveyError
from moisturemap.files.apart import read_apart
from moisturemap.files.cell_look import (
    COLOURED,
    SHOWN_OTHERWISE,
    coloured,
    shown_otherwise,
    words_shown,
)
from moisturemap.files.cell_marks import comments_of, may_be_marked, refuse_struck
from moisturemap.files.sheet_size import check_size
from moisturemap.survey.note_words import may_spoil_test

LARGEST_CONTENT = 300_000_000
"""Bytes a workbook may unpack to; a million readings take about 200 million. Our choice."""

LARGEST_COLOURED = 3_000_000
"""Bytes of a workbook whose colours are looked at; tests have fewer, and large scans have tables in
colour. Our choice."""

MOST_PARTS = 5_000
"""Parts of the archive; a workbook has a few dozen. Our choice."""

LARGEST_RATIO = 400
"""Unpacked over packed size of a part above 1 MB; sheets of numbers pack 5 to 60 times."""

_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)|<\x00!\x00(?:D\x00O|E\x00N)|\x00<\x00!\x00[DE]")
_SHEET = re.compile(rb"<(?:\w+:)?sheetData[\s/>]")
_NEEDS_SECOND_LOOK = re.compile(rb't="e"|<f[ >/]|hidden="(?:1|true)"|<mergeCell ')
_PERCENT_STYLE = re.compile(rb'numFmtId="(?:9|10)"|formatCode="[^"]*%')
"""Formats 9 and 10 are percentages (ECMA-376-1, 18.8.30)."""
_LITERAL = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')


@dataclass(frozen=True, slots=True)
class Merged:
    """A merged range: first and last row and column, from 0, and its name, e.g. ``A1:B1``."""

    top: int
    left: int
    bottom: int
    right: int
    name: str


Comments = dict[tuple[int, int], str]
"""Comments by row and column of their cells, from 0."""


def read_workbook(
    path: Path, source: str, sheet: str | None
) -> tuple[list[list[Any]], tuple[Merged, ...], tuple[str, ...], str, Comments]:
    """Read one sheet.

    A fast reader takes the values. It gives blank cells for errors and for formulas that were
    never calculated, and says nothing of hidden or merged cells, of comments, of values struck
    through or of percentages, so a sheet with any of them is looked at again with a second reader.
    Percentages are read as they are shown.

    Returns
    -------
    rows : list of list of Cell
    merged : tuple of Merged
    notes : tuple of str
    label : str
        File and sheet, for messages.
    comments : dict
        By row and column from 0.
    """
    return read_apart(_read, path, source, sheet)


def filled_sheets(path: Path, source: str) -> tuple[str, ...]:
    """Return the names of the sheets that hold anything.

    Parameters
    ----------
    path : Path
        A workbook.
    source : str
        How messages call it.

    Raises
    ------
    FormatError
        If it is damaged, encrypted or hostile.
    """
    return read_apart(_filled, path, source)


def _filled(path: Path, source: str) -> tuple[str, ...]:
    _inspect(path, source)
    return _with_content(_sheets(path, source, None))


def _with_content(sheets: dict[str, list[list[Any]]]) -> tuple[str, ...]:
    return tuple(name for name, rows in sheets.items() if any(c != "" for r in rows for c in r))


def _read(
    path: Path, source: str, sheet: str | None
) -> tuple[list[list[Any]], tuple[Merged, ...], tuple[str, ...], str, Comments]:
    second_look = _inspect(path, source)
    sheets = _sheets(path, source, sheet)
    chosen = _choose(sheets, source, sheet)
    plain = len(sheets) == 1 and not may_spoil_test(chosen)
    label = source if plain else f"{source}, sheet {chosen!r}"
    rows = sheets[chosen]
    if not second_look:
        return rows, (), (), label, {}
    merged, notes, shown, comments = _second_look(path, label, chosen)
    for (row, column), text in shown.items():
        rows[row][column] = text
    return rows, merged, notes, label, comments


def _inspect(path: Path, source: str) -> bool:
    """Refuse what is no plain workbook; say whether it needs the second reader."""
    with path.open("rb") as file:
        head = file.read(8)
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        _refuse_old_container(path, source)
    try:
        with zipfile.ZipFile(path) as archive:
            return _inspect_parts(archive, source)
    except FormatError:
        raise
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        NotImplementedError,
        RuntimeError,
        ValueError,
    ) as error:
        message = "this is not an .xlsx workbook, or it is damaged"
        raise FormatError(
            message,
            source=source,
            value=head[:4],
            allowed="a workbook saved as .xlsx, or CSV text named .csv",
        ) from error


def _refuse_old_container(path: Path, source: str) -> None:
    if "EncryptedPackage".encode("utf-16-le") in path.read_bytes():
        raise FormatError(
            "the workbook is encrypted", source=source, allowed="a copy saved without a password"
        )
    raise FormatError(
        "this is an old .xls workbook under another name",
        source=source,
        allowed="the same workbook saved as .xlsx",
    )


def _inspect_parts(archive: zipfile.ZipFile, source: str) -> bool:
    parts = archive.infolist()
    if sum(part.file_size for part in parts) > LARGEST_CONTENT or len(parts) > MOST_PARTS:
        raise FormatError("the workbook unpacks to far more than a survey holds", source=source)
    if not any(part.filename.startswith("xl/") for part in parts):
        raise FormatError("this archive is not an .xlsx workbook", source=source)
    for part in parts:
        if part.flag_bits & 1:
            raise FormatError(
                "the workbook is encrypted",
                source=source,
                place=part.filename,
                allowed="a copy saved without a password",
            )
        if part.file_size > 1_000_000 and part.file_size > LARGEST_RATIO * part.compress_size:
            raise FormatError(
                "a part of the workbook unpacks to far more than it should",
                source=source,
                place=part.filename,
            )
    small = sum(part.file_size for part in parts) <= LARGEST_COLOURED
    colours = (COLOURED,) if small else ()
    styled = any(
        style.search(archive.read(part))
        for part in parts
        if part.filename.endswith("styles.xml")
        for style in (_PERCENT_STYLE, SHOWN_OTHERWISE, *colours)
    )
    marked = any(may_be_marked(part.filename, archive.read(part)) for part in parts)
    looks = [
        _inspect_content(archive.read(part), part.filename, source, second_look=styled or marked)
        for part in parts
    ]
    return any(looks)


def _inspect_content(content: bytes, name: str, source: str, *, second_look: bool = False) -> bool:
    """Look into one part, whatever it is called: a sheet may stand under any name."""
    if content[:3].strip(b"\xef\xbb\xbf \r\n")[:1] == b"<" or name.endswith((".xml", ".rels")):
        if b"\x00" in content[:200] or content[:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise FormatError(
                "a part of the workbook is written in an unusual way (not UTF-8)",
                source=source,
                place=name,
                allowed="the workbook saved again by a spreadsheet program",
            )
        if _DECLARATION.search(content):
            raise FormatError(
                "the workbook declares XML entities, which no spreadsheet program writes",
                source=source,
                place=name,
            )
    if not _SHEET.search(content):
        return False
    second_look = second_look or bool(_NEEDS_SECOND_LOOK.search(content))
    check_size(content, source, name, looked_at=second_look)
    return second_look


def _sheets(path: Path, source: str, asked: str | None) -> dict[str, list[list[Any]]]:
    """Return the rows from the first on, of every sheet or, of those not asked for, none."""
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_path(str(path))
        sheets: dict[str, list[list[Any]]] = {}
        for meta in book.sheets_metadata:
            if meta.typ != python_calamine.SheetTypeEnum.WorkSheet:
                continue
            if asked not in (None, meta.name):
                sheets[meta.name] = []
                continue
            sheet = book.get_sheet_by_name(meta.name)
            sheets[meta.name] = _plain(sheet.to_python(skip_empty_area=False))
    except python_calamine.CalamineError as error:
        raise FormatError(f"the workbook is damaged: {error}", source=source) from error
    return sheets


def _plain(rows: list[list[Any]]) -> list[list[Any]]:
    """Numbers as float, yes and no as text; all rows of one length."""
    width = max((len(row) for row in rows), default=0)
    for row in rows:
        for j, cell in enumerate(row):
            if isinstance(cell, bool):
                row[j] = "TRUE" if cell else "FALSE"
            elif isinstance(cell, int):
                row[j] = float(cell)
            elif not isinstance(cell, str | float) and not hasattr(cell, "isoformat"):
                row[j] = str(cell)
        row.extend([""] * (width - len(row)))
    return rows


def _choose(sheets: dict[str, list[list[Any]]], source: str, sheet: str | None) -> str:
    names = ", ".join(sheets)
    if sheet is not None:
        if sheet not in sheets:
            raise SurveyError(
                "the workbook has no such sheet", source=source, value=sheet, allowed=names
            )
        return sheet
    filled = _with_content(sheets)
    if not filled:
        raise SurveyError("every sheet of the workbook is empty", source=source)
    if len(filled) > 1:
        raise SurveyError(
            "several sheets hold something; name the one that is meant",
            source=source,
            allowed=f"sheet = one of {', '.join(filled)}",
        )
    return filled[0]


def _second_look(
    path: Path, label: str, sheet: str
) -> tuple[tuple[Merged, ...], tuple[str, ...], dict[tuple[int, int], str], Comments]:
    """Refuse error cells, uncalculated formulas and struck values; note what is hidden or merged.

    Percentages come back as they are shown, by row and column from 0, and so do comments.
    """
    import openpyxl

    try:
        with path.open("rb") as file:
            values = openpyxl.load_workbook(file, data_only=True, rich_text=True)[sheet]
        with path.open("rb") as file:
            formulas = openpyxl.load_workbook(file, data_only=False)[sheet]
    except Exception as error:  # the reader raises whatever a damaged part provokes
        message = f"the workbook is damaged: {error}"
        raise FormatError(message, source=label) from error
    percentages: list[Any] = []
    otherwise: dict[tuple[int, int], str] = {}
    marks: Comments = {}
    for value_row, formula_row in zip(values.iter_rows(), formulas.iter_rows(), strict=True):
        for value, formula in zip(value_row, formula_row, strict=True):
            _refuse_cell(value, formula, label)
            if _is_percentage(value):
                percentages.append(value)
            elif (text := _shown(value)) is not None:
                otherwise[value.row - 1, value.column - 1] = text
            if words := _mark(value):
                marks[value.row - 1, value.column - 1] = words
    merged = tuple(
        Merged(r.min_row - 1, r.min_col - 1, r.max_row - 1, r.max_col - 1, r.coord)
        for r in values.merged_cells.ranges
    )
    shown = {
        (cell.row - 1, cell.column - 1): f"{100 * float(cell.value):.12g} %" for cell in percentages
    }
    refuse_struck(values, label)
    comments = comments_of(values)
    notes = _hidden(values, label) + _said(percentages, label) + _commented(comments, label)
    colours = coloured(values)
    notes += _looks(otherwise, [cell.coordinate for cell in colours], label)
    for cell in colours:
        at = cell.row - 1, cell.column - 1
        marks[at] = f"{marks.get(at, '')} the cell is coloured".strip()
    said = {at: f"{marks.get(at, '')} {comments.get(at, '')}".strip() for at in marks | comments}
    return merged, notes, shown | {at: text for at, text in otherwise.items() if text}, said


def _mark(cell: Any) -> str:
    """Return what the format of a number says of it beside its unit, as a comment would."""
    if cell.data_type != "n" or cell.value is None or cell.is_date:
        return ""
    if _shown(cell) == "":
        return "the cell shows nothing"
    return words_shown(float(cell.value), cell.number_format)


def _shown(cell: Any) -> str | None:
    if cell.data_type != "n" or cell.value is None or cell.is_date:
        return None
    return shown_otherwise(float(cell.value), cell.number_format)


def _looks(
    otherwise: dict[tuple[int, int], str], colours: Sequence[str], label: str
) -> tuple[str, ...]:
    from openpyxl.utils import get_column_letter

    places = {f"{get_column_letter(j + 1)}{i + 1}": text for (i, j), text in otherwise.items()}
    read = [f"{place} {text!r}" for place, text in places.items() if text]
    hidden = [place for place, text in places.items() if not text]
    notes = []
    if read:
        notes.append(f"{label}: cells were read as they are shown: {_some(read)}.")
    if hidden:
        notes.append(f"{label}: cells show nothing, and what they hold was read: {_some(hidden)}.")
    if colours:
        notes.append(
            f"{label}: cells are coloured, and what the colour means is not read: {_some(colours)}."
        )
    return tuple(notes)


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")


def _commented(comments: Comments, label: str) -> tuple[str, ...]:
    from openpyxl.utils import get_column_letter

    if not comments:
        return ()
    named = [
        f"{get_column_letter(column + 1)}{row + 1} {words!r}"
        for (row, column), words in comments.items()
    ]
    return (f"{label}: cells carry comments: {', '.join(named)}.",)


def _is_percentage(cell: Any) -> bool:
    number = cell.data_type == "n" and cell.value is not None
    return number and "%" in _LITERAL.sub("", cell.number_format)


def _said(percentages: list[Any], label: str) -> tuple[str, ...]:
    if not percentages:
        return ()
    named = _some([cell.coordinate for cell in percentages])
    return (f"{label}: cells formatted as percentages were read as they are shown: {named}.",)


def _refuse_cell(value: Any, formula: Any, label: str) -> None:
    place = f"cell {formula.coordinate}"
    if value.data_type == "e" and value.value is not None:
        raise SurveyError(
            "a spreadsheet error stands where a value should be",
            source=label,
            place=place,
            value=value.value,
            allowed="a value, or a blank cell where nothing was read",
        )
    if formula.data_type == "f" and value.value is None:
        raise SurveyError(
            "a formula was never calculated, so it has no value",
            source=label,
            place=place,
            value=str(formula.value),
            allowed="open the workbook in a spreadsheet program and save it again",
        )


def _hidden(sheet: Any, label: str) -> tuple[str, ...]:
    notes = []
    rows = sorted(number for number, row in sheet.row_dimensions.items() if row.hidden)
    columns = sorted(name for name, column in sheet.column_dimensions.items() if column.hidden)
    if rows:
        shown = ", ".join(map(str, rows[:20])) + (", ..." if len(rows) > 20 else "")
        notes.append(f"{label}: hidden rows were read like the others: {shown}.")
    if columns:
        notes.append(f"{label}: hidden columns were read like the others: {', '.join(columns)}.")
    if sheet.sheet_state != "visible":
        notes.append(f"{label}: the sheet itself is hidden.")
    return tuple(notes)
