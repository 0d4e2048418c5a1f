"""Where the figures go in a word-processor document, which sets them where they stand.

A figure that would leave much of a page empty waits, as on a typeset page, until the text after it
has filled that page. Of all places the figures may wait for, those are chosen that leave the least
of the pages empty. Where pages end is estimated: the program that opens the document breaks them
with its own fonts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

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
)
from moisturemap.report.docx_height import PAGE_MM, Laid, heading, laid, picture_mm
from moisturemap.report.options import UPRIGHT
from moisturemap.report.plain import room_for

SCALES = (0.96, 1.0, 1.02)
"""Heights of texts against the estimate: the places are chosen that are good for all of them, by
what texts measured in a word processor (our choice)."""

SURE_MM, CERTAIN_MM = 5.0, 3.0
"""Room left beside a figure on a page, for what the estimate may be wrong by, of texts and of
figures alone (our choice)."""

BELOW_MM = 12.0
"""Room left below contents that stand on page one (our choice)."""

SPARED_SHARE, MOST_SHARE = 0.12, 0.3
"""Share of a page that may stay empty before a figure at no cost, and that should at most."""

GAP, GROSS_GAP, LATE, MOVED, PARTED = 20.0, 5.0, 0.06, 0.03, 0.05
"""What it costs to leave a page emptier than is spared, by the square of the share; to leave it
emptier than it should be; each page a figure stands late; each figure that stands away from its
words; and each that parts a list (our choice)."""

STRAYED = 1.0
"""What it costs, by the square of the sections beyond the next, that a figure stands behind its
own (our choice)."""

MOST_BESIDE_WORDS = 0.6
"""Share of a page's height up to which a picture pulls the words before it to its own page; a
higher one would leave the page they came from empty (our choice)."""

SHORT = 220
"""Words of fewer letters stay on the page of the table they lead to: two lines (our choice)."""

MOST_STATES, ALIKE_MM = 80, 4.0
"""Ways to place the figures that are followed at once, and how much lower on a page the text may
have come for two of them to count as one (our choice)."""


def stays(words: Block, block: Block | None, paper: str) -> bool:
    """Return whether a block stands on the page of the words before it."""
    if not isinstance(words, Paragraph):
        return False
    if isinstance(block, Table) and (words.kind == "warning" or len(words.text) < SHORT):
        return True
    return (
        isinstance(block, Picture)
        and room_for(block, paper)[1] < MOST_BESIDE_WORDS * UPRIGHT[paper][1]
    )


def grouped(blocks: Iterable[Block]) -> Iterator[tuple[Block, ...]]:
    """Yield blocks one by one, but narrow pictures that follow each other two by two."""
    rest = list(blocks)
    while rest:
        beside = [one for one in rest[:2] if isinstance(one, Picture) and one.narrow]
        group = rest[: 2 if len(beside) == 2 else 1]
        yield tuple(group)
        del rest[: len(group)]


@dataclass(frozen=True, slots=True)
class _Step:
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
    parts : bool
        Whether it and the step before it are items of one list.
    """

    section: int
    at: int
    blocks: tuple[Block, ...]
    laid: Laid
    floats: bool = False
    fixed: bool = False
    closes: bool = False
    turns: bool = False
    parts: bool = False


