"""How high the blocks of a report stand as the typesetter sets them, on a page without an end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from moisturemap.report.content import Block, Paragraph, Table
from moisturemap.report.laid import Laid

TOP_MM = 20.0
"""Margin at the head of a page."""

LINE_MM, BLANK_MM = 4.22, 1.2
"""Height of a line of text with the space to the next, and what the space below a paragraph has
more than that between its lines."""

HEADING_GAP_MM, GAP_MM, FIGURE_GAP_MM = 6.9, 2.7, 3.2
"""Space above a heading, below a text and below a figure or table, but for the ends of a page."""

CAPTION_MM, CELL_MM, LEAST_MM = 6.0, 1.2, 32.0
"""Of a table: the caption above the heading that each page repeats, the space above the words of a
cell, and what must find room where it begins."""

SCALES = (0.99, 1.0, 1.01)
"""Heights of texts against those measured, which space at the ends of a page is no part of."""

Marks = Mapping[tuple[int, int], Mapping[int, float]]
"""Where the parts of each block begin, by the numbers of its section and in it [mm]."""


def marks_of(told: Iterable[Iterable[float]]) -> Marks:
    """Return what the typesetter told as (section, block, part, height [mm]) by place and part."""
    found: dict[tuple[int, int], dict[int, float]] = {}
    for section, at, part, down in told:
        found.setdefault((int(section), int(at)), {})[int(part)] = float(down)
    return found


@dataclass(frozen=True, slots=True)
class Measured:
    """Heights of typeset sections.

    Attributes
    ----------
    marks : Marks
    scales : tuple of float
    """

    marks: Marks
    scales: tuple[float, ...] = SCALES
    exact: bool = True

    @property
    def above(self) -> float:
        """Height of what stands above the first section [mm]."""
        return self.marks[0, -1][0] - TOP_MM

    def heading(self, section: int, title: str) -> Laid:
        """Return the heading of a section."""
        high = self._end(section, -1) - self.marks[section, -1][0]
        gap = HEADING_GAP_MM if section else 0.0
        return Laid((high + gap,), joins=True, before=gap)

    def figures(self, section: int, at: int, group: tuple[Block, ...]) -> Laid:
        """Return a picture, or two that stand beside each other."""
        high = self._high(section, at, len(group))
        return Laid((high,), after=self._after(section, at + len(group) - 1, FIGURE_GAP_MM))

    def item(self, section: int, at: int, number: int, alone: Block) -> Laid:
        """Return an item of a list."""
        begins = self._begins(section, at)
        last = number + 2 == len(begins)
        after = self._after(section, at, GAP_MM) if last else 0.0
        return Laid(_lines(begins[number + 1] - begins[number]), after=after)

    def pieces(self, section: int, at: int, table: Table) -> tuple[tuple[Table, Laid], ...]:
        """Return the rows that stand together, of a table that is parted."""
        how = self._table(section, at, len(table.rows))
        if len(how.parts) == 1:
            return ((table, how),)
        cuts = [0, *self._cuts(section, at, len(table.rows)), len(table.rows)]
        ends = [0.0] * (len(cuts) - 2) + [how.after]
        return tuple(
            (replace(table, rows=table.rows[a:b]), replace(how, parts=(part,), after=end))
            for (a, b), part, end in zip(pairwise(cuts), how.parts, ends, strict=True)
        )

    def block(self, section: int, at: int, block: Block) -> Laid:
        """Return any other block."""
        high = self._high(section, at)
        match block:
            case Table(rows=rows):
                return self._table(section, at, len(rows))
            case Paragraph(kind="lead"):
                return Laid((high,), joins=True)
            case Paragraph(kind="body"):
                return Laid(_lines(high), after=self._after(section, at, GAP_MM))
            case _:
                return Laid((high,), after=self._after(section, at, GAP_MM))

    def _table(self, section: int, at: int, count: int) -> Laid:
        after = self._after(section, at, FIGURE_GAP_MM)
        if len(self.marks[section, at]) == 1 or count < 4:  # it is not parted
            return Laid((self._high(section, at),), after=after)
        marks = self.marks[section, at]
        cuts = [marks[k + 1] - CELL_MM for k in self._cuts(section, at, count)]
        parts = tuple(b - a for a, b in pairwise([marks[0], *cuts, self._end(section, at)]))
        again = marks[1] - CELL_MM - marks[0] - CAPTION_MM
        return Laid(parts, again=again, after=after)

    def _cuts(self, section: int, at: int, count: int) -> range:
        """Return the rows that a page may begin with: they stand in pairs."""
        marks, held = self.marks[section, at], 3 if count % 2 else 2
        fits = (k for k in range(held, count - 1, 2) if marks[k + 1] > marks[0] + LEAST_MM)
        return range(next(fits, count), count - 1, 2)

    def _after(self, section: int, at: int, gap: float) -> float:
        """Return the space below a block: that above a heading below the last one of a section."""
        last = max(k for number, k in self.marks if number == section)
        return HEADING_GAP_MM if self._next(section, at) == last else gap

    def _high(self, section: int, at: int, count: int = 1) -> float:
        return self._end(section, at + count - 1) - self.marks[section, at][0]

    def _end(self, section: int, at: int) -> float:
        """Return where the next block begins, or the section ends."""
        return self.marks[section, self._next(section, at)][0]

    def _next(self, section: int, at: int) -> int:
        return min(k for number, k in self.marks if number == section and k > at)

    def _begins(self, section: int, at: int) -> list[float]:
        """Return where each part of a block begins, the first with it, and where the last ends."""
        marks = self.marks[section, at]
        parts = [marks[k] for k in sorted(marks) if k > 0]
        offset = parts[0] - marks[0] if parts else 0.0
        return [marks[0], *(one - offset for one in parts[1:]), self._end(section, at)]


def _lines(high: float) -> tuple[float, ...]:
    """Return the parts of a text of this height: two lines at least stand at a page's end."""
    count = round((high - BLANK_MM) / LINE_MM)
    if count < 4:
        return (high,)
    first = (2 * LINE_MM, *[LINE_MM] * (count - 4))
    return (*first, high - sum(first))
