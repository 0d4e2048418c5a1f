"""The sample of each thing a drawing shows, for its key."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from moisturemap.figures.floor_layers import (
    CONTESTED_DASHES,
    CONTESTED_DOTS,
    LINE_STYLES,
    SIGN_PT,
)
from moisturemap.figures.signs_of_tests import SIGNS, sign_lines
from moisturemap.figures.style import DRILL, INK, MUTED, PAPER, RAMP, SET_ASIDE, WARNING, font
from moisturemap.floorplan import FloorPlan, kinds_of_gaps

SAMPLE = 0.28
"""Width of a sample [in]."""

LINE_NAMES = {
    "exterior-wall": "exterior wall",
    "interior-wall": "interior wall",
    "movement-joint": "movement joint",
    "day-joint": "day joint",
    "known-service": "known service",
}

GAP_NAMES = {"column": "column", "opening": "opening, no floor"}


def line_names(plan: FloorPlan, only: Iterable[str] = tuple(LINE_NAMES)) -> dict[str, str]:
    """Return the kinds of lines that a plan draws, and what each is called in a key.

    With all of them the columns and openings that its rooms have no floor in.
    """
    drawn = {line.kind for line in plan.lines} & set(only)
    found = {kind: name for kind, name in LINE_NAMES.items() if kind in drawn}
    gaps = kinds_of_gaps(plan) if set(LINE_NAMES) <= set(only) else frozenset[str]()
    return found | {kind: name for kind, name in GAP_NAMES.items() if kind in gaps}


SOLID, DASHED = "-", (0, (4, 2))
OUTLINES = {"rising": SOLID, "stagnant": DASHED}


def draw_sample(ax: Axes, kind: str, left: float, y: float) -> None:
    """Draw the sample of a kind, its middle at a height, in axes measured in inches."""
    if kind in LINE_STYLES:
        ax.plot([left, left + SAMPLE], [y, y], **LINE_STYLES[kind])
    elif kind in MARKERS:
        mark = Line2D([left + SAMPLE / 2], [y], linestyle="none", **MARKERS[kind])  # type: ignore[arg-type]
        ax.add_line(mark)
        if f"{kind}-cross" in MARKERS:
            draw_sample(ax, f"{kind}-cross", left, y)
    elif kind in SIGNS:
        for line in sign_lines(SIGNS[kind], left + SAMPLE / 2, y, 7.0):
            ax.add_line(line)
    elif kind.startswith("hatch"):
        pattern = kind.removeprefix("hatch")
        _hatched(ax, left, y, pattern)
    else:
        _DRAWN[kind](ax, left, y)


def _line(ax: Axes, left: float, y: float) -> None:
    ax.plot([left, left + SAMPLE], [y, y], color=WARNING, linewidth=2)
    for x in np.linspace(left + 0.05, left + SAMPLE - 0.05, 3):
        ax.plot([x, x], [y - 0.05, y + 0.05], color=WARNING, linewidth=1.2)


def _contested_line(ax: Axes, left: float, y: float) -> None:
    ax.plot([left, left + SAMPLE], [y, y], color=WARNING, linewidth=2, linestyle=CONTESTED_DASHES)


def _contested_spot(ax: Axes, left: float, y: float) -> None:
    look = {"facecolor": PAPER, "edgecolor": WARNING, "linestyle": CONTESTED_DOTS}
    ax.scatter(left + SAMPLE / 2, y, s=SIGN_PT**2, marker="s", linewidth=1.5, **look)  # type: ignore[arg-type]


def _hatched(ax: Axes, left: float, y: float, pattern: str) -> None:
    edge = WARNING if pattern == "++" else INK
    box = _frame(left, y, facecolor="none", edgecolor=edge, hatch=pattern, linewidth=0.6)
    box.set_hatch_linewidth(0.5)
    ax.add_patch(box)


def _scan(ax: Axes, left: float, y: float) -> None:
    step = SAMPLE / len(RAMP)
    for index, colour in enumerate(RAMP):
        at = (left + index * step, y - 0.065)
        ax.add_patch(Rectangle(at, step, 0.13, facecolor=colour, alpha=0.35))


def _letter(ax: Axes, left: float, y: float) -> None:
    middle = left + SAMPLE / 2
    ax.text(middle, y, "A", ha="center", va="center", color=INK, fontproperties=font(9, "bold"))


def _tape(ax: Axes, left: float, y: float) -> None:
    ax.plot([left, left + SAMPLE], [y, y], color=MUTED, linewidth=0.9, linestyle=(0, (5, 2)))


def _zone(ax: Axes, left: float, y: float) -> None:
    ax.add_patch(_frame(left, y, facecolor=RAMP[3], edgecolor=RAMP[6], alpha=0.45, linewidth=1.5))


def _ring(ax: Axes, left: float, y: float) -> None:
    ax.plot([left, left + SAMPLE], [y, y], color=DRILL, linewidth=1.2, linestyle=DASHED)


def _opening(ax: Axes, left: float, y: float) -> None:
    ax.add_patch(_frame(left, y, facecolor=PAPER, edgecolor=INK, linewidth=1.4))


def _door(ax: Axes, left: float, y: float) -> None:
    ax.plot([left, left + SAMPLE], [y, y], color=MUTED, linewidth=1.4, linestyle=(0, (1.5, 1)))


def _outlined(kind: str) -> Callable[[Axes, float, float], None]:
    def draw(ax: Axes, left: float, y: float) -> None:
        ax.add_patch(
            _frame(
                left,
                y,
                facecolor="none",
                edgecolor=WARNING,
                linewidth=1.7,
                linestyle=OUTLINES[kind],
            )
        )

    return draw


def _frame(left: float, y: float, **look: object) -> Rectangle:
    return Rectangle((left, y - 0.065), SAMPLE, 0.13, **look)  # type: ignore[arg-type]


_DRAWN: dict[str, Callable[[Axes, float, float], None]] = {
    "line": _line,
    "contested-line": _contested_line,
    "contested-spot": _contested_spot,
    "scan": _scan,
    "letter": _letter,
    "tape": _tape,
    "zone": _zone,
    "ring": _ring,
    "opening": _opening,
    "door": _door,
    "rising": _outlined("rising"),
    "stagnant": _outlined("stagnant"),
}

MARKERS: dict[str, dict[str, object]] = {
    "clear": {"marker": "o", "markersize": 3, "markerfacecolor": INK, "markeredgewidth": 0},
    "full-scale": {"marker": "^", "markersize": 5, "markerfacecolor": INK, "markeredgewidth": 0},
    "below-scale": {"marker": "v", "markersize": 5, "markerfacecolor": INK, "markeredgewidth": 0},
    "contested": {"marker": "s", "markersize": 4, "markerfacecolor": INK, "markeredgewidth": 0},
    "aside": {"marker": "x", "markersize": 5, "markeredgecolor": SET_ASIDE},
    "spot": {
        "marker": "D",
        "markersize": 6,
        "markerfacecolor": PAPER,
        "markeredgecolor": WARNING,
        "markeredgewidth": 1.5,
    },
    "stray": {
        "marker": "X",
        "markersize": 7,
        "markerfacecolor": PAPER,
        "markeredgecolor": WARNING,
        "markeredgewidth": 1.5,
    },
    "fell": {
        "marker": "v",
        "markersize": 5,
        "markerfacecolor": INK,
        "markeredgecolor": PAPER,
        "markeredgewidth": 0.6,
    },
    "rose": {
        "marker": "^",
        "markersize": 5,
        "markerfacecolor": INK,
        "markeredgecolor": PAPER,
        "markeredgewidth": 0.6,
    },
    "drilled": {
        "marker": "o",
        "markersize": 7.5,
        "markerfacecolor": INK,
        "markeredgecolor": PAPER,
        "markeredgewidth": 0.8,
    },
    "drilled-cross": {
        "marker": "x",
        "markersize": 3.4,
        "markeredgecolor": PAPER,
        "markeredgewidth": 1.1,
    },
    "column": {
        "marker": "s",
        "markersize": 6.5,
        "markerfacecolor": PAPER,
        "markeredgecolor": INK,
        "markeredgewidth": 1.2,
    },
    "hole": {
        "marker": "o",
        "markersize": 9,
        "markerfacecolor": PAPER,
        "markeredgecolor": DRILL,
        "markeredgewidth": 1.8,
    },
    "dehumidifier": {
        "marker": "s",
        "markersize": 7,
        "markerfacecolor": DRILL,
        "markeredgecolor": DRILL,
    },
    "air-mover": {
        "marker": ">",
        "markersize": 7,
        "markerfacecolor": DRILL,
        "markeredgecolor": DRILL,
    },
    "machine-today": {
        "marker": "s",
        "markersize": 7,
        "markerfacecolor": PAPER,
        "markeredgecolor": DRILL,
        "markeredgewidth": 1.3,
    },
    "power-point": {
        "marker": "P",
        "markersize": 7,
        "markerfacecolor": PAPER,
        "markeredgecolor": INK,
        "markeredgewidth": 1.1,
    },
}
"""How each mark of a drawing looks."""