@dataclass(frozen=True, slots=True)
class _Place:
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
        The paragraph the text has come to, and its height [mm].
    """

    scale: float
    down: float = 0.0
    held: float = 0.0
    above: float = 0.0
    after: float = 0.0
    told: bool = False
    words: tuple[Block, float] | None = None


@dataclass(frozen=True, slots=True)
class _State:
    """One way to place the figures up to a step.

    Attributes
    ----------
    places : tuple of _Place
        Where it comes to, by each of ``SCALES``.
    cost : float
        Mean over them.
    waiting : tuple of _Step
    placed : tuple
        What was placed last, as (all before it, step).
    """

    places: tuple[_Place, ...]
    cost: float = 0.0
    waiting: tuple[_Step, ...] = ()
    placed: tuple[object, _Step] | None = None


def flowed(
    sections: tuple[Section, ...], paper: str, *, at_once: bool = False
) -> tuple[Section, ...]:
    """Return sections whose floating figures wait for the text after them to fill the page.

    Figures keep their order, and none passes into an appendix, a section with a page of its own or
    behind lines to sign: who signs has seen all that belongs to the part.

    Parameters
    ----------
    sections : tuple of Section
    paper : str
        Paper as ``Content.paper`` names it.
    at_once : bool
        Whether the contents stand below what is before them; else they begin a page.
    """
    last = max((k for k, one in enumerate(sections) if any(map(_floats, one.blocks))), default=-1)
    end = next((k for k in range(last + 1, len(sections)) if _closes(sections[k])), len(sections))
    states = [_State(tuple(map(_Place, SCALES)))]
    for step in _steps(sections[:end], paper):
        if at_once and step.blocks and isinstance(step.blocks[0], Contents):
            step = replace(step, turns=False)
        states = _best(new for one in states for new in _after(one, step, paper))
    best = min((_emptied(one, paper) for one in states), key=lambda one: one.cost)
    return (*_rebuilt(sections[:end], best), *sections[end:])


def _steps(sections: tuple[Section, ...], paper: str) -> Iterator[_Step]:
    for number, section in enumerate(sections):
        head = heading(section.title, paper)
        closes = _closes(section)
        yield _Step(number, -1, (), head, closes=closes, turns=section.new_page)
        at = 0
        groups = list(grouped(section.blocks))
        for group, after in zip(groups, [*groups[1:], (None,)], strict=False):
            for step in _block_steps(number, at, group, after[0], paper, len(sections)):
                signed = any(isinstance(one, Signatures) for one in (group[0], after[0]))
                yield replace(step, closes=signed and not isinstance(group[0], Picture))
            at += len(group)


def _block_steps(
    section: int, at: int, group: tuple[Block, ...], after: Block | None, paper: str, entries: int
) -> Iterator[_Step]:
    block = group[0]
    match block:
        case Picture():
            height = max(picture_mm(one, paper) for one in group if isinstance(one, Picture))
            floats = all(map(_floats, group))
            yield _Step(section, at, group, Laid((height,)), floats=floats, fixed=not floats)
        case Bullets(items):
            for k, one in enumerate(items):
                part = Bullets((one,))
                yield _Step(section, at, (part,), laid(part, paper), parts=k > 0)
        case Terms(rows):
            for k, row in enumerate(rows):
                line = Terms((row,))
                yield _Step(section, at, (line,), laid(line, paper), parts=k > 0)
        case _:
            how = laid(block, paper, entries)
            if isinstance(after, Table) and stays(block, after, paper):
                how = replace(how, joins=True)
            yield _Step(section, at, group, how, turns=isinstance(block, Contents))


def _after(state: _State, step: _Step, paper: str) -> Iterator[_State]:
    """Yield the ways a step may follow: with none, some or all of the figures that wait before."""
    if step.closes or step.fixed:
        state = _emptied(state, paper)
    if step.floats:
        waits = replace(state, waiting=(*state.waiting, step))
        yield waits
        if not state.waiting:
            yield _with_figure(waits, paper, moved=False)
        return
    yield _with_text(state, step, paper)
    if state.places[0].held:
        return
    while state.waiting:
        state = _with_figure(state, paper)
        if step.parts:
            state = replace(state, cost=state.cost + PARTED)
        yield _with_text(state, step, paper)


def _emptied(state: _State, paper: str) -> _State:
    while state.waiting:
        state = _with_figure(state, paper)
    return state


def _with_figure(state: _State, paper: str, *, moved: bool = True) -> _State:
    """Return a state after the first of the figures that wait, with the words that stay with it."""
    step, *rest = state.waiting
    made = [_figure_at(one, step, len(rest), paper) for one in state.places]
    passed = state.placed[1].section - step.section if state.placed else 0
    cost = state.cost + (MOVED if moved else 0.0) + STRAYED * max(0, passed - 1) ** 2 + _mean(made)
    return _State(tuple(one for one, _ in made), cost, tuple(rest), (state.placed, step))


def _with_text(state: _State, step: _Step, paper: str) -> _State:
    made = [_text_at(one, step, len(state.waiting), paper) for one in state.places]
    places = tuple(one for one, _ in made)
    return _State(places, state.cost + _mean(made), state.waiting, (state.placed, step))


def _mean(made: list[tuple[_Place, float]]) -> float:
    return sum(cost for _, cost in made) / len(made)


def _figure_at(at: _Place, step: _Step, late: int, paper: str) -> tuple[_Place, float]:
    """Return the place behind a figure, and what it costs where ``late`` others wait."""
    page, height, cost = PAGE_MM[paper], step.laid.parts[0], 0.0
    down, held, told = at.down, at.held, at.told
    if down + held + height + (SURE_MM if told else CERTAIN_MM) > page:
        if at.words and stays(at.words[0], step.blocks[0], paper):
            held = at.words[1]
            down -= min(held, down)
        cost = _gap(down / page) + LATE * late if down else 0.0
        down, told = 0.0, held > 0
    down = min(down + held + height, page)
    return _Place(at.scale, down, after=step.laid.after, told=told), cost


def _text_at(at: _Place, step: _Step, late: int, paper: str) -> tuple[_Place, float]:
    """Return the place behind a text, and what it costs where ``late`` figures wait."""
    page, how, cost = PAGE_MM[paper], step.laid, 0.0
    down, held = (0.0, 0.0) if step.turns else (at.down, at.held)
    shared = min(at.after, how.before)
    above = at.above if held else how.before - shared
    scale = 1.0 if step.fixed else at.scale
    parts = [scale * part for part in (how.parts[0] - shared, *how.parts[1:])]
    if how.joins:
        held += sum(parts)
        return _Place(at.scale, down, held, above, how.after, at.told), 0.0
    for k, part in enumerate(parts):
        high = held + part
        if down and down + high > page:
            cost += _gap(down / page) + LATE * late
            down = how.again if k else -above
        down, held = down + high, 0.0
    block = step.blocks[0]
    words = (block, sum(parts)) if isinstance(block, Paragraph) else None
    told = not step.fixed
    return _Place(at.scale, min(down, page), after=how.after, told=told, words=words), cost


def _gap(filled: float) -> float:
    """Return what it costs to leave a page filled to a share of its height."""
    empty = 1 - filled
    gross = GROSS_GAP if empty > MOST_SHARE else 0.0
    return gross + GAP * max(0.0, empty - SPARED_SHARE) ** 2


def _best(states: Iterable[_State]) -> list[_State]:
    """Return the cheapest of states that are alike, and the cheapest of all."""
    found: dict[tuple[int, int, bool], _State] = {}
    for one in states:
        at = one.places[len(SCALES) // 2]
        key = (len(one.waiting), round(at.down / ALIKE_MM), bool(at.held))
        if key not in found or one.cost < found[key].cost:
            found[key] = one
    return sorted(found.values(), key=lambda one: one.cost)[:MOST_STATES]


def _rebuilt(sections: tuple[Section, ...], state: _State) -> Iterator[Section]:
    """Yield sections with their blocks in the order of a state."""
    order: list[_Step] = []
    placed = state.placed
    while placed is not None:
        before, step = placed
        order.append(step)
        placed = before  # type: ignore[assignment]
    number = -1
    blocks: dict[int, list[_Step]] = {k: [] for k in range(len(sections))}
    for step in reversed(order):
        number = step.section if step.at < 0 else number
        if step.at >= 0:
            blocks[number].append(step)
    for k, section in enumerate(sections):
        runs = groupby(blocks[k], key=lambda one: (one.section, one.at))
        made = [block for _, run in runs for block in _joined(list(run))]
        yield replace(section, blocks=tuple(made))


def _joined(run: list[_Step]) -> tuple[Block, ...]:
    """Return steps that follow each other as one block again, where they were items of a list."""
    items = [i for one in run for b in one.blocks if isinstance(b, Bullets) for i in b.items]
    rows = [row for one in run for b in one.blocks if isinstance(b, Terms) for row in b.rows]
    if items:
        return (Bullets(tuple(items)),)
    return (Terms(tuple(rows)),) if rows else run[0].blocks


def _floats(block: Block) -> bool:
    return isinstance(block, Picture) and block.floats


def _closes(section: Section) -> bool:
    """Return whether no figure of the sections before may stand in a section or behind it."""
    return section.new_page or section.number.isalpha()
