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

from moisturemap.language import spoken
from moisturemap.report.content import (
    NARROW_MM,
    Block,
    Bullets,
    Contents,
    Picture,
    Section,
    Table,
    Terms,
)
from moisturemap.report.docx_height import Estimated
from moisturemap.report.laid import PAGE_MM, Heights, Laid
from moisturemap.report.picture_size import room_for
from moisturemap.report.place import (
    PARTED_TABLE,
    SURE_MM,
    Place,
    Step,
    closes,
    early,
    figure_at,
    floats,
    parted,
    steps,
    text_at,
)

BELOW_MM = 12.0
"""Room left below contents that stand on page one (our choice)."""

MOVED = 0.03
"""What costs each figure that stands away from its words (our choice)."""

STRAYED = 2.0
"""What it costs, by the square of the sections beyond it, that a figure stands behind the section
whose words cite it (our choice)."""

SMALLEST, SMALLER = 0.86, 4.0
"""Share of its size to which a figure may be made smaller so that it fits on a page, and what that
costs, by the share it loses (our choice): letters of 7 pt, our smallest, stay above 6 pt."""

EVEN_MM = 0.5
"""Left free beside a figure made smaller, so that it fits however sums are rounded."""

MOST_STATES, ALIKE_MM = 80, 4.0
"""Ways to place the figures that are followed at once, and how much lower on a page the text may
have come for two of them to count as one (our choice)."""


@dataclass(frozen=True, slots=True)
class _State:
    """One way to place the figures up to a step.

    Attributes
    ----------
    places : tuple of Place
        Where it comes to, by each of the scales of ``Heights``.
    cost : float
        Mean over them.
    waiting : tuple of Step
    placed : tuple
        What was placed last, as (all before it, step).
    """

    places: tuple[Place, ...]
    cost: float = 0.0
    waiting: tuple[Step, ...] = ()
    placed: tuple[object, Step] | None = None


