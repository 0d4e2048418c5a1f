"""Where a high figure goes in a word-processor document, which sets figures where they stand.

A figure that would leave most of a page empty waits, as on a typeset page, until the text after it
has filled that page. Where pages end is estimated from the lengths of texts: the program that
opens the document breaks them with its own fonts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

from moisturemap.report.content import (
    Block,
    Bullets,
    Contents,
    Paragraph,
    Picture,
    Section,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.options import UPRIGHT
from moisturemap.report.plain import room_for

PAGE_MM = {"a4": 259.0, "us-letter": 241.4}
"""Height of the text of a page."""

LINE_MM, LETTER_MM, AFTER_MM = 4.0, 1.55, 1.6
"""Height of a line of running text, mean width of its letters, space after a paragraph."""

CELL_SHARE, DENSE_SHARE = 0.85, 0.7
"""Type of tables against that of running text."""

HEADING_MM, CAPTION_MM, SIGNATURE_MM = 13.5, 6.5, 13.0

SURE_MM, CERTAIN_MM = 26.0, 6.0
"""Room left beside a figure on a page, for what the estimate may be wrong by, of texts and of
figures alone (our choice)."""

EMPTY_SHARE, LEAST_SHARE, HELD_SHARE = 0.25, 0.12, 0.2
"""Share of a page that may stay empty before a figure, that text is still begun on while figures
wait, and that may stay empty before figures that fill a page (our choice)."""


class _Page:
    """How far down the page the text has come [mm]; whether a page ended with the last block.

    ``told`` is whether texts stand on it, whose height is but estimated.
    """

    def __init__(self, paper: str) -> None:
        self.paper, self.height = paper, PAGE_MM[paper]
        self.down, self.turned, self.told = 0.0, False, False

    def add(self, height: float, *, whole: bool = False) -> None:
        before = self.down
        self.down += height
        self.turned = self.down > self.height
        self.told = not whole or (self.told and not self.turned)
        if self.turned:
            self.down = height if whole else (before + height) % self.height

    def fits(self, height: float) -> bool:
        sure = SURE_MM if self.told else CERTAIN_MM
        return self.down + height + sure <= self.height


def flowed(sections: tuple[Section, ...], paper: str) -> tuple[Section, ...]:
    """Return sections whose floating figures wait for the text after them to fill the page.

    Figures keep their order, and none passes into an appendix, a section with a page of its own or
    the one that is signed.

    Parameters
    ----------
    sections : tuple of Section
    paper : str
        Paper as ``Content.paper`` names it.
    """
    page, made = _Page(paper), list[Section]()
    waiting: list[Picture] = []
    for section in sections:
        if waiting and _closes(section):
            made[-1] = replace(made[-1], blocks=(*made[-1].blocks, *_set(waiting, page)))
        if section.new_page:
            page.down = 0.0
        if waiting and page.height - page.down < HEADING_MM + _spared(waiting, page):
            made[-1] = replace(made[-1], blocks=(*made[-1].blocks, *_turned(waiting, page)))
        page.add(HEADING_MM)
        blocks = [
            one
            for at, block in enumerate(section.blocks)
            for part in _parts(block, waiting)
            for one in _placed(part, page, waiting, begins=at == 0)
        ]
        made.append(replace(section, blocks=tuple(blocks)))
    if waiting:
        made[-1] = replace(made[-1], blocks=(*made[-1].blocks, *_set(waiting, page)))
    return tuple(made)


def _parts(block: Block, waiting: list[Picture]) -> Iterator[Block]:
    """Yield the items of a list one by one where figures wait, so that they may stand between."""
    match block:
        case Bullets(items) if waiting:
            yield from (Bullets((one,)) for one in items)
        case Terms(rows) if waiting:
            yield from (Terms((one,)) for one in rows)
        case _:
            yield block


def _placed(block: Block, page: _Page, waiting: list[Picture], *, begins: bool) -> Iterator[Block]:
    """Yield a block, with the figures that waited for the page it ends; or make it wait.

    No figure parts a heading from the block that begins its section.
    """
    if isinstance(block, Picture):
        empty = page.height - page.down
        leaves_a_gap = not page.fits(_height(block, page)) and empty > EMPTY_SHARE * page.height
        if block.floats and (waiting or leaves_a_gap):
            waiting.append(block)
            return
        yield from _set(waiting, page)
    if isinstance(block, Contents):  # they begin a page
        page.down = 0.0
    height = _height(block, page)
    left = page.height - page.down
    if waiting and not begins and height > left and left < _spared(waiting, page):
        yield from _turned(waiting, page)
    page.add(height, whole=isinstance(block, Picture))
    yield block
    if page.turned:
        yield from _fitting(waiting, page)


def _closes(section: Section) -> bool:
    """Return whether no figure of the sections before may stand in or behind a section."""
    signed = any(isinstance(one, Signatures) for one in section.blocks)
    return section.new_page or section.number.isalpha() or signed


def _fills(waiting: list[Picture], page: _Page) -> bool:
    """Return whether the figures that wait fill a page by themselves."""
    down = 0.0
    for one in waiting:
        height = _height(one, page)
        if down + height + CERTAIN_MM > page.height:
            break
        down += height
    return down >= (1 - EMPTY_SHARE) * page.height


def _spared(waiting: list[Picture], page: _Page) -> float:
    """Return how much of a page may stay empty for figures that wait [mm]."""
    return (HELD_SHARE if _fills(waiting, page) else LEAST_SHARE) * page.height


def _turned(waiting: list[Picture], page: _Page) -> Iterator[Picture]:
    """Yield the figures of the next page, and of each further one they fill, once it is full."""
    full = True
    while full:
        yield from _set(waiting, page, 1)
        yield from _fitting(waiting, page)
        left = page.height - page.down
        full = _fills(waiting, page) and left < _spared(waiting, page)


def _fitting(waiting: list[Picture], page: _Page) -> Iterator[Picture]:
    while waiting and page.fits(_height(waiting[0], page)):
        yield from _set(waiting, page, 1)


def _set(waiting: list[Picture], page: _Page, most: int | None = None) -> Iterator[Picture]:
    """Yield pictures that waited, so many at most."""
    for _ in range(len(waiting) if most is None else most):
        page.add(_height(waiting[0], page), whole=True)
        yield waiting.pop(0)


def _height(block: Block, page: _Page) -> float:
    """Estimate the height of a block [mm]."""
    width = UPRIGHT[page.paper][0]
    match block:
        case Paragraph(text):
            return _lines(text, width) * LINE_MM + AFTER_MM
        case Verdict(headline, text):
            return (_lines(headline, width) + _lines(text, width)) * LINE_MM + 6 * AFTER_MM
        case Bullets(items):
            return sum(_lines(one, width) * LINE_MM + AFTER_MM for one in items)
        case Terms(rows):
            return sum(_lines(f"{a}: {b}", width) * LINE_MM + AFTER_MM for a, b in rows)
        case Table():
            return _table(block, width)
        case Picture():
            return room_for(block, page.paper)[1] + CAPTION_MM
        case Signatures(roles):
            return len(roles) * SIGNATURE_MM
        case Contents():
            return 0.3 * page.height


def _table(table: Table, width: float) -> float:
    share = DENSE_SHARE if table.dense else CELL_SHARE
    whole = sum(one.width for one in table.columns)
    widths = [width * one.width / whole / share for one in table.columns]
    rows = (tuple(one.title for one in table.columns), *table.rows)
    lines = sum(max(_lines(t, w) for t, w in zip(row, widths, strict=True)) for row in rows)
    note = _lines(table.note, width) * LINE_MM if table.note else 0.0
    return CAPTION_MM + lines * LINE_MM * share + len(rows) * share * AFTER_MM + note


def _lines(text: str, width: float) -> int:
    return sum(max(1, ceil(len(one) * LETTER_MM / width)) for one in text.split("\n"))
