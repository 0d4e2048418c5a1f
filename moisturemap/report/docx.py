"""A report as an editable word-processor document."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any

from moisturemap.errors import MissingExtra
from moisturemap.report.content import (
    Block,
    Bullets,
    Content,
    Paragraph,
    Picture,
    Section,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.plain import UPRIGHT, is_turned, room_for
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
        self.landscape = False

    def write(self) -> None:
        """Write everything."""
        content = self.content
        if content.logo is not None:
            self._picture(content.logo, height_mm=16)
        self._paragraph(content.title, "Title")
        self._paragraph(content.subtitle, "Subtitle")
        self._terms(Terms(content.about))
        for section in content.sections:
            self._section(section)

    def _section(self, section: Section) -> None:
        self._turn(landscape=False)
        heading = self._paragraph(f"{section.number}  {section.title}", "Heading 1")
        heading.paragraph_format.page_break_before = section.new_page
        for block in section.blocks:
            turned = isinstance(block, Picture) and is_turned(block, self.content.paper)
            self._turn(landscape=turned)
            self._block(block)

    def _block(self, block: Block) -> None:
        match block:
            case Paragraph(text, kind):
                style = {"body": "Normal", "note": "Note", "warning": "Warning"}[kind]
                self._paragraph(text, style)
            case Verdict(headline, text):
                self._paragraph(headline, "Verdict")
                self._paragraph(text, "Verdict Text")
            case Bullets(items):
                for item in items:
                    self._paragraph(item, "List Bullet")
            case Terms():
                self._terms(block)
            case Signatures(roles):
                for role in roles:
                    self._paragraph(f"{role}: name, date, signature", "Signature Line")
            case Table():
                self._table(block)
            case Picture():
                self._figure(block)

    def _paragraph(self, text: str, style: str) -> Any:
        paragraph = self.document.add_paragraph(style=style)
        paragraph.add_run(printable(text))
        return paragraph

    def _terms(self, terms: Terms) -> None:
        for name, text in terms.rows:
            paragraph = self.document.add_paragraph(style="Term")
            paragraph.add_run(f"{printable(name)}: ").bold = True
            paragraph.add_run(printable(text))

    def _table(self, table: Table) -> None:
        from moisturemap.report.docx_table import add_table

        self._paragraph(table.caption, "Table Caption")
        width = UPRIGHT[self.content.paper][0]
        add_table(self.document, table, width)
        self._paragraph(table.note, "Note")

    def _figure(self, picture: Picture) -> None:
        self._picture(picture, height_mm=room_for(picture, self.content.paper)[1])
        self._paragraph(picture.caption, "Note")

    def _turn(self, *, landscape: bool) -> None:
        """Go on on pages of the other orientation, unless they lie so already."""
        if landscape == self.landscape:
            return
        self.landscape = landscape
        from docx.enum.section import WD_ORIENT, WD_SECTION

        section = self.document.add_section(WD_SECTION.NEW_PAGE)
        section.page_width, section.page_height = section.page_height, section.page_width
        section.orientation = WD_ORIENT.LANDSCAPE if landscape else WD_ORIENT.PORTRAIT

    def _picture(self, picture: Picture, height_mm: float) -> None:
        from docx.shared import Mm

        from moisturemap.report.docx_picture import describe, link_vectors

        paragraph = self.document.add_paragraph(style="Picture")
        run = paragraph.add_run()
        shape = run.add_picture(io.BytesIO(picture.png), height=Mm(height_mm))
        describe(shape, printable(picture.alt))
        if picture.svg:
            link_vectors(self.document, shape, picture.svg)