def flowed(
    sections: tuple[Section, ...],
    paper: str,
    *,
    at_once: bool = False,
    heights: Heights | None = None,
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
    heights : Heights, optional
        Of the sections with their figures early; those of a word processor where none are given.
    """
    sections = with_figures_early(sections)
    end = end_of_figures(sections)
    heights = heights or Estimated(paper, end)
    begin = Place(1.0, heights.above, exact=heights.exact)
    states = [_State(tuple(replace(begin, scale=scale) for scale in heights.scales))]
    for step in steps(sections[:end], paper, heights):
        if at_once and step.blocks and isinstance(step.blocks[0], Contents):
            step = replace(step, turns=False)
        states = _best(new for one in states for new in _after(one, step, paper))
    best = min((_emptied(one, paper) for one in states), key=lambda one: one.cost)
    return (*_rebuilt(sections[:end], best, paper), *sections[end:])


def with_figures_early(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """Return sections in which figures stand as early as they may."""
    return tuple(replace(one, blocks=early(one.blocks)) for one in sections)


def end_of_figures(sections: tuple[Section, ...]) -> int:
    """Return the number of the section before which the last figure stands that may wait."""
    last = max((k for k, one in enumerate(sections) if any(map(floats, one.blocks))), default=-1)
    return next((k for k in range(last + 1, len(sections)) if closes(sections[k])), len(sections))


def _after(state: _State, step: Step, paper: str) -> Iterator[_State]:
    """Yield the ways a step may follow: with none, some or all of the figures that wait before."""
    if step.closes or step.fixed:
        state = _emptied(state, paper)
    if step.floats:
        waits = replace(state, waiting=(*state.waiting, step))
        yield waits
        if not state.waiting:
            yield from _with_figure(waits, paper, moved=False)
        return
    yield _with_text(state, step, paper)
    if state.places[0].held:
        return
    if step.parts == PARTED_TABLE:
        made = [parted(step, one) for one in state.places]
        step, state = made[0][0], replace(state, places=tuple(one for _, one in made))
    states = [state]
    while states[0].waiting:
        states = [new for one in states for new in _with_figure(one, paper)]
        states = [replace(one, cost=one.cost + step.parts) for one in states]
        yield from (_with_text(one, step, paper) for one in states)


def _emptied(state: _State, paper: str) -> _State:
    while state.waiting:
        state = min(_with_figure(state, paper), key=lambda one: one.cost)
    return state


def _with_figure(state: _State, paper: str, *, moved: bool = True) -> Iterator[_State]:
    """Yield states after the first of the figures that wait: as it is, and as small as fits."""
    step, *rest = state.waiting
    before = state.cost + (MOVED if moved else 0.0)
    for size in {1.0, _fitting(state.places, step, paper)}:
        set_so = replace(step, size=size, laid=_smaller(step, size, paper))
        made = [figure_at(one, set_so, len(rest), paper) for one in state.places]
        cost = before + SMALLER * (1 - size) + _mean(made)
        places = tuple(one for one, _ in made)
        yield _State(places, cost, tuple(rest), (state.placed, set_so))


def _fitting(places: tuple[Place, ...], step: Step, paper: str) -> float:
    """Return the share of its size at which a figure fits below the text, 1 where none does."""
    sheet = places[len(places) // 2].sheet
    below = max(one.down + one.held for one in places if one.sheet == sheet)
    room = max(SURE_MM if not one.exact else one.spare for one in places)
    lacks = below + step.laid.parts[0] - step.laid.after + room + EVEN_MM - PAGE_MM[paper]
    share = 1 - lacks / _drawn_mm(step, paper)
    return share if SMALLEST <= share < 1 else 1.0


def _smaller(step: Step, share: float, paper: str) -> Laid:
    """Return how figures are laid at a share of their size; their captions stay as they are."""
    less = (1 - share) * _drawn_mm(step, paper)
    return replace(step.laid, parts=(step.laid.parts[0] - less,))


def _drawn_mm(step: Step, paper: str) -> float:
    return max(room_for(one, paper)[1] for one in step.blocks if isinstance(one, Picture))


def _with_text(state: _State, step: Step, paper: str) -> _State:
    made = [text_at(one, step, len(state.waiting), paper) for one in state.places]
    places = tuple(one for one, _ in made)
    cost = state.cost + _mean(made)
    if step.at < 0:
        passed = (step.section - one.section for one in state.waiting)
        cost += STRAYED * sum(one**2 - (one - 1) ** 2 for one in passed)
    return _State(places, cost, state.waiting, (state.placed, step))


def _mean(made: list[tuple[Place, float]]) -> float:
    return sum(cost for _, cost in made) / len(made)


def _best(states: Iterable[_State]) -> list[_State]:
    """Return the cheapest of states that are alike, and the cheapest of all."""
    found: dict[tuple[int, int, bool], _State] = {}
    for one in states:
        at = one.places[len(one.places) // 2]
        key = (len(one.waiting), round(at.down / ALIKE_MM), bool(at.held))
        if key not in found or one.cost < found[key].cost:
            found[key] = one
    return sorted(found.values(), key=lambda one: one.cost)[:MOST_STATES]


def _rebuilt(sections: tuple[Section, ...], state: _State, paper: str) -> Iterator[Section]:
    """Yield sections with their blocks in the order of a state."""
    order: list[Step] = []
    placed = state.placed
    while placed is not None:
        before, step = placed
        order.append(step)
        placed = before  # type: ignore[assignment]
    number = -1
    blocks: dict[int, list[Step]] = {k: [] for k in range(len(sections))}
    for step in reversed(order):
        number = step.section if step.at < 0 else number
        if step.at >= 0:
            blocks[number].append(step)
    for k, section in enumerate(sections):
        runs = groupby(blocks[k], key=lambda one: (one.section, one.at))
        made = [block for _, run in runs for block in _joined(list(run), paper)]
        yield replace(section, blocks=tuple(_continued(made)))


def _joined(run: list[Step], paper: str) -> tuple[Block, ...]:
    """Return steps that follow each other as one block again, where they were items of a list."""
    items = [i for one in run for b in one.blocks if isinstance(b, Bullets) for i in b.items]
    rows = [row for one in run for b in one.blocks if isinstance(b, Terms) for row in b.rows]
    tables = [b for one in run for b in one.blocks if isinstance(b, Table)]
    if items:
        return (Bullets(tuple(items)),)
    if tables:
        return (replace(tables[0], rows=tuple(row for one in tables for row in one.rows)),)
    if rows:
        return (Terms(tuple(rows)),)
    return tuple(_sized(one, run[0].size, paper) for one in run[0].blocks)


def _continued(blocks: list[Block]) -> Iterator[Block]:
    """Yield blocks; what goes on of a table behind a figure says so, and its note ends it."""
    tables = [one for one in blocks if isinstance(one, Table)]
    for one in blocks:
        if isinstance(one, Table):
            pieces = [other for other in tables if other.key == one.key]
            at = next(k for k, other in enumerate(pieces) if other is one)
            note = one.note if one is pieces[-1] else ""
            key = f"{one.key}-{at}" if at else one.key
            number = f"{one.number}, {spoken('continued')}" if at else one.number
            yield replace(one, note=note, key=key, number=number)
        else:
            yield one


def _sized(block: Block, share: float, paper: str) -> Block:
    """Return a picture at a share of its size; other blocks as they are."""
    if not isinstance(block, Picture) or share == 1:
        return block
    width = share * room_for(block, paper)[0]
    return replace(block, width_mm=width if block.narrow else max(width, NARROW_MM))
