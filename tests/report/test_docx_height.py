"""How high blocks stand in a word-processor document: by published widths of letters."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import matplotlib as mpl
import pytest

from moisturemap.figures.typeface import advance
from moisturemap.report.content import (
    Bullets,
    Column,
    Content,
    Contents,
    Paragraph,
    Section,
    Table,
)
from moisturemap.report.docx import docx_bytes
from moisturemap.report.docx_height import BOLD_LETTERS, LETTERS, laid, lines

TEXTS = (
    "The floor must not be covered. Two tests of four lie above the limit, and the wettest place "
    "is at the wall of the ward; find and stop the water before drying begins.",
    "Der Boden darf nicht belegt werden. Zwei von vier Prüfungen liegen über dem Grenzwert; die "
    "nasseste Stelle liegt an der Wand. Vor dem Trocknen ist das Wasser zu finden.",
)


def letters_of(font: str) -> dict[str, float]:
    """Return widths [em] by letter of a font Adobe published the metrics of (AFM files)."""
    path = Path(mpl.get_data_path()) / "fonts" / "pdfcorefonts" / f"{font}.afm"
    found = re.findall(r"^C (\d+) ; WX (\d+)", path.read_text("latin-1"), re.MULTILINE)
    return {chr(int(code)): int(width) / 1000 for code, width in found}


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(
    ("font", "ratio"), [("Helvetica", LETTERS), ("Helvetica-Bold", BOLD_LETTERS)]
)
def test_letters_are_as_wide_as_the_font_metrics_say(text: str, font: str, ratio: float) -> None:
    """Adobe Font Metrics of Helvetica, whose widths the fonts of word processors share."""
    widths = letters_of(font)
    told = "".join(letter for letter in text if letter in widths)
    assert advance(told) * ratio == pytest.approx(sum(widths[one] for one in told), rel=0.02)


def test_lines_end_between_words_only() -> None:
    """Words of a good half of a line stand one on each."""
    assert lines(" ".join(["m" * 20] * 5), 60.0, 9.5) == 5
    assert lines("one\ntwo", 60.0, 9.5) == 2
    assert lines("", 60.0, 9.5) == 1


def test_no_page_parts_two_lines_from_a_paragraph() -> None:
    """Widows and orphans: two lines at least stand on either side."""
    parts = laid(Paragraph("words " * 170), "a4").parts
    assert len(parts) > 4
    assert min(parts[0], parts[-1]) > 1.9 * parts[1]


def test_a_table_begins_and_ends_with_two_rows() -> None:
    """Caption, heading and two rows; then a row each; then two."""
    rows = tuple((str(k), "words") for k in range(10))
    how = laid(Table("A table", (Column("No."), Column("Text")), rows), "a4")
    assert len(how.parts) == 1 + 6 + 1 + 1
    assert how.parts[-2] == pytest.approx(2 * how.parts[1])
    of_three = laid(Table("A table", (Column("No."), Column("Text")), rows[:3]), "a4")
    assert len(of_three.parts) == 1 + 1  # the table as a whole, and what parts it from the text


def test_items_of_a_list_stand_close() -> None:
    """A list of two items is as high as two lines."""
    one, two = (sum(laid(Bullets(("words",) * n), "a4").parts) for n in (1, 2))
    assert two == pytest.approx(2 * one)


@pytest.mark.parametrize(("count", "turns"), [(10, False), (42, True), (70, False)])
def test_contents_follow_what_runs_over_onto_the_second_page(count: int, turns: bool) -> None:
    """A page that holds the end of a table alone would stand empty, as one nearly full would not.

    Where page one has room for them it holds them: a third of it stood empty.
    """
    docx = pytest.importorskip("docx", reason="needs the extra report")
    table = Table("Steps", (Column("What"), Column("By whom")), (("Test", "technician"),) * count)
    section = Section("In short", (table, Contents()), "1")
    content = Content("Ward", "Survey", "v1", (("Visit", "v1"),), (section,), "2026-03-04")
    document = docx.Document(BytesIO(docx_bytes(content, datetime(2026, 3, 4, tzinfo=UTC))))
    heads = [p for p in document.paragraphs if p.style.name == "Contents Heading"]
    assert [one.paragraph_format.page_break_before for one in heads] == [turns]
