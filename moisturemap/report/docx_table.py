"""Tables of the word-processor document: real ones, with a heading row that repeats."""

from __future__ import annotations

from typing import Any
from xml.sax.saxutils import escape

from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls

from moisturemap.report.content import Table
from moisturemap.report.docx_height import stays_with_next
from moisturemap.report.plain import bound
from moisturemap.report.reference import plain
from moisturemap.report.wording import printable

_TWIPS_PER_MM = 1440 / 25.4


def add_table(document: Any, table: Table, width_mm: float, *, keeps_next: bool = False) -> None:
    """Add a table at the end of the document.

    Built as XML at once: cell by cell through the library takes minutes for thousands of rows.
    With ``keeps_next`` its last rows stay on the page of what follows.
    """
    whole = sum(column.width for column in table.columns)
    widths = [round(width_mm * _TWIPS_PER_MM * one.width / whole) for one in table.columns]
    cells = [[one.title for one in table.columns], *table.rows]
    rows = [
        _row(table, row, widths, head=at == 0, keep=_kept(at, len(cells), keeps_next))
        for at, row in enumerate(cells)
    ]
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    xml = (
        f"<w:tbl {nsdecls('w')}>{_properties(table, sum(widths))}<w:tblGrid>{grid}</w:tblGrid>"
        f"{''.join(rows)}</w:tbl>"
    )
    body = document.element.body
    body.insert(len(body) - 1, parse_xml(xml))  # before the section's own properties


def _kept(at: int, count: int, keeps_next: bool) -> bool:
    """Return whether a row stays on the page of the next, or of what follows the table."""
    return stays_with_next(at, count) or (keeps_next and at + 1 == count)


def _properties(table: Table, width: int) -> str:
    margins = "".join(f'<w:{side} w:w="60" w:type="dxa"/>' for side in ("left", "right"))
    caption = escape(printable(table.caption), {'"': "&quot;"})
    return (
        f'<w:tblPr><w:tblStyle w:val="ReportTable"/><w:tblW w:w="{width}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/><w:tblCellMar>{margins}</w:tblCellMar>'
        f'<w:tblLook w:firstRow="1" w:noHBand="1" w:noVBand="1"/>'
        f'<w:tblCaption w:val="{caption}"/></w:tblPr>'
    )


def _row(table: Table, cells: Any, widths: list[int], *, head: bool, keep: bool) -> str:
    kind = "<w:cantSplit/><w:tblHeader/>" if head else "<w:cantSplit/>"
    look = f'<w:pStyle w:val="{"DenseCell" if table.dense else "Cell"}"/>'
    look += "<w:keepNext/>" if keep else ""
    made = "".join(
        _cell(cell, column.side, width, look, head)
        for cell, column, width in zip(cells, table.columns, widths, strict=True)
    )
    return f"<w:tr><w:trPr>{kind}</w:trPr>{made}</w:tr>"


def _cell(text: str, side: str, width: int, look: str, head: bool) -> str:
    shade = '<w:shd w:val="clear" w:color="auto" w:fill="EEF1F3"/>' if head else ""
    align = '<w:jc w:val="right"/>' if side == "right" else ""
    bold = "<w:rPr><w:b/></w:rPr>" if head else ""
    lines = "<w:br/>".join(
        f'<w:t xml:space="preserve">{escape(line)}</w:t>' for line in bound(plain(text)).split("\n")
    )
    return (
        f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/>{shade}</w:tcPr>'
        f"<w:p><w:pPr>{look}{align}</w:pPr><w:r>{bold}{lines}</w:r></w:p>"
        "</w:tc>"
    )
