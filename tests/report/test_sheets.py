"""The sheets of a report: no table parts after a row, no heading stands alone, none is empty."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdf
import pytest
from matplotlib.figure import Figure

from moisturemap.bundles import Findings
from moisturemap.report.content import (
    Bullets,
    Column,
    Content,
    Paragraph,
    Section,
    Signatures,
    Table,
    Terms,
)
from moisturemap.report.pdf import pdf_bytes
from moisturemap.report.pictures import _levelled, drawn
from moisturemap.report.reference import numbered
from moisturemap.report.write import write_report

from .sheets import gaps, sheet_faults
from .test_documents import MADE, picture


@pytest.mark.parametrize("before", range(30, 62, 4))
@pytest.mark.parametrize("rows", [12, 25, 47])
def test_a_table_never_leaves_a_row_alone(before: int, rows: int, tmp_path: Path) -> None:
    """Wherever on a sheet it begins, and however long its rows are."""
    pytest.importorskip("typst", reason="needs the extra report")
    random = np.random.default_rng(before * rows)
    cells = tuple(
        (str(k), "a word or two more of it " * int(random.integers(1, 7))) for k in range(rows)
    )
    table = Table("A table", (Column("No.", 1), Column("In words", 5)), cells)
    filler = tuple(Paragraph(f"Line {k}.") for k in range(before))
    sections = [Section("First", filler), Section("Second", (table, Paragraph("The end.")))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    pdf, note = pdf_bytes(content, MADE)
    assert note == ""
    path = tmp_path / "r.pdf"
    path.write_bytes(pdf)
    assert sheet_faults(path) == []


@pytest.mark.parametrize("before", range(8, 32, 3))
def test_no_row_stands_alone_between_two_figures(before: int) -> None:
    """Two figures of one sheet left room for one row of the table that goes on beside them."""
    pytest.importorskip("typst", reason="needs the extra report")
    drawn = picture((174, 108))
    figures = tuple(
        replace(drawn, width_mm=174.0, floats=True, key=f"figure-{k}", caption="drawn")
        for k in range(4)
    )
    cells = tuple((f"row {k}.", "three lines of words " * 10) for k in range(9))
    table = Table("A table", (Column("No.", 1), Column("In words", 3)), cells)
    filler = tuple(Paragraph(f"Line {k}.") for k in range(before))
    sections = [Section("First", (*filler, *figures)), Section("Second", (table,))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    pdf, _ = pdf_bytes(content, MADE)
    sheets = [page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages]
    assert 1 not in [len(re.findall(r"row \d\.", one)) for one in sheets]


@pytest.mark.parametrize("rows", [7, 9])
def test_a_table_of_high_rows_begins_below_a_figure(rows: int, tmp_path: Path) -> None:
    """Where their number was odd three had to find room, and each figure had a sheet to itself."""
    pytest.importorskip("typst", reason="needs the extra report")
    drawn = picture((174, 140))
    figures = tuple(
        replace(drawn, width_mm=174.0, floats=True, key=f"figure-{k}", caption="drawn")
        for k in range(3)
    )
    cells = tuple((f"row {k}.", "ten lines of words or so " * 23) for k in range(rows))
    table = Table("A table", (Column("No.", 1), Column("In words", 1)), cells)
    section = Section("First", (*(Paragraph(f"Line {k}.") for k in range(30)), *figures, table))
    content = Content("A floor", "a report", "v1", (), tuple(numbered([section])), "2026-03-02")
    path = tmp_path / "r.pdf"
    path.write_bytes(pdf_bytes(content, MADE)[0])
    assert sheet_faults(path) == []


@pytest.mark.parametrize("before", [4, 24, 34])
@pytest.mark.parametrize("archive", [True, False])
@pytest.mark.parametrize("named", [True, False])
def test_no_line_is_lost_between_two_figures(before: int, archive: bool, named: bool) -> None:
    """The typesetter dropped lines of a list that went on where two figures left a gap."""
    pytest.importorskip("typst", reason="needs the extra report")
    drawn = picture((174, 116))
    figures = tuple(
        replace(drawn, width_mm=174.0, floats=True, key=f"figure-{k}", caption="drawn")
        for k in range(4)
    )
    texts = [f"item {k}. " + "three lines of words " * 10 for k in range(9)]
    listed = Terms(tuple(("name", one) for one in texts)) if named else Bullets(tuple(texts))
    filler = tuple(Paragraph(f"Line {k}.") for k in range(before))
    sections = [Section("First", (*filler, *figures)), Section("Second", (listed,))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    pdf, note = pdf_bytes(content, MADE, archive=archive)
    assert note == ""
    text = "".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages)
    assert len(re.findall(r"item \d\.", text)) == len(texts)
    assert text.count("three") == 10 * len(texts)


@pytest.mark.parametrize("before", range(39, 44))
def test_lines_to_sign_stand_with_the_last_thing_said(before: int) -> None:
    """Nobody signs a sheet that says nothing."""
    pytest.importorskip("typst", reason="needs the extra report")
    filler = tuple(Paragraph(f"Line {k}.") for k in range(before))
    end = (Bullets(("First said.", "Last said.")), Signatures(("Adopted by",)))
    sections = [Section("First", (*filler, *end)), Section("Second", (Paragraph("The end."),))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    pdf, _ = pdf_bytes(content, MADE)
    sheets = [page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages]
    assert all(("Last said." in one) == ("Adopted by" in one) for one in sheets)
    assert sum("Adopted by" in one for one in sheets) == 1


@pytest.mark.thorough
def test_the_sheets_of_a_report_are_whole(findings: Findings, tmp_path: Path) -> None:
    """With decision, figures and all readings."""
    write_report(findings.study, tmp_path / "r.pdf", decision=findings.decision)
    assert sheet_faults(tmp_path / "r.pdf") == []


def test_the_heads_of_two_drawings_side_by_side_stand_level() -> None:
    """They stood on one line at their feet, the lower one's head further down."""
    assert _levelled([3.0, 2.0, 2.5, 2.0], [True] * 4) == [3.0, 3.0, 2.5, 2.5]
    assert _levelled([3.0, 2.0, 2.5], [False, True, True]) == [3.0, 2.5, 2.5]
    assert _levelled([3.0, 2.0], [True, False]) == [3.0, 2.0]
    figure = Figure(figsize=(2.0, 1.0))
    bare, longer = drawn(figure, "c", "a"), drawn(figure, "c", "a", below=0.5)
    assert longer.size[0] == bare.size[0]
    assert longer.size[1] == pytest.approx(1.5 * bare.size[1], abs=1)
    assert b'height="108pt"' in longer.svg


