"""A report as one HTML file: no script, nothing loaded from elsewhere, fit to print."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator
from html import escape
from importlib import resources
from itertools import groupby

from moisturemap.language import spoken
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
from moisturemap.report.plain import DAY, signed
from moisturemap.report.reference import pieces, plain
from moisturemap.report.wording import printable

_NUMBER = r"[+\u2212-]?\d+(?:[.,]\d+)?"
_WHOLE = re.compile(
    rf"(?:\d{{4}}-\d\d-\d\d|{DAY})(?: \d\d:\d\d)?"
    r"|\(k = 2\)|\b\d+-%-\w+|\b[A-Z]-\d[\w/]{0,8}"
    r"|\b(?:edition|Ausgabe) -\d\w*|\bN[or]\. \d+|(?:\d+ ft )?\d+(?: \d+/\d+)? in\b"
    r"|\b(?:(?:ASTM|ACI|AS|BR|BS|DIN|EN|HSE|ISO(?:/IEC)?|NT BUILD|RT) )+[A-Z]{0,3}\d[\w-]*"
    r"|\b\d+ CFR [\d.]+\b|\b(?:section|Abschnitt) \d+|\b[A-Z]\. [A-Z][a-z]\w*"
    rf"|{_NUMBER}[,;] {_NUMBER} m\b|(?:{_NUMBER} ± )?{_NUMBER} (?:%RH|% r\. F\.|%|°[CF]"
    r"|(?:m2|mm|m|ft2|ft|inHg|Pa|K|h|min|g/kg|grains/lb|l/day)\b)"
)
"""What does not break over lines: days, places, holes, standards, numbers with their unit."""

_LONG = re.compile(r"\S{25,}")
MOST_ON_A_PHONE, LONG_CELL, HIGH_CELL, MOST_STACKED = 2, 60, 240, 60
"""Columns of words that fit a phone beside each other, letters of a cell that is high where its
column is narrow, and where it is one of three, and rows of small type that are not too many to be
listed cell by cell (our choice)."""

MANY_COLUMNS = 4
"""So many columns, however short, are wider than a phone (our choice)."""

TALL = 0.75
"""So much higher against its width is a figure that a tablet held across is too low for: across
the text it would stand higher than the screen (our choice)."""

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def text(content: object) -> str:
    """Return a text as HTML shows it: escaped, printable, line breaks kept."""
    return escape(printable(content), quote=True).replace("\n", "<br>")


def _runs(content: str) -> str:
    """Return a text with its references as links; numbers stay with their unit."""
    return "".join(
        f'<a href="#{text(key)}">{text(words)}</a>' if key else _whole(text(signed(words)))
        for words, key in pieces(content)
    )


def _pushed() -> str:
    """Return what a small screen says above what is wider than it, as an attribute."""
    return f' data-push="{text(spoken("Wider than the screen: push it sideways."))}"'


def _printed_page(content: Content) -> str:
    """Return what each printed page has at its foot: the caution, the report and its number."""
    foot = f"{content.foot} {spoken('Report')} {content.number}"
    told = "".join(one if one.isalnum() or one in " .,:" else f"\\{ord(one):x} " for one in foot)
    return (
        f'@bottom-left {{ content: "{told}"; font-size: 8pt; }} '
        '@bottom-right { content: counter(page) " / " counter(pages); font-size: 8pt; }'
    )


def html_text(content: Content) -> str:
    """Return a report as a single HTML file."""
    style = resources.files("moisturemap.report").joinpath("page.css").read_text("utf-8")
    paper = {"a4": "A4", "us-letter": "letter"}[content.paper]
    parts = [
        "<!DOCTYPE html>",
        f'<html lang="{content.language}"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{text(content.title)} · {text(content.number)}</title>",
        f"<style>@page {{ size: {paper}; margin: 18mm; {_printed_page(content)} }}",
        f"{style}</style></head>",
        '<body dir="ltr"><main>',
        _head(content),
        *(_section(section, content) for section in content.sections),
        f"</main><footer>{text(content.foot)} {text(spoken('Report'))} {text(content.number)}"
        "</footer></body></html>",
    ]
    return "\n".join(parts)


def _head(content: Content) -> str:
    logo = "" if content.logo is None else f'<p class="logo">{_image(content.logo)}</p>'
    return (
        f'<header>{logo}<h1 dir="auto">{text(content.title)}</h1>'
        f'<p class="subtitle">{text(content.subtitle)}</p>{_terms(Terms(content.about))}'
        "</header>"
    )


def _titled(block: Picture | Table) -> str:
    return f"<strong>{text(block.number)}.</strong> {text(block.caption)}"


def _contents(content: Content) -> str:
    links = "".join(
        f'<li><a href="#{_anchor(one)}">{text(one.number)}&ensp;{text(one.title)}</a></li>'
        for one in content.sections
    )
    name = text(spoken("Contents"))
    return f'<nav aria-label="{name}"><h3>{name}</h3><ol>{links}</ol></nav>'


def _anchor(section: Section) -> str:
    return f"section-{text(section.number)}"


def _section(section: Section, content: Content) -> str:
    kind = ' class="new-page"' if section.new_page else ""
    title = f"{text(section.number)}&ensp;{text(section.title)}"
    body = "\n".join(
        _contents(content) if isinstance(one[0], Contents) else _run(one, content.foot)
        for one in _runs_of_narrow(section.blocks)
    )
    anchor = _anchor(section)
    return (
        f'<section{kind} aria-labelledby="{anchor}"><h2 id="{anchor}">{title}</h2>\n{body}'
        "</section>"
    )


def _runs_of_narrow(blocks: Iterable[Block]) -> Iterator[list[Block]]:
    """Yield blocks one by one, narrow pictures that follow each other together."""
    for narrow, run in groupby(blocks, lambda one: isinstance(one, Picture) and one.narrow):
        if narrow:
            yield list(run)
        else:
            yield from ([one] for one in run)


def _run(blocks: list[Block], foot: str) -> str:
    told = "\n".join(_block(one, foot) for one in blocks)
    return f'<div class="beside">{told}</div>' if len(blocks) > 1 else told


def _block(block: Block, foot: str) -> str:
    match block:
        case Contents():
            return ""
        case Paragraph(body, "lead"):
            return f'<h3 dir="auto">{_runs(body)}</h3>'
        case Paragraph(body, kind):
            return f'<p class="{kind}" dir="auto">{_runs(body)}</p>'
        case Verdict(headline, body):
            return f'<div class="verdict"><p>{text(headline)}</p><p>{text(body)}</p></div>'
        case Bullets(items):
            return "<ul>" + "".join(f'<li dir="auto">{_runs(one)}</li>' for one in items) + "</ul>"
        case Terms():
            return _terms(block)
        case Signatures(roles):
            lines = "".join(
                f"<p>{text(one + ': ' + spoken('name, date, signature'))}</p>" for one in roles
            )
            return f'<div class="signatures">{lines}</div>'
        case Table():
            return _table(block)
        case Picture():
            told = f' data-foot="{text(foot)}"' if block.relative else ""
            return (
                f'<figure id="{text(block.key)}"{_pushed()}>{_enlarged(block)}'
                f'<figcaption dir="auto"{told}>{_titled(block)}</figcaption></figure>'
            )


def _terms(terms: Terms) -> str:
    rows = "".join(
        f'<div><dt>{text(name)}</dt><dd dir="auto">{_runs(body)}</dd></div>'
        for name, body in terms.rows
    )
    return f"<dl>{rows}</dl>"


def _table(table: Table) -> str:
    whole = sum(column.width for column in table.columns)
    kinds = _kinds(table)
    widths = "".join(
        f'<col class="{kind}" style="width:{100 * one.width / whole:.2f}%">'
        for kind, one in zip(kinds, table.columns, strict=True)
    )
    heads = "".join(
        f'<th scope="col" class="{kind}">{_whole(text(one.title))}</th>'
        for kind, one in zip(kinds, table.columns, strict=True)
    )
    stacked = _is_stacked(table, kinds)
    heads_of = [
        f' data-head="{text(one.title)}" role="cell"' if stacked else "" for one in table.columns
    ]
    rows = "\n".join(
        ('<tr role="row">' if stacked else "<tr>")
        + "".join(
            f'<td class="{kind}{_long(cell)}" dir="auto"{head}>{_runs(cell)}</td>'
            for kind, head, cell in zip(kinds, heads_of, row, strict=True)
        )
        + "</tr>"
        for row in table.rows
    )
    note = f'<p class="note">{_runs(table.note)}</p>' if table.note else ""
    names = " ".join(["dense"] * table.dense + ["stacked"] * stacked)
    look = (f' class="{names}"' if names else "") + (' role="table"' if stacked else "")
    return (
        f'<div class="scroll" id="{text(table.key)}"{_pushed()} role="region" tabindex="0" '
        f'aria-label="{text(table.caption)}">'
        f"<table{look}><caption>{_titled(table)}</caption>"
        f"<colgroup>{widths}</colgroup>"
        f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>{note}"
    )


def _is_stacked(table: Table, kinds: list[str]) -> bool:
    """Return whether a phone shows the cells of a row below each other: one of them is long."""
    count = len(table.columns)
    if count <= MOST_ON_A_PHONE:
        return False
    if "by-hand" in " ".join(kinds):
        return True
    if table.dense and len(table.rows) > MOST_STACKED:
        return False
    once = len({column.title for column in table.columns}) == count  # no lists side by side
    if once and count >= MANY_COLUMNS and len(table.rows) <= MOST_STACKED:
        return True
    long = LONG_CELL if count > MOST_ON_A_PHONE + 1 else HIGH_CELL
    return any(len(plain(cell)) > long for row in table.rows for cell in row)


def _kinds(table: Table) -> list[str]:
    """Return the classes of columns: their side, and whether a pen fills them in.

    On a phone these stand below what is said beside them, such as cautions, as lines to write on.
    """
    blank = [not any(row[k].strip() for row in table.rows) for k in range(len(table.columns))]
    return [
        f"{one.side}{' by-hand' if table.rows and empty else ''}"
        for one, empty in zip(table.columns, blank, strict=True)
    ]


def _long(cell: str) -> str:
    """Return the mark of a cell with a word that no column is wide enough for."""
    return " long" if _LONG.search(cell) else ""


def _whole(cell: str) -> str:
    """Return an escaped text that does not break inside a day or a number with its unit."""
    return _WHOLE.sub(r'<span class="whole">\g<0></span>', cell)


def _enlarged(picture: Picture) -> str:
    """Return a picture that a small screen shows whole, and enlarged once it is tapped."""
    if picture.narrow:
        return _image(picture)
    words = text(spoken("Tap the figure to enlarge it, again to fit it to the screen."))
    return (
        f'<label class="tap"><input type="checkbox"><span>{words}</span>{_image(picture)}</label>'
    )


def _image(picture: Picture) -> str:
    kind = "svg+xml" if picture.svg else "png" if picture.png.startswith(b"\x89PNG") else "jpeg"
    data = b64encode(picture.svg or picture.png).decode("ascii")
    width, height = picture.size
    shape = "narrow" if picture.narrow else "tall" if height > TALL * width else ""
    look = f'class="{shape}" ' if shape else ""
    return (
        f'<img {look}src="data:image/{kind};base64,{data}" alt="{text(picture.alt)}" '
        f'width="{width}" height="{height}">'
    )
