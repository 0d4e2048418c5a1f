"""Blocks of the word-processor document as programs that open it see them."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import docx
from docx.oxml.ns import qn
from PIL import Image

from moisturemap.report.content import Block, Content, Paragraph, Picture, Section
from moisturemap.report.docx import docx_bytes


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
