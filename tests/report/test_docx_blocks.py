"""Blocks of the word-processor document as programs that open it see them."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import docx
from docx.oxml.ns import qn
from PIL import Image

from moisturemap.report.content import (
    Block,
    Column,
    Content,
    Paragraph,
    Picture,
    Section,
    Table,
    Verdict,
)
from moisturemap.report.docx import docx_bytes
from moisturemap.report.reference import refer


def opened(*blocks: Block) -> Any:
    """Return a document of one section, opened."""
    content = Content("t", "", "", (), (Section("S", blocks, "1"),), "")
    return docx.Document(io.BytesIO(docx_bytes(content, datetime(2026, 3, 1, tzinfo=UTC))))


def drawing(name: str) -> Picture:
    """Return a narrow drawing."""
    buffer = io.BytesIO()
    Image.new("L", (85, 60)).save(buffer, "PNG")
    return Picture(
        buffer.getvalue(), b"", name, name, (85, 60), width_mm=85.0, key=name, number="Figure 1"
    )


def test_of_two_drawings_abreast_each_stands_above_its_caption() -> None:
    """Both captions stood below each other at the left, away from the drawing on the right."""
    made = opened(drawing("bath"), drawing("hall"))
    (table,) = made.tables
    for cell, name in zip(table.rows[0].cells, ("bath", "hall"), strict=True):
        first, caption = cell.paragraphs
        (alt,) = first._p.iter(qn("wp:docPr"))
        assert alt.get("descr") == name
        assert caption.text.endswith(name)
        assert (first.style.name, caption.style.name) == ("Picture", "Caption")
    assert not [one for one in made.paragraphs if one.style.name == "Caption"]
    assert list(table._tbl.iter(qn("w:cantSplit")))


def test_what_heads_a_part_of_a_section_is_a_heading() -> None:
    """The words "What to do next" stood in no outline, and no screen reader led to it."""
    made = opened(Paragraph("What to do next", "lead"), Paragraph("Wait."))
    (found,) = [one for one in made.paragraphs if one.text == "What to do next"]
    assert found.style.name == "Heading 2"


def test_no_frame_sticks_out_of_the_margins() -> None:
    """The box of a warning stood two millimetres out on either side, the bar of a verdict three."""
    made = opened(Paragraph("Live leak: stop it first.", "warning"), Verdict("No", "Not proven."))
    for name, sides in (("Warning", ("left", "right")), ("Verdict", ("left",))):
        style = made.styles[name]
        for side in sides:
            (line,) = style.element.iter(qn(f"w:{side}"))
            beside = float(line.get(qn("w:space"))) + float(line.get(qn("w:sz"))) / 8
            indent = getattr(style.paragraph_format, f"{side}_indent")
            assert indent is not None
            assert indent.pt == beside


def test_references_in_tables_are_fields() -> None:
    """A figure put in by hand renumbered those of the text and left those of the tables."""
    words = f"Clear every caution of {refer('cautions', 'Table 2')}."
    made = opened(Table("Next", (Column("What"),), ((words,),)))
    (cell,) = made.tables[0].rows[1].cells
    assert cell.text == "Clear every caution of Table 2."
    (asked,) = cell._tc.iter(qn("w:instrText"))
    assert asked.text.strip() == "REF ref_cautions \\h"
