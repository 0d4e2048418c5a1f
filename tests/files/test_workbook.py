"""Workbooks: what a spreadsheet hides, breaks or merges is found; hostile files are refused."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from moisturemap.errors import FormatError, InputError, SurveyError
from moisturemap.files import ReadingOptions, read_readings

Writer = Callable[..., Path]
ROWS: list[list[object]] = [["x", "y", "value"], [0.5, 1, 40], [1.5, 1, 41.5]]


def test_list_and_grid_read_alike(book: Writer) -> None:
    """Both layouts of the same readings."""
    listed, _ = read_readings(book("list.xlsx", scan=ROWS))
    grid, _ = read_readings(book("grid.xlsx", scan=[[None, 0.5, 1.5], [1, 40, 41.5]]))
    assert listed[["x", "y", "value"]].equals(grid[["x", "y", "value"]])
    assert listed["raw"].tolist() == ["40", "41.5"]
    assert grid["row"].tolist() == ["B2", "C2"]


def test_rows_are_numbered_from_the_top_of_the_sheet(book: Writer) -> None:
    """Blank rows and columns before the table count."""
    rows = [[], [], [None, *ROWS[0]], [None, *ROWS[1]]]
    readings, _ = read_readings(book(scan=rows))
    assert readings["row"].tolist() == ["4"]


def test_text_numbers_with_decimal_commas_mix_with_true_numbers(book: Writer) -> None:
    """A cell typed as text with a comma is still a number."""
    readings, _ = read_readings(book(scan=[ROWS[0], ["0,5", 1, "40,5"], [1.5, 1, 41]]))
    assert readings["x"].tolist() == [0.5, 1.5]


def test_dates_of_cells_are_times(book: Writer) -> None:
    """A true date cell needs no guessing."""
    rows = [["x", "y", "value", "time"], [1, 1, 40, datetime(2026, 3, 4, 9, 30)]]
    readings, notes = read_readings(book(scan=rows))
    assert readings["time"].iloc[0].isoformat() == "2026-03-04T09:30:00+00:00"
    assert any("taken as UTC" in note for note in notes)


def test_several_filled_sheets_need_a_name(book: Writer) -> None:
    """The refusal names the sheets; naming one reads it."""
    path = book(first=ROWS, second=ROWS[:2], blank=[])
    with pytest.raises(SurveyError, match="first, second"):
        read_readings(path)
    readings, _ = read_readings(path, ReadingOptions(sheet="second"))
    assert len(readings) == 1
    with pytest.raises(SurveyError, match="no such sheet"):
        read_readings(path, ReadingOptions(sheet="third"))


def edited(path: Path, change: Callable[[object], None]) -> Path:
    workbook = openpyxl.load_workbook(path)
    change(workbook.active)
    workbook.save(path)
    return path


@pytest.mark.parametrize("error", ["#N/A", "#REF!", "#DIV/0!", "#VALUE!"])
def test_error_cells_are_refused_by_address(book: Writer, error: str) -> None:
    """An error is never taken for a blank cell."""

    def spoil(sheet: object) -> None:
        sheet["C3"] = error
        sheet["C3"].data_type = "e"

    with pytest.raises(SurveyError, match="C3") as refusal:
        read_readings(edited(book(scan=ROWS), spoil))
    assert error in str(refusal.value)


def test_formulas_that_were_never_calculated_are_refused_by_address(book: Writer) -> None:
    """A formula without a value would read as blank."""
    with pytest.raises(SurveyError, match="C4"):
        read_readings(book(scan=[*ROWS, [2.5, 1, "=C2+1"]]))


def test_hidden_rows_and_columns_are_noted(book: Writer) -> None:
    """They are read, and it is said."""

    def hide(sheet: object) -> None:
        sheet.row_dimensions[3].hidden = True
        sheet.column_dimensions["C"].hidden = True

    readings, notes = read_readings(edited(book(scan=ROWS), hide))
    assert len(readings) == 2
    assert any("hidden rows" in note and "3" in note for note in notes)
    assert any("hidden columns" in note and "C" in note for note in notes)


@pytest.mark.parametrize("merged", ["A1:B1", "B2:B3", "C2:C3"])
def test_merged_headings_and_numbers_are_refused(book: Writer, merged: str) -> None:
    """It cannot be told what a merged number belongs to."""
    path = edited(book(scan=ROWS), lambda sheet: sheet.merge_cells(merged))
    with pytest.raises(SurveyError, match=merged):
        read_readings(path)


def test_a_merged_room_stands_in_every_row_it_spans(book: Writer) -> None:
    """Rooms are often written once for several rows."""
    rows = [["room", "x", "y", "value"], ["hall", 1, 1, 40], [None, 2, 1, 41]]
    path = edited(book(scan=rows), lambda sheet: sheet.merge_cells("A2:A3"))
    readings, _ = read_readings(path)
    assert readings["room"].tolist() == ["hall", "hall"]


def repacked(path: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    goal = path.with_name("repacked.xlsx")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(goal, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, change(content) if name == part else content)
    return goal


def test_external_entities_are_refused(book: Writer) -> None:
    """A declaration could read files of the machine."""
    bad = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>'
    path = repacked(
        book(scan=ROWS),
        "xl/worksheets/sheet1.xml",
        lambda content: bad + content.partition(b"?>")[2],
    )
    with pytest.raises(FormatError, match="entities"):
        read_readings(path)


def test_a_part_that_unpacks_to_far_too_much_is_refused(book: Writer) -> None:
    """Twenty megabytes of blanks packed into twenty kilobytes."""
    path = repacked(
        book(scan=ROWS), "xl/worksheets/sheet1.xml", lambda content: content + b" " * 20_000_000
    )
    with pytest.raises(FormatError, match="unpacks to far more"):
        read_readings(path)


@pytest.mark.parametrize(
    ("content", "named"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "old .xls"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "encrypted"),
        (b"x,y,value\n1,1,40\n", "not an .xlsx"),
        (b"PK\x03\x04rubbish", "not an .xlsx"),
        (b"", "not an .xlsx"),
    ],
)
def test_what_is_no_workbook_is_refused(table: Writer, content: bytes, named: str) -> None:
    """The refusal says what it is."""
    with pytest.raises(InputError, match=named):
        read_readings(table(content, "scan.xlsx"))


def test_an_old_workbook_is_told_how_to_become_a_new_one(table: Writer) -> None:
    """The suffix .xls is answered with what to do."""
    with pytest.raises(FormatError, match=r"save it as \.xlsx"):
        read_readings(table(b"x", "scan.xls"))


def test_a_truncated_workbook_is_refused(book: Writer, tmp_path: Path) -> None:
    """Half a file is damaged."""
    path = book(scan=ROWS)
    half = tmp_path / "half.xlsx"
    shutil.copy(path, half)
    half.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(FormatError):
        read_readings(half)


@pytest.mark.parametrize("form", ["0%", "0.00%", '0.0" "%'])
def test_percentages_are_read_as_they_are_shown(book: Writer, form: str) -> None:
    """Typing 70% into a cell stores 0.7 and its format (ECMA-376-1, 18.8.30, formats 9 and 10)."""
    path = book(scan=[ROWS[0], [1, 1, 0.7], [2, 1, 40]])
    book_again = openpyxl.load_workbook(path)
    book_again.active["C2"].number_format = form
    book_again.save(path)
    readings, notes = read_readings(path)
    assert readings["value"].tolist() == pytest.approx([70, 40])
    assert any("percentages" in note and "C2" in note for note in notes)


def test_a_percent_sign_that_is_only_written_beside_changes_nothing(book: Writer) -> None:
    """A format 0"%" shows 70 as 70%."""
    path = book(scan=[ROWS[0], [1, 1, 70], [2, 1, 40]])
    book_again = openpyxl.load_workbook(path)
    book_again.active["C2"].number_format = '0"%"'
    book_again.save(path)
    assert read_readings(path)[0]["value"].tolist() == [70, 40]
