"""The key of a drawing: only what it really shows, set beside it or in columns below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.patches import Rectangle

from moisturemap.figures.samples import SAMPLE, draw_sample
from moisturemap.figures.style import INK, MUTED, PAPER, band_colours, font
from moisturemap.figures.typeface import properties_for, width_of, wrapped

TEXT_PT, HEAD_PT = 7.0, 8.0
LINE, HEAD_LINE, ROW_GAP, HEAD_GAP = 0.128, 0.138, 0.062, 0.06
"""Height of a line, of one of a heading, free space below a row, below a heading [in]."""

INDENT = SAMPLE + 0.1
NARROWEST, WIDEST = 1.2, 2.3
"""Of a column [in]."""

STEP, TALLEST = 0.2, 2.1
"""Height of a band in an upright scale, and the most all bands take [in]."""


@dataclass(frozen=True)
class Heading:
    """A heading; rows after it belong to it."""

    text: str


@dataclass(frozen=True)
class Row:
    """How to draw a sample, and what it means."""

    kind: str
    text: str


@dataclass(frozen=True)
class Mark:
    """A number or letter, and what it stands for."""

    mark: str
    text: str


@dataclass(frozen=True)
class Scale:
    """Bands of values with their limits.

    Attributes
    ----------
    levels : sequence of float
        Limits of the bands.
    labels : sequence of str
        What to write at each limit.
    colours : ListedColormap
    level : float or None
        A value marked on the scale by a thick line.
    level_text : str
    """

    levels: Sequence[float]
    labels: Sequence[str]
    colours: ListedColormap
    level: float | None = None
    level_text: str = ""

    @property
    def marked(self) -> float | None:
        """The marked value when it lies on the scale."""
        on = self.level is not None and self.levels[0] <= self.level <= self.levels[-1]
        return self.level if on else None


def moisture_scale(levels: np.ndarray, wet_level: float | None) -> Scale:
    """Return the scale of relative readings with the wet level."""
    labels = [f"{level:g}" for level in levels]
    if len(levels) > 2:
        labels[0] += " low"
        labels[-1] += " high"
    text = "" if wet_level is None else f"wet level {wet_level:.3g}"
    return Scale(tuple(levels), tuple(labels), band_colours(len(levels) - 1), wet_level, text)


Entry = Heading | Row | Mark | Scale


@dataclass(frozen=True)
class Key:
    """Entries of a key, in order; ``low`` lays its scale along the width however narrow."""

    entries: tuple[Entry, ...]
    low: bool = False

    def columns(self, width: float) -> tuple[int, float]:
        """Return how many columns stand side by side in a width [in], and the width of one."""
        wanted = [INDENT + width_of(text, TEXT_PT) for text in self._texts()]
        column = min(WIDEST, max([NARROWEST, *wanted]))
        count = max(1, int((width + 0.15) // (min(column, width) + 0.15)))
        if count == 1 and width >= 2 * NARROWEST + 0.15:
            count = 2
        return count, (width - 0.15 * (count - 1)) / count

    def height(self, width: float) -> float:
        """Return the height it takes in a width [in]."""
        return self._flow(width)[1]

    def draw(self, ax: Axes, width: float, height: float) -> None:
        """Draw it into axes of a size [in], from the top."""
        ax.set_xlim(0, width)
        ax.set_ylim(0, height)
        ax.axis("off")
        for entry, x, y, across in self._flow(width)[0]:
            top = height - y
            match entry:
                case Heading():
                    _draw_heading(ax, entry, x, top, across)
                case Scale():
                    _draw_scale(ax, entry, x, top, across, low=self.low)
                case Row() | Mark():
                    _draw_row(ax, entry, x, top, across)

    def _texts(self) -> list[str]:
        texts = [one.text for one in self.entries if isinstance(one, Row | Mark)]
        return [line for text in texts for line in text.split("\n")]

    def _flow(self, width: float) -> tuple[list[tuple[Entry, float, float, float]], float]:
        """Return entries with x, distance from the top and width, and the height of all [in]."""
        placed: list[tuple[Entry, float, float, float]] = []
        count, column = self.columns(width)
        top = 0.0
        rest = list(self.entries)
        while count > 1 and rest and isinstance(rest[0], Heading | Scale):
            entry = rest.pop(0)
            placed.append((entry, 0.0, top, width))
            top += _height(entry, width, low=self.low)
        blocks = _blocks(rest)
        sizes = [[_height(entry, column, low=self.low) for entry in block] for block in blocks]
        deep = _shallowest([sum(one) for one in sizes], count)
        x, y = 0.0, 0.0
        for block, high in zip(blocks, sizes, strict=True):
            if y > 0 and y + sum(high) > deep + 1e-9:
                x, y = x + column + 0.15, 0.0
            for entry, size in zip(block, high, strict=True):
                placed.append((entry, x, top + y, column))
                y += size
        return placed, top + (deep if rest else 0.0)


def _blocks(entries: Sequence[Entry]) -> list[list[Entry]]:
    """Return what no end of a column parts: a heading and the first entry that belongs to it."""
    blocks: list[list[Entry]] = []
    for entry in entries:
        if blocks and isinstance(blocks[-1][-1], Heading):
            blocks[-1].append(entry)
        else:
            blocks.append([entry])
    return blocks


def _shallowest(sizes: list[float], count: int) -> float:
    """Return the least depth at which entries in order fill at most so many columns."""
    if not sizes:
        return 0.0
    low, high = max(sizes), sum(sizes)
    for _ in range(40):
        middle = (low + high) / 2
        columns, used = 1, 0.0
        for size in sizes:
            if used > 0 and used + size > middle + 1e-9:
                columns, used = columns + 1, 0.0
            used += size
        low, high = (low, middle) if columns <= count else (middle, high)
    return high


def _lines(entry: Row | Mark, width: float) -> list[str]:
    return wrapped(entry.text, width - INDENT, TEXT_PT)


def _is_flat(entry: Scale, width: float, *, low: bool) -> bool:
    """Return whether a scale lies along the width instead of standing upright."""
    return low or width > WIDEST + 0.4 or len(entry.levels) * STEP > 2 * TALLEST


def _height(entry: Entry, width: float, *, low: bool) -> float:
    match entry:
        case Heading():
            return HEAD_LINE * len(_head_lines(entry, width)) + HEAD_GAP + 0.04
        case Scale():
            if _is_flat(entry, width, low=low):
                return 0.52
            return min(STEP * (len(entry.levels) - 1), TALLEST) + 0.2
        case Row() | Mark():
            return len(_lines(entry, width)) * LINE + ROW_GAP


def _draw_heading(ax: Axes, entry: Heading, x: float, top: float, width: float) -> None:
    for at, line in enumerate(_head_lines(entry, width), 1):
        ax.text(x, top - at * HEAD_LINE, line, color=INK, fontproperties=font(HEAD_PT, "bold"))


def _head_lines(entry: Heading, width: float) -> list[str]:
    return wrapped(entry.text, width, HEAD_PT, "bold")


def _draw_row(ax: Axes, entry: Row | Mark, x: float, top: float, width: float) -> None:
    if isinstance(entry, Row):
        draw_sample(ax, entry.kind, x, top - 0.068)
    else:
        ax.text(x, top - 0.1, entry.mark, color=INK, fontproperties=font(TEXT_PT, "bold"))
    for at, line in enumerate(_lines(entry, width)):
        ax.text(
            x + INDENT,
            top - 0.1 - at * LINE,
            line,
            color=INK,
            fontproperties=properties_for(line, TEXT_PT),
        )


def _draw_scale(ax: Axes, entry: Scale, x: float, top: float, width: float, *, low: bool) -> None:
    if _is_flat(entry, width, low=low):
        _draw_flat(ax, entry, x, top, width)
    else:
        _draw_upright(ax, entry, x, top)


def _draw_upright(ax: Axes, entry: Scale, x: float, top: float) -> None:
    """Draw the bands as a column, highest on top."""
    count = len(entry.levels) - 1
    step = min(STEP, TALLEST / count)
    bottom = top - step * count - 0.08
    for index in range(count):
        _band(ax, entry, index, (x, bottom + index * step), (SAMPLE, step))
    at = _along(entry, count)
    clear = 0.13 if at is not None else 0.0
    last = -1.0
    for index, label in enumerate(entry.labels):
        y = index * step
        covered = at is not None and abs(y - at * step) < clear
        if covered or y - last < 0.11:
            continue
        last = y
        ax.text(
            x + SAMPLE + 0.08,
            bottom + y,
            label,
            va="center",
            color=MUTED,
            fontproperties=font(TEXT_PT),
        )
    if at is not None:
        level = bottom + at * step
        _line(ax, (x - 0.05, x + SAMPLE + 0.06), (level, level))
        ax.text(
            x + SAMPLE + 0.08,
            level,
            entry.level_text,
            va="center",
            color=INK,
            fontproperties=font(TEXT_PT, "bold"),
        )


def _draw_flat(ax: Axes, entry: Scale, x: float, top: float, width: float) -> None:
    """Draw the bands as a row, highest at the right; the marked level above it."""
    count = len(entry.levels) - 1
    high, bottom = 0.13, top - 0.3
    step = (width - 0.02) / count
    for index in range(count):
        _band(ax, entry, index, (x + index * step, bottom), (step, high))
    free = x - 1.0
    ends = width_of(entry.labels[-1], TEXT_PT)
    for index, label in enumerate(entry.labels):
        wide = width_of(label, TEXT_PT)
        left = min(max(x + index * step - wide / 2, x), x + width - wide)
        if left < free + 0.08 or (index < count and left + wide > x + width - ends - 0.08):
            continue
        free = left + wide
        ax.text(left, bottom - 0.12, label, color=MUTED, fontproperties=font(TEXT_PT))
    at = _along(entry, count)
    if at is not None:
        place = x + at * step
        _line(ax, (place, place), (bottom - 0.02, bottom + high + 0.03))
        wide = width_of(entry.level_text, TEXT_PT, "bold")
        left = min(max(place - wide / 2, x), x + width - wide)
        ax.text(
            left,
            bottom + high + 0.065,
            entry.level_text,
            color=INK,
            fontproperties=font(TEXT_PT, "bold"),
        )


def _along(entry: Scale, count: int) -> float | None:
    if entry.marked is None:
        return None
    return float(np.interp(entry.marked, entry.levels, np.arange(count + 1)))


def _band(
    ax: Axes, entry: Scale, index: int, at: tuple[float, float], size: tuple[float, float]
) -> None:
    shape = Rectangle(at, *size, facecolor=entry.colours(index), edgecolor=MUTED, linewidth=0.4)
    ax.add_patch(shape)


def _line(ax: Axes, x: tuple[float, float], y: tuple[float, float]) -> None:
    ax.plot(x, y, color=PAPER, linewidth=3.4, zorder=4, solid_capstyle="butt")
    ax.plot(x, y, color=INK, linewidth=1.9, zorder=4.1, solid_capstyle="butt")
