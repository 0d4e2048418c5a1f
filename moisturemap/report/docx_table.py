"""Tables of the word-processor document: real ones, with a heading row that repeats."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls

from moisturemap.report.content import Table
from moisturemap.report.docx_field import bookmark_name
from moisturemap.report.docx_height import stays_with_next
from moisturemap.report.plain import unbroken
from moisturemap.report.reference import pieces
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
    by_hand = [not any(one.strip() for one in column) for column in zip(*table.rows, strict=True)]
    rows = [
        _row(table, row, widths, by_hand, head=at == 0, keep=_kept(at, len(cells), keeps_next))
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
    caption = escape(printable(table.caption), {'"': "&quot;"})
    return (
        f'<w:tblPr><w:tblStyle w:val="ReportTable"/><w:tblW w:w="{width}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/>{_margins(60)}'
        f'<w:tblLook w:firstRow="1" w:noHBand="1" w:noVBand="1"/>'
        f'<w:tblCaption w:val="{caption}"/></w:tblPr>'
    )


def add_abreast(document: Any, count: int, width_mm: float) -> Sequence[Any]:
    """Add cells beside each other at the end of the document, which no page parts; return them."""
    width = round(width_mm * _TWIPS_PER_MM / count)
    cells = f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr><w:p/></w:tc>' * count
    grid = f'<w:gridCol w:w="{width}"/>' * count
    xml = (
        f'<w:tbl {nsdecls("w")}><w:tblPr><w:tblW w:w="{width * count}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/>{_margins(0)}</w:tblPr>'
        f"<w:tblGrid>{grid}</w:tblGrid><w:tr><w:trPr><w:cantSplit/></w:trPr>{cells}</w:tr></w:tbl>"
    )
    body = document.element.body
    body.insert(len(body) - 1, parse_xml(xml))
    return document.tables[-1].rows[0].cells  # type: ignore[no-any-return]


def add_signatures(document: Any, lines: Sequence[str], width_mm: float) -> None:
    """Add lines to sign beside each other at the end of the document, on the page before them."""
    width = round(width_mm * _TWIPS_PER_MM / len(lines))
    made = "".join(
        f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>'
        '<w:p><w:pPr><w:pStyle w:val="SignatureLine"/></w:pPr>'
        f"<w:r><w:t>{escape(unbroken(one))}</w:t></w:r></w:p></w:tc>"
        for one in lines
    )
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for _ in lines)
    xml = (
        f'<w:tbl {nsdecls("w")}><w:tblPr><w:tblW w:w="{width * len(lines)}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/>{_margins(SIGN_GAP)}</w:tblPr>'
        f"<w:tblGrid>{grid}</w:tblGrid><w:tr><w:trPr><w:cantSplit/></w:trPr>{made}</w:tr></w:tbl>"
    )
    body = document.element.body
    body.insert(len(body) - 1, parse_xml(xml))


SIGN_GAP = 80
"""Half of what parts lines to sign [twentieths of a point]."""

_BOX = "".join(
    f'<w:{side} w:val="single" w:sz="4" w:space="0" w:color="9AA4AC"/>'
    for side in ("left", "right")
)
"""Sides of a cell that is filled in by hand."""


def _margins(width: int) -> str:
    sides = "".join(f'<w:{side} w:w="{width}" w:type="dxa"/>' for side in ("left", "right"))
    return f"<w:tblCellMar>{sides}</w:tblCellMar>"


def _row(
    table: Table, cells: Any, widths: list[int], by_hand: list[bool], *, head: bool, keep: bool
) -> str:
    kind = "<w:cantSplit/><w:tblHeader/>" if head else "<w:cantSplit/>"
    look = f'<w:pStyle w:val="{"DenseCell" if table.dense else "Cell"}"/>'
    look += "<w:keepNext/>" if keep else ""
    shade = '<w:shd w:val="clear" w:color="auto" w:fill="EEF1F3"/>'
    made = "".join(
        _cell(cell, column.side, look, f'<w:tcW w:w="{width}" w:type="dxa"/>{frame}', head)
        for cell, column, width, frame in zip(
            cells,
            table.columns,
            widths,
            (
                shade if head else f"<w:tcBorders>{_BOX}</w:tcBorders>" if hand else ""
                for hand in by_hand or [False] * len(widths)
            ),
            strict=True,
        )
    )
    return f"<w:tr><w:trPr>{kind}</w:trPr>{made}</w:tr>"


def _cell(text: str, side: str, look: str, frame: str, head: bool) -> str:
    align = '<w:jc w:val="right"/>' if side == "right" else ""
    bold = "<w:rPr><w:b/></w:rPr>" if head else ""
    runs = "".join(_run(words, key, bold) for words, key in pieces(text))
    return f"<w:tc><w:tcPr>{frame}</w:tcPr><w:p><w:pPr>{look}{align}</w:pPr>{runs}</w:p></w:tc>"


def _run(words: str, key: str, bold: str) -> str:
    """Return words of a cell, as a reference where they have a key."""
    lines = "<w:br/>".join(
        f'<w:t xml:space="preserve">{escape(line)}</w:t>' for line in unbroken(words).split("\n")
    )
    told = f"<w:r>{bold}{lines}</w:r>"
    if not key:
        return told
    begin, separate, end = (
        f'<w:r><w:fldChar w:fldCharType="{kind}"/></w:r>' for kind in ("begin", "separate", "end")
    )
    asked = f'<w:instrText xml:space="preserve"> REF {bookmark_name(key)} \\h </w:instrText>'
    return f"{begin}<w:r>{asked}</w:r>{separate}{told}{end}"