def test_no_figure_stands_in_a_table_of_the_next_section() -> None:
    """Figures that found no room went on, sheet by sheet, between the rows of another's table."""
    pytest.importorskip("typst", reason="needs the extra report")
    drawn = picture((174, 108))
    figures = tuple(
        replace(drawn, width_mm=174.0, floats=True, key=f"figure-{k}", caption="drawn")
        for k in range(4)
    )
    cells = tuple((f"row {k}.", "three lines of words " * 10) for k in range(9))
    table = Table("A table", (Column("No.", 1), Column("In words", 3)), cells)
    filler = tuple(Paragraph(f"Line {k}.") for k in range(32))
    sections = [Section("First", (*filler, *figures)), Section("Second", (table,))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    pdf, _ = pdf_bytes(content, MADE)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages)
    rows = text[text.index("row 0.") : text.index("row 8.")]
    assert "drawn" not in rows
    assert text.index("Second") > text.rindex("drawn")


def test_the_last_sheet_is_not_near_empty(tmp_path: Path) -> None:
    """Four rows of the settings stood alone on a sheet."""
    pytest.importorskip("typst", reason="needs the extra report")
    table = Table(
        "Settings", (Column("A", 1),), tuple((f"row {k}",) for k in range(24)), dense=True
    )
    filler = tuple(Paragraph(f"Line {k}.") for k in range(29))
    sections = [Section("First", filler), Section("Last", (table,))]
    content = Content("A floor", "a report", "v1", (), tuple(numbered(sections)), "2026-03-02")
    path = tmp_path / "r.pdf"
    path.write_bytes(pdf_bytes(content, MADE)[0])
    sheets = gaps(path)
    assert len(sheets) == 2
    assert max(sheets) < 0.75
    assert sheet_faults(path) == []
