"""How the blocks of a word-processor document follow each other down its pages, as estimated.

The program that opens the document breaks pages with its own fonts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

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
from moisturemap.report.docx_height import Estimated, head_mm
from moisturemap.report.keeping import stays
from moisturemap.report.laid import PAGE_MM, Heights, Laid

SURE_MM, CERTAIN_MM, EXACT_MM = 5.0, 3.0, 0.5
"""Room left beside a figure on a page, for what the estimate may be wrong by, of texts and of
figures alone, and for sums that are rounded where heights are measured (our choice)."""

SPARED_SHARE, MOST_SHARE, WORST_SHARE = 0.12, 0.33, 0.35
"""Share of a page that may stay empty before a figure at no cost, that should at most, and beyond
which nearly anything else is better."""

PARTED, PARTED_TABLE = 0.05, 9.0
"""What costs each figure that parts a list, and each that parts a table: a page nearly half empty
(our choice)."""

CLOSED_MM, REOPENED_MM = 4.0, 9.0
"""What a table parted by a figure takes more above the figure, and below it besides the heading
that each of its pages repeats."""

GAP, GROSS_GAP, WORST_GAP, LATE = 20.0, 5.5, 4.5, 0.06
"""What it costs to leave a page emptier than is spared, by the square of the share; to leave it
emptier than it should be, and beyond the worst; and each page a figure stands late (our choice)."""

_WORDS = Paragraph | Bullets | Verdict


def grouped(blocks: Iterable[Block]) -> Iterator[tuple[Block, ...]]:
    """Yield blocks one by one, but narrow pictures that follow each other two by two."""
    rest = list(blocks)
    while rest:
        beside = [one for one in rest[:2] if isinstance(one, Picture) and one.narrow]
        group = rest[: 2 if len(beside) == 2 else 1]
        yield tuple(group)
        del rest[: len(group)]


@dataclass(frozen=True, slots=True)
class Step:
    """What stands next in the text: the heading of a section, or blocks of it.

    Attributes
    ----------
    section, at : int
        Numbers of the section and of the block in it, -1 for the heading.
    blocks : tuple of Block
        An item of a list, a pair of narrow pictures, or a block.
    laid : Laid
    floats, fixed : bool
        Whether it is a figure that may wait, or a picture that may not.
    closes, turns : bool
        Whether no figure may wait beyond this point; whether a page begins.
    parts : float
        What a figure before it costs: more than nothing where it and the step before it are items
        of one list or rows of one table.
    size : float
        Share of its size a figure is set at.
    """

    section: int
    at: int
    blocks: tuple[Block, ...]
    laid: Laid
    floats: bool = False
    fixed: bool = False
    closes: bool = False
    turns: bool = False
    parts: float = 0.0
    size: float = 1.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where the text has come to, if all heights of texts are so many times the estimate.

    Attributes
    ----------
    scale : float
    down : float
        How far down the page the text has come [mm].
    held : float
        Height above ``down`` of what stays on the page of the next block [mm].
    above, after : float
        Space above what is held, and below what the text has come to [mm].
    told : bool
        Whether texts stand on the page, whose height is but estimated.
    words : (Block, float) or None
        The paragraph the text has come to, and its height with what stays on its page [mm].
    sheet, first : int
        Numbers of the page, and of that on which what was set last begins.
    exact : bool
        Whether heights are measured, so that no room need be left for what they may be wrong by.
    """

    scale: float
    down: float = 0.0
    held: float = 0.0
    above: float = 0.0
    after: float = 0.0
    told: bool = False
    words: tuple[Block, float] | None = None
    sheet: int = 1
    first: int = 1
    exact: bool = False

    @property
    def spare(self) -> float:
        """Room to leave beside a figure [mm]."""
        return EXACT_MM if self.exact else SURE_MM if self.told else CERTAIN_MM


def floats(block: Block) -> bool:
    """Return whether a block is a figure that may wait."""
    return isinstance(block, Picture) and block.floats


def closes(section: Section) -> bool:
    """Return whether no figure of the sections before may stand in a section or behind it."""
    return section.new_page or section.number.isalpha()


