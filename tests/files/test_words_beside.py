"""Comments on cells, lines through values and sentences above the headings of a table of tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.comments import Comment
from openpyxl.styles import Font

from moisturemap.errors import SurveyError
from moisturemap.files import read_readings, read_tests

Writer = Callable[..., Path]
HEADINGS = ["hole", "x", "y", "method", "depth_mm", "value"]
ROWS = [["H1", 1, 1, "in-situ-rh", 60, 68], ["H2", 3, 1, "in-situ-rh", 60, 67]]


def written(folder: Path, change: Callable[[openpyxl.worksheet.worksheet.Worksheet], None]) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (HEADINGS, *ROWS):
        sheet.append(row)
    change(sheet)
    book.save(folder / "tests.xlsx")
    return folder / "tests.xlsx"


def test_a_comment_is_a_note_of_its_row(tmp_path: Path) -> None:
    def change(sheet):
        sheet["F2"].comment = Comment("R. Fenn:\nvoid - water in hole,\nwas 82", "R. Fenn")
        sheet["A3"].comment = Comment(
            "[Threaded comment]\n\nYour version allows you to read this.\n\nComment:\n  moved", "x"
        )

    tests, notes = read_tests(written(tmp_path, change))
    assert tests["comment on value"].tolist() == ["void - water in hole, was 82", ""]
    assert tests["comment on hole"].tolist() == ["", "moved"]
    assert any("cells carry comments: F2 'void" in note for note in notes)


@pytest.mark.parametrize("cell", ["F1", "F9", "K2"])
def test_a_comment_beside_the_rows_is_a_note_of_all_or_of_its_row(tmp_path: Path, cell) -> None:
    def change(sheet):
        sheet[cell].comment = Comment("all drilled wet", "x")

    tests, _ = read_tests(written(tmp_path, change))
    said = [name for name in tests if name.startswith("comment on")]
    assert len(said) == 1
    expected = ["all drilled wet", ""] if cell == "K2" else ["all drilled wet"] * 2
    assert tests[said[0]].tolist() == expected


def test_a_column_of_that_name_is_kept_beside_it(tmp_path: Path) -> None:
    def change(sheet):
        sheet["G1"], sheet["G2"] = "comment on value", "corner"
        sheet["F2"].comment = Comment("void", "x")

    tests, _ = read_tests(written(tmp_path, change))
    assert tests["comment on value"].tolist() == ["corner", ""]
    assert tests["comment on value 2"].tolist() == ["void", ""]


def test_a_value_struck_through_is_refused(tmp_path: Path) -> None:
    def change(sheet):
        sheet["F2"].font = Font(strike=True)

    with pytest.raises(SurveyError, match=r"F2.*struck through.*68"):
        read_tests(written(tmp_path, change))


def test_a_part_struck_through_is_refused_too(tmp_path: Path) -> None:
    def change(sheet):
        old = TextBlock(InlineFont(strike=True), "82")
        sheet["F2"] = CellRichText(old, " 68")

    with pytest.raises(SurveyError, match=r"F2.*struck through"):
        read_tests(written(tmp_path, change))


def test_a_style_of_empty_cells_refuses_nothing(tmp_path: Path) -> None:
    def change(sheet):
        sheet["K9"].font = Font(strike=True)

    assert len(read_tests(written(tmp_path, change))[0]) == 2


def test_struck_readings_are_refused_and_their_comments_told(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["x", "y", "value"], [1, 1, 40], [2, 1, 41]):
        book.active.append(row)
    book.active["C2"].comment = Comment("over the pipe", "x")
    book.save(tmp_path / "scan.xlsx")
    _, notes = read_readings(tmp_path / "scan.xlsx")
    assert any("C2 'over the pipe'" in note for note in notes)
    book.active["C2"].font = Font(strike=True)
    book.save(tmp_path / "scan.xlsx")
    with pytest.raises(SurveyError, match="struck through"):
        read_readings(tmp_path / "scan.xlsx")


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("Note: hole A water in hole, disregard", True),
        ("H1 was lifted on day 2", True),
        ("Job 12, probe dropped", True),
        ("lifted on day 2 (cleared: A. B., 2026-03-12)", True),
        ("Job 123", False),
        ("Client: Weavers of the Upper Mill", False),
        ("Instrument probe 1", False),
        ("limit 75", False),
        ("Moisture tests, concrete slab, 9", False),
        ("Prüfungen Estrich", False),
    ],
)
def test_a_sentence_above_the_headings_is_a_note_of_all(table: Writer, line: str, kept) -> None:
    rows = [",".join(map(str, row)) for row in (HEADINGS, *ROWS)]
    tests, _ = read_tests(table("\n".join([f'"{line}"', *rows]) + "\n"))
    assert ("preface of row 1" in tests) is kept
    assert not kept or tests["preface of row 1"].tolist() == [line] * 2


@pytest.mark.parametrize(
    ("file", "title", "said"),
    [
        ("tests.xlsx", "VOID do not use", "tests.xlsx, sheet 'VOID do not use'"),
        ("tests_void.xlsx", "Sheet1", "tests_void.xlsx"),
        ("tests.xlsx", "humidity May", ""),
    ],
)
def test_a_name_that_voids_the_tests_is_a_note_of_all(tmp_path: Path, file, title, said) -> None:
    """A sheet called so met its limit without a word."""

    def change(sheet):
        sheet.title = title

    path = written(tmp_path, change).rename(tmp_path / file)
    tests, _ = read_tests(path)
    named = tests["name of the file"].tolist() if "name of the file" in tests else ["", ""]
    assert named == [said] * 2
