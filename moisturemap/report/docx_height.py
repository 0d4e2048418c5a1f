"""How high the blocks of a report stand in a word-processor document, and where pages part them.

Measured with the letters of our own font, which a word processor's are in proportion to: it breaks
lines and pages itself, with fonts that are not ours to ship.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from moisturemap.figures.typeface import advance
from moisturemap.language import spoken
from moisturemap.report.content import (
    Block,
    Bullets,
    Content,
    Contents,
    Paragraph,
    Picture,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.docx_type import FRAMES, KINDS, LINE_SPACING, MM_PER_POINT, STYLES
from moisturemap.report.laid import PAGE_MM, Laid
from moisturemap.report.options import UPRIGHT
from moisturemap.report.picture_size import room_for
from moisturemap.report.plain import unbroken
from moisturemap.report.reference import plain

LETTERS, BOLD_LETTERS = 0.866, 0.935
"""Width of the letters of Helvetica, and of its bold, against those of our font: by the widths in
the font metrics Adobe published for it, over English text."""

FONT_LINE = 1.149
"""Height of a line of the font [em]: ascent, descent and gap of the metrics it shares."""

INDENT_MM = {"List Bullet": 6.4, "Term": 5.0} | {
    name: MM_PER_POINT * (frame.inset("left") + frame.inset("right"))
    for name, frame in FRAMES.items()
}
"""By how much lines are shorter than the page is wide."""
CELL_MARGINS_MM, RULE_MM, FRAME_MM, SIGN_GAP_MM = 2.1, 0.16, 4.6, 2.8

_BREAKS = re.compile(r"(?<=[ \-/])")
"""A line may end behind a blank, a hyphen or a stroke."""


def laid(block: Block, paper: str, entries: int = 0) -> Laid:
    """Return a block as it is set on paper; ``entries`` are the sections the contents name."""
    width = UPRIGHT[paper][0]
    match block:
        case Paragraph(text, kind):
            style = KINDS[kind]
            parts = _paragraph(plain(text), style, width - INDENT_MM.get(style, 0.0))
            if kind == "warning":
                parts = (sum(parts) + FRAME_MM,)
            return Laid(parts, 0.0, STYLES[style].keep, *spaces(style))
        case Verdict(headline, text):
            room = width - INDENT_MM["Verdict"]
            head = sum(_paragraph(headline, "Verdict", room))
            high = head + sum(_paragraph(text, "Verdict Text", room))
            return Laid((high,), before=spaces("Verdict")[0], after=spaces("Verdict Text")[1])
        case Bullets(items):
            return Laid(_listed(items, "List Bullet", width, close=True))
        case Terms(rows):
            told = tuple(f"{plain(a)}: {plain(b)}" for a, b in rows)
            return Laid(_listed(told, "Term", width), after=spaces("Term")[1])
        case Table():
            return _table(block, width)
        case Picture():
            return Laid((picture_mm(block, paper),), after=spaces("Caption")[1])
        case Signatures(roles):
            room = width / len(roles) - SIGN_GAP_MM
            signed = [sum(_paragraph(one, "Signature Line", room)) for one in to_sign(block)]
            return Laid((max(signed),))
        case Contents():
            above = sum(_paragraph("", "Contents Heading", width))
            return Laid((above + entries * sum(_paragraph("", "Contents Entry", width)),))


SCALES = (0.985, 1.0, 1.015)
"""Heights of texts against the estimate: the places are chosen that are good for all of them, by
what texts measured in a word processor (our choice)."""


@dataclass(frozen=True, slots=True)
class Estimated:
    """Heights as estimated, of a report of so many sections.

    Nothing stands above the first one: contents that page one has no room for begin a page.
    """

    paper: str
    sections: int
    scales: tuple[float, ...] = SCALES
    above: float = 0.0
    exact: bool = False

    def heading(self, section: int, title: str) -> Laid:
        """Return the heading of a section."""
        return heading(title, self.paper)

    def figures(self, section: int, at: int, group: tuple[Block, ...]) -> Laid:
        """Return a picture, or two that stand beside each other."""
        high = max(picture_mm(one, self.paper) for one in group if isinstance(one, Picture))
        return Laid((high,))

    def item(self, section: int, at: int, number: int, alone: Block) -> Laid:
        """Return an item of a list."""
        return laid(alone, self.paper)

    def pieces(self, section: int, at: int, table: Table) -> tuple[tuple[Table, Laid], ...]:
        """Return the whole table: a figure parts none."""
        return ((table, self.block(section, at, table)),)

    def block(self, section: int, at: int, block: Block) -> Laid:
        """Return any other block."""
        return laid(block, self.paper, self.sections)


def heading(title: str, paper: str) -> Laid:
    """Return the heading of a section as it is set."""
    parts = _paragraph(title, "Heading 1", UPRIGHT[paper][0])
    return Laid(parts, 0.0, True, *spaces("Heading 1"))


def opening_mm(content: Content) -> float:
    """Return the height of what stands before the contents: title, its lines and the first words.

    Parameters
    ----------
    content : Content
    """
    steps = _head(content)
    for section in content.sections:
        steps.append(heading(section.title, content.paper))
        for block in section.blocks:
            if isinstance(block, Contents):
                return _logo_mm(content) + _stacked(steps)
            steps.append(laid(block, content.paper))
    return 0.0


def head_mm(content: Content) -> float:
    """Return the height of title, lines below it and what the report is about.

    Parameters
    ----------
    content : Content
    """
    return _logo_mm(content) + _stacked(_head(content))


def _head(content: Content) -> list[Laid]:
    width = UPRIGHT[content.paper][0]
    heads = ((content.title, "Title"), (content.subtitle, "Subtitle"))
    steps = [Laid(_paragraph(text, name, width), 0.0, True, *spaces(name)) for text, name in heads]
    about = tuple(line[0] for line in abreast(content.about, width))
    return [*steps, laid(Terms(about), content.paper)]


def _logo_mm(content: Content) -> float:
    return 0.0 if content.logo is None else picture_mm(content.logo, content.paper)


def contents_fit(content: Content, room: float) -> bool:
    """Return whether the contents stand below what stands before them, on page one.

    Parameters
    ----------
    content : Content
    room : float
        Left free [mm].
    """
    listed = sum(laid(Contents(), content.paper, len(content.sections)).parts)
    return opening_mm(content) + listed + room <= PAGE_MM[content.paper]


def abreast(rows: Sequence[tuple[str, str]], width: float) -> list[tuple[tuple[str, str], ...]]:
    """Return terms as they stand on lines: two on each where every one fits half the width [mm]."""
    half, room, size = -(-len(rows) // 2), width / 2 - INDENT_MM["Term"], STYLES["Term"].size
    if any(lines(f"{plain(a)}: {plain(b)}", room, size, bold=True) > 1 for a, b in rows):
        return [(row,) for row in rows]
    return [tuple(rows[at::half]) for at in range(half)]


def to_sign(block: Signatures) -> list[str]:
    """Return what stands below the lines to sign."""
    return [f"{role}: {spoken('name, date, signature')}" for role in block.roles]


def _stacked(steps: list[Laid]) -> float:
    met = (min(above.after, below.before) for above, below in pairwise(steps))
    return sum(sum(one.parts) for one in steps) - sum(met) - steps[0].before - steps[-1].after


def spaces(style: str) -> tuple[float, float]:
    """Return the space above and below the paragraphs of a style [mm]."""
    return STYLES[style].before * MM_PER_POINT, STYLES[style].after * MM_PER_POINT


def picture_mm(picture: Picture, paper: str) -> float:
    """Return the height of a picture and its caption, which may have half the width."""
    width = UPRIGHT[paper][0] / (2 if picture.narrow else 1)
    style = STYLES["Picture"]
    beside = (style.before + style.after) * MM_PER_POINT
    caption = f"{picture.number}. {picture.caption}"
    return room_for(picture, paper)[1] + beside + sum(_paragraph(caption, "Caption", width))


def _listed(
    items: tuple[str, ...], style: str, width: float, *, close: bool = False
) -> tuple[float, ...]:
    """Return the parts of a list, without its style's space between the items of a close one."""
    width -= INDENT_MM[style]
    space = STYLES[style].after * MM_PER_POINT if close else 0.0
    told = [_paragraph(plain(one), style, width) for one in items]
    return tuple(part for one in told for part in (*one[:-1], one[-1] - space))