def early(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """Return blocks with the floating figures behind the words that a section begins with.

    Where it begins with a table they follow that. None passes a picture that may not wait.
    """
    fixed = [k for k, one in enumerate(blocks) if isinstance(one, Picture) and not one.floats]
    start = fixed[-1] + 1 if fixed else 0
    rest = [one for one in blocks[start:] if not floats(one)]
    told = next((k for k, one in enumerate(rest) if not isinstance(one, _WORDS)), len(rest))
    told = told or min(1, len(rest))
    return (*blocks[:start], *rest[:told], *filter(floats, blocks[start:]), *rest[told:])


def steps(
    sections: tuple[Section, ...], paper: str, heights: Heights | None = None
) -> Iterator[Step]:
    """Yield what stands in sections, step by step.

    Parameters
    ----------
    sections : tuple of Section
    paper : str
        Paper as ``Content.paper`` names it.
    heights : Heights, optional
        Those of a word processor, as estimated, where none are given.
    """
    heights = heights or Estimated(paper, len(sections))
    for number, section in enumerate(sections):
        head = heights.heading(number, section.title)
        ends = closes(section)
        yield Step(number, -1, (), head, closes=ends, turns=section.new_page)
        at = 0
        groups = list(grouped(section.blocks))
        for group, after in zip(groups, [*groups[1:], (None,)], strict=False):
            for step in _block_steps((number, at), group, after[0], paper, heights):
                signed = any(isinstance(one, Signatures) for one in (group[0], after[0]))
                yield replace(step, closes=signed and not isinstance(group[0], Picture))
            at += len(group)


def sheets(content: Content, sections: tuple[Section, ...], turns: bool) -> list[int]:
    """Return the number of the page on which each section begins.

    Parameters
    ----------
    content : Content
    sections : tuple of Section
        As they are written, figures where they stand.
    turns : bool
        Whether the contents begin a page.
    """
    place, found, paper = Place(1.0, head_mm(content)), [], content.paper
    opens = False  # whether the text has come to the first words of a section
    for step in steps(sections, paper):
        if step.blocks and isinstance(step.blocks[0], Contents):
            step = replace(step, turns=turns)
        words, sheet = place.words, place.sheet
        if step.floats:
            place, _ = figure_at(place, step, 0, paper, spare=False)
        else:
            place, _ = text_at(place, step, 0, paper)
        if step.at < 0:
            found.append(0)
        elif not place.held:
            pulled = step.floats and words and stays(words[0], step.blocks[0], paper)
            if opens and pulled and place.sheet > sheet:
                found[-1] = place.sheet
            opens = not all(found)
            found = [one or place.first for one in found]
    return [int(one or place.sheet) for one in found]


def _block_steps(
    place: tuple[int, int],
    group: tuple[Block, ...],
    after: Block | None,
    paper: str,
    heights: Heights,
) -> Iterator[Step]:
    block = group[0]
    match block:
        case Picture():
            waits = all(map(floats, group))
            yield Step(*place, group, heights.figures(*place, group), waits, fixed=not waits)
        case Bullets(items):
            for k, one in enumerate(items):
                part = Bullets((one,))
                yield Step(*place, (part,), heights.item(*place, k, part), parts=PARTED * (k > 0))
        case Terms(rows):
            for k, row in enumerate(rows):
                line = Terms((row,))
                yield Step(*place, (line,), heights.item(*place, k, line), parts=PARTED * (k > 0))
        case Table():
            for k, (piece, how) in enumerate(heights.pieces(*place, block)):
                yield Step(*place, (piece,), how, parts=PARTED_TABLE * (k > 0))
        case _:
            how = heights.block(*place, block)
            if isinstance(after, Table) and stays(block, after, paper):
                how = replace(how, joins=True)
            yield Step(*place, group, how, turns=isinstance(block, Contents))


def parted(step: Step, place: Place) -> tuple[Step, Place]:
    """Return rows of a table, and the place they have come to, for a figure before them."""
    first, *rest = step.laid.parts
    high = (first + step.laid.again + REOPENED_MM, *rest)
    shifted = replace(place, down=place.down + CLOSED_MM)
    return replace(step, laid=replace(step.laid, parts=high)), shifted


def figure_at(
    at: Place, step: Step, late: int, paper: str, *, spare: bool = True
) -> tuple[Place, float]:
    """Return the place behind a figure, and what it costs where ``late`` others wait.

    With ``spare`` room is left beside it; without, it stands wherever it is thought to fit.
    """
    page, height, cost = PAGE_MM[paper], step.laid.parts[0], 0.0
    down, held, told, sheet = at.down, at.held, at.told, at.sheet
    room = at.spare if spare else 0.0
    if down + held + height - step.laid.after + room > page:
        if at.words and stays(at.words[0], step.blocks[0], paper):
            held = at.words[1]
            down -= min(held, down)
        cost = _gap(down / page) + LATE * late if down else 0.0
        sheet += down > 0
        down, told = 0.0, held > 0
    down = min(down + held + height, page)
    made = Place(at.scale, down, after=step.laid.after, told=told, sheet=sheet, first=sheet)
    return replace(made, exact=at.exact), cost


def text_at(at: Place, step: Step, late: int, paper: str) -> tuple[Place, float]:
    """Return the place behind a text, and what it costs where ``late`` figures wait."""
    page, how, cost = PAGE_MM[paper], step.laid, 0.0
    down, held = (0.0, 0.0) if step.turns else (at.down, at.held)
    sheet = at.sheet + (step.turns and at.down > 0)
    shared = min(at.after, how.before)
    above = at.above if held else how.before - shared
    scale = 1.0 if step.fixed else at.scale
    parts = [scale * part for part in (how.parts[0] - shared, *how.parts[1:])]
    if how.joins:
        held += sum(parts)
        made = Place(at.scale, down, held, above, how.after, at.told, sheet=sheet)
        return replace(made, exact=at.exact), 0.0
    first = 0
    for k, part in enumerate(parts, 1):
        high = held + part
        below = scale * how.after if k == len(parts) else 0.0  # space that may lie off the page
        if down and down + high - below > page:
            cost += _gap(down / page) + LATE * late
            sheet += 1
            down = how.again if k > 1 else -above
        down, held = down + high, 0.0
        first = first or sheet
    block = step.blocks[0]
    words = (block, at.held + sum(parts)) if isinstance(block, Paragraph) else None
    down, told = min(down, page), not step.fixed
    made = Place(at.scale, down, 0.0, 0.0, how.after, told, words, sheet, first, at.exact)
    return made, cost


def _gap(filled: float) -> float:
    """Return what it costs to leave a page filled to a share of its height."""
    empty = 1 - filled
    gross = GROSS_GAP * (empty > MOST_SHARE) + WORST_GAP * (empty > WORST_SHARE)
    return gross + GAP * max(0.0, empty - SPARED_SHARE) ** 2
