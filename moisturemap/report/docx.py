"""A report as an editable word-processor document."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any

from moisturemap.errors import MissingExtra
from moisturemap.language import spoken
from moisturemap.report import docx_field as fields
from moisturemap.report.content import (
    Block,
    Bullets,
    Content,
    Contents,
    Paragraph,
    Picture,
    Section,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.docx_height import abreast, contents_fit, opening_mm, to_sign
from moisturemap.report.docx_type import KINDS
from moisturemap.report.flow import BELOW_MM, flowed
from moisturemap.report.keeping import stays
from moisturemap.report.laid import PAGE_MM
from moisturemap.report.options import UPRIGHT
from moisturemap.report.picture_size import room_for
from moisturemap.report.place import SURE_MM, grouped, sheets
from moisturemap.report.plain import unbroken
from moisturemap.report.reference import pieces, plain
from moisturemap.report.wording import printable


def docx_bytes(content: Content, made: datetime) -> bytes:
    """Return a report as DOCX.

    Raises
    ------
    MissingExtra
        If python-docx is not installed.
    """
    try:
        import docx
    except ImportError as error:
        raise MissingExtra("the DOCX report", "report") from error
    from moisturemap.report.docx_style import prepare

    document = docx.Document()
    prepare(document, content, made)
    _Writer(document, content).write()
    buffer = io.BytesIO()
    document.save(buffer)
    return buffer.getvalue()


class _Writer:
    """Writes the blocks of a report into a document."""

    def __init__(self, document: Any, content: Content) -> None:
        self.document = document
        self.content = content
        self.listed_at_once = contents_fit(content, BELOW_MM)
        # Not every program keeps a heading with the contents below it: page one stands alone.
        # What runs over onto the next page has them below it, else that page would stand empty.
        fits = opening_mm(content) + SURE_MM <= PAGE_MM[content.paper]
        self.turns = fits and not self.listed_at_once
        self.sheets: list[int] = []

    def write(self) -> None:
        """Write everything."""
        content = self.content
        if content.logo is not None:
            self._picture(content.logo, height_mm=16)
        self._paragraph(content.title, "Title")
        self._paragraph(content.subtitle, "Subtitle")
        self._about(content)
        sections = flowed(content.sections, content.paper, at_once=self.listed_at_once)
        self.sheets = sheets(content, sections, turns=self.turns)
        for section in sections:
            self._section(section)

    def _section(self, section: Section) -> None:
        appendix = section.number.isalpha()
        heading = self._paragraph(section.title, "Appendix Heading" if appendix else "Heading 1")
        heading.paragraph_format.page_break_before = section.new_page
        fields.bookmark(heading, _section_key(section))
        groups = list(grouped(section.blocks))
        for group, after in zip(groups, (*groups[1:], ()), strict=True):
            before = len(self.document.paragraphs)
            match group:
                case (Picture() as left, Picture() as right):
                    self._pair(left, right)
                case (Table() as table,) if after and isinstance(after[0], Signatures):
                    self._table(table, signed=True)
                case _:
                    self._block(group[0])
            kept = self.document.paragraphs[before:]
            if after and isinstance(after[0], Signatures):
                kept = kept[-1:]
            elif not (after and stays(group[0], after[0], self.content.paper)):
                continue
            for paragraph in kept:
                paragraph.paragraph_format.keep_with_next = True

    def _block(self, block: Block) -> None:
        match block:
            case Contents():
                self._contents()
            case Paragraph(text, kind):
                self._paragraph(text, KINDS[kind])
            case Verdict(headline, text):
                self._paragraph(headline, "Verdict")
                self._paragraph(text, "Verdict Text")
            case Bullets(items):
                for item in items:
                    self._paragraph(item, "List Bullet")
            case Terms():
                self._terms(block)
            case Signatures():
                self._signatures(block)
            case Table():
                self._table(block)
            case Picture():
                self._figure(block)

    def _contents(self) -> None:
        """Write the table of contents as a field, with its entries until it is first updated."""
        heading = self._paragraph(spoken("Contents"), "Contents Heading")
        heading.paragraph_format.page_break_before = self.turns
        entries = [
            fields.Entry(f"{one.number}  {printable(one.title)}", _section_key(one), sheet)
            for one, sheet in zip(self.content.sections, self.sheets, strict=True)
        ]
        fields.contents(self.document, entries, UPRIGHT[self.content.paper][0])

    def _paragraph(self, text: str, style: str) -> Any:
        paragraph = self.document.add_paragraph(style=style)
        self._write(paragraph, text)
        return paragraph

    def _write(self, paragraph: Any, text: str) -> None:
        for words, key in pieces(text):
            if key:
                fields.reference(paragraph, key, printable(words))
            else:
                paragraph.add_run(unbroken(words))

    def _about(self, content: Content) -> None:
        """Write what the report is about, two abreast where all of them are short."""
        from docx.shared import Mm

        width = UPRIGHT[content.paper][0]
        for line in abreast(content.about, width):
            paragraph = self.document.add_paragraph(style="Term")
            paragraph.paragraph_format.tab_stops.add_tab_stop(Mm(width / 2))
            for at, row in enumerate(line):
                paragraph.add_run("\t" * at)
                self._term(paragraph, *row)

    def _terms(self, terms: Terms) -> None:
        for row in terms.rows:
            self._term(self.document.add_paragraph(style="Term"), *row)

    def _term(self, paragraph: Any, name: str, text: str) -> None:
        paragraph.add_run(f"{unbroken(plain(name))}: ").bold = True
        self._write(paragraph, text)

    def _signatures(self, block: Signatures) -> None:
        from docx.shared import Pt

        from moisturemap.report.docx_table import add_signatures

        add_signatures(self.document, to_sign(block), UPRIGHT[self.content.paper][0])
        self._after_table().paragraph_format.space_after = Pt(0)

    def _caption(self, block: Table | Picture, *, above: bool, paragraph: Any = None) -> None:
        caption = paragraph or self.document.add_paragraph()
        caption.style = self.document.styles["Caption"]
        caption.paragraph_format.keep_with_next = above
        fields.numbered_caption(caption, block.number, block.key)
        caption.add_run(f". {unbroken(block.caption)}")

    def _table(self, table: Table, *, signed: bool = False) -> None:
        """Write a table; one that lines to sign follow stands on their page with its last rows."""
        from moisturemap.report.docx_table import add_table

        self._caption(table, above=True)
        width = UPRIGHT[self.content.paper][0]
        add_table(self.document, table, width, keeps_next=signed or bool(table.note))
        note = self._paragraph(table.note, "Note") if table.note else self._after_table()
        note.paragraph_format.keep_with_next = signed or None

    def _after_table(self) -> Any:
        """Part a table from what follows by next to nothing, which must not begin a sheet."""
        from docx.shared import Pt

        note = self._paragraph("", "Note")
        note.paragraph_format.space_before = Pt(0)
        note.paragraph_format.line_spacing = Pt(1)
        return note

    def _figure(self, picture: Picture) -> None:
        self._picture(picture, height_mm=room_for(picture, self.content.paper)[1])
        self._caption(picture, above=False)

    def _pair(self, left: Picture, right: Picture) -> None:
        """Write two narrow figures beside each other, each above its caption."""
        from moisturemap.report.docx_table import add_abreast

        cells = add_abreast(self.document, 2, UPRIGHT[self.content.paper][0])
        for cell, picture in zip(cells, (left, right), strict=True):
            height = room_for(picture, self.content.paper)[1]
            self._picture(picture, height, cell.paragraphs[0])
            self._caption(picture, above=False, paragraph=cell.add_paragraph())
        self._after_table().paragraph_format.space_after = 0

    def _picture(self, picture: Picture, height_mm: float, paragraph: Any = None) -> None:
        """Write a picture into a paragraph of its own, or an empty one."""
        from docx.shared import Mm

        from moisturemap.report.docx_picture import describe, link_vectors

        paragraph = paragraph or self.document.add_paragraph()
        paragraph.style = self.document.styles["Picture"]
        shape = paragraph.add_run().add_picture(io.BytesIO(picture.png), height=Mm(height_mm))
        describe(shape, printable(picture.alt))
        if picture.svg:
            link_vectors(self.document, shape, picture.svg)


def _section_key(section: Section) -> str:
    return f"section-{section.number}"
