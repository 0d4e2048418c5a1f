"""Cells that show another thing than they hold, and numbers that are coloured."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from openpyxl.styles import Font, PatternFill

from moisturemap.files import read_tests
from moisturemap.files.cell_look import shown_otherwise
from tests.files.test_words_beside import written

RED = PatternFill("solid", fgColor="FFFF8080")


@pytest.mark.parametrize(
    ("value", "number_format", "shown"),
    [
        (68.0, '">"0', ">68"),
        (68.4, '"> "0', ">68.4"),
        (68.0, r"\<0.0", "<68"),
        (68.0, '"≥"0" %RH"', "≥68"),
        (99.9, '[>95]"OL";0.0', "OL"),
        (60.0, '[>95]"OL";0.0', None),
        (99.9, '[>95]">"0;0', ">99.9"),
        (99.9, '[Red][>95]"void";General', "void"),
        (3.0, ";;;", ""),
        (3.0, '"dry"', "dry"),
        (-3.0, '0;"low"', "low"),
        (0.0, '0;0;"none"', "none"),
        (68.0, "General", None),
        (68.0, "0.00", None),
        (68.0, '0.0" %RH"', None),
        (68.0, "#,##0.0_);[Red](#,##0.0)", None),
        (68.0, "@", None),
        (68.0, r'_-* #,##0.00\ "kg"_-;-* #,##0.00\ "kg"_-', None),
        (68.0, "[$-407]0.0", None),
    ],
)
def test_what_is_shown_is_told_from_what_is_held(value, number_format, shown) -> None:
    """Sections, conditions and literal text as ECMA-376-1, 18.8.31 describes them."""
    assert shown_otherwise(value, number_format) == shown


def test_a_result_that_shows_more_than_it_holds_is_read_as_shown(tmp_path: Path) -> None:
    def change(sheet: openpyxl.worksheet.worksheet.Worksheet) -> None:
        sheet["F2"].number_format = '">"0'

    tests, notes = read_tests(written(tmp_path, change))
    held, _ = read_tests(_typed(tmp_path))
    assert any("read as they are shown: F2 '>68'" in note for note in notes)
    pd.testing.assert_frame_equal(tests, held)


def _typed(folder: Path) -> Path:
    def change(sheet: openpyxl.worksheet.worksheet.Worksheet) -> None:
        sheet["F2"] = ">68"

    (folder / "typed").mkdir()
    return written(folder / "typed", change)


def test_a_hidden_number_is_read_and_named(tmp_path: Path) -> None:
    def change(sheet: openpyxl.worksheet.worksheet.Worksheet) -> None:
        sheet["F3"].number_format = ";;;"

    tests, notes = read_tests(written(tmp_path, change))
    assert tests["value"].tolist() == [68, 67]
    assert any("show nothing, and what they hold was read: F3" in note for note in notes)


def test_single_coloured_numbers_are_named_and_coloured_tables_are_not(tmp_path: Path) -> None:
    def one(sheet: openpyxl.worksheet.worksheet.Worksheet) -> None:
        for row in range(4):
            sheet.append([f"H{row + 3}", 1, 1, "in-situ-rh", 60, 70])
        sheet["F3"].fill = RED
        for cell in sheet["E"]:
            cell.fill = RED
        for cell in sheet[1]:
            cell.fill = RED

    _, notes = read_tests(written(tmp_path, one))
    said = [note for note in notes if "coloured" in note]
    assert len(said) == 1
    assert said[0].endswith("is not read: F3.")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda cell: setattr(cell, "fill", RED), "the cell is coloured"),
        (lambda cell: setattr(cell, "font", Font(color="FFFF0000")), "the cell is coloured"),
        (lambda cell: setattr(cell, "font", Font(color="FFFFFFFF")), "the cell is coloured"),
        (lambda cell: setattr(cell, "font", Font(color="FF000000")), ""),
        (lambda cell: setattr(cell, "number_format", '0" (retest)"'), "(retest)"),
        (lambda cell: setattr(cell, "number_format", '0.0" void"'), "void"),
        (lambda cell: setattr(cell, "number_format", '0.0" %RH"'), ""),
        (lambda cell: setattr(cell, "number_format", ";;;"), "the cell shows nothing"),
    ],
)
def test_what_a_cell_says_beside_its_result_is_a_note(tmp_path: Path, change, said: str) -> None:
    """A result painted red, or shown as "68 void", met its limit without a word."""

    def one(sheet: openpyxl.worksheet.worksheet.Worksheet) -> None:
        for row in range(4):
            sheet.append([f"H{row + 3}", 1, 1, "in-situ-rh", 60, 70])
        change(sheet["F3"])

    tests, _ = read_tests(written(tmp_path, one))
    told = tests.get("comment on value", pd.Series([""] * len(tests)))
    assert told.tolist() == ["", said, "", "", "", ""]