def _paragraph(text: str, name: str, width: float) -> tuple[float, ...]:
    """Return the heights of a paragraph; of two lines at least beside a page's end."""
    style = STYLES[name]
    line = _line(name)
    before, after = spaces(name)
    count = lines(text, width, style.size, bold=style.bold)
    if count < 4 or style.keep:
        return (before + count * line + after,)
    return (before + 2 * line, *[line] * (count - 4), 2 * line + after)


def _line(name: str) -> float:
    return STYLES[name].size * FONT_LINE * LINE_SPACING * MM_PER_POINT


def _table(table: Table, width: float) -> Laid:
    """Return a table; caption, heading and first two rows stay together, its last two and note."""
    name = "Dense Cell" if table.dense else "Cell"
    style = STYLES[name]
    whole = sum(one.width for one in table.columns)
    widths = [width * one.width / whole - CELL_MARGINS_MM for one in table.columns]
    beside = sum(spaces(name)) + RULE_MM

    def row(cells: tuple[str, ...], *, bold: bool = False) -> float:
        most = max(lines(c, w, style.size, bold=bold) for c, w in zip(cells, widths, strict=True))
        return most * _line(name) + beside

    head = row(tuple(one.title for one in table.columns), bold=True)
    rows = [row(tuple(plain(cell) for cell in cells)) for cells in table.rows]
    caption = sum(_paragraph(f"{table.number}. {table.caption}", "Caption", width))
    parts = [caption + head]
    for at, height in enumerate(rows, 1):
        if stays_with_next(at - 1, len(rows) + 1):
            parts[-1] += height
        else:
            parts.append(height)
    after = spaces("Note")[1]
    note = _paragraph(plain(table.note), "Note", width) if table.note else (after,)
    if table.note:  # the last row stays with it
        parts[-1] += note[0]
        note = note[1:]
    return Laid((*parts, *note), head, False, spaces("Caption")[0], after)


def stays_with_next(at: int, count: int) -> bool:
    """Return whether a row stays on the page of the next: no page begins or ends with one row.

    Rows are counted from the heading, 0; of ``count`` with it.
    """
    return at + 1 < count and (at < 2 or at == count - 2)


@cache
def lines(text: str, width: float, size: float, *, bold: bool = False) -> int:
    """Return in how many lines a text stands in a width [mm] at a size [pt]."""
    em = size * MM_PER_POINT * (BOLD_LETTERS if bold else LETTERS)
    return sum(_lines(one, width / em) for one in unbroken(text).split("\n"))


def _lines(text: str, width: float) -> int:
    """Return in how many lines a text without ends of lines stands in a width [em of our font]."""
    count, at = 1, 0.0
    for word in _BREAKS.split(text):
        here, blank = advance(word.rstrip(" ")), advance(word)
        if at and at + here > width:
            count, at = count + 1, 0.0
        count += int(here / width) if here > width else 0
        at += blank if here <= width else here % width
    return count
