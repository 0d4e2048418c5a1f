"""The key beside a map: only what the map really shows, laid out in inches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from moisturemap.figures.floor_layers import LINE_STYLES
from moisturemap.figures.style import (
    DRILL,
    INK,
    MUTED,
    PAPER,
    RAMP,
    SET_ASIDE,
    WARNING,
    band_colours,
    font,
)

ROW = 0.215
"""Height of one row of the key [in]."""

SAMPLE = 0.3
"""Width of a sample [in]."""

LINE_NAMES = {
    "exterior-wall": "exterior wall",
    "interior-wall": "interior wall",
    "movement-joint": "movement joint",
    "day-joint": "day joint",
    "known-service": "known service",
}


@dataclass(frozen=True)
class KeyRow:
    """One row of the key: how to draw its sample, and what it means."""

    kind: str
    text: str


class KeyPanel:
    """Writes the key from the top of its axes down.

    Parameters
    ----------
    ax : Axes
        Empty axes of the size given, without frame.
    width, height : float
        Size of the axes [in].
    column : float
        Width of one column [in]; rows that find no room below go on in the next.
    """

    def __init__(self, ax: Axes, width: float, height: float, column: float) -> None:
        self.ax = ax
        self.x = 0.0
        self.y = self.height = height
        self.column = column
        ax.set_xlim(0, width)
        ax.set_ylim(0, height)
        ax.axis("off")

    def heading(self, text: str) -> None:
        """Write a heading."""
        self.y -= ROW
        self.ax.text(0, self.y, text, color=INK, fontproperties=font(8.5, "bold"))
        self.y -= 0.07

    def ramp(self, levels: np.ndarray, unit: str, wet_level: float | None) -> None:
        """Draw the bands as a column, wet on top, with their limits and the wet level."""
        count = len(levels) - 1
        colours = band_colours(count)
        step = min(0.24, 1.9 / count)
        bottom = self.y - step * count - 0.05
        for index in range(count):
            box = Rectangle(
                (0, bottom + index * step),
                SAMPLE,
                step,
                facecolor=colours(index),
                edgecolor=PAPER,
                linewidth=0.5,
            )
            self.ax.add_patch(box)
        inside = wet_level is not None and levels[0] <= wet_level <= levels[-1]
        ends = {0: " (drier)", count: " (wetter)"}
        for index, level in enumerate(levels):
            near = inside and abs(level - wet_level) < 0.55 * (levels[1] - levels[0])
            if near and index not in ends:
                continue
            self.ax.text(
                SAMPLE + 0.08,
                bottom + index * step,
                f"{level:g} {unit}".strip() + ends.get(index, ""),
                va="center",
                color=MUTED,
                fontproperties=font(7.5),
            )
        if inside and wet_level is not None:
            at = bottom + step * float(np.interp(wet_level, levels, np.arange(count + 1)))
            self.ax.plot([-0.06, SAMPLE + 0.12], [at, at], color=PAPER, linewidth=3.4)
            self.ax.plot([-0.06, SAMPLE + 0.12], [at, at], color=INK, linewidth=1.9)
            self.ax.text(
                SAMPLE + 0.2,
                at,
                f"wet level {wet_level:.3g}",
                va="center",
                color=INK,
                fontproperties=font(7.5, "bold"),
            )
        self.y = bottom - 0.1

    def row(self, row: KeyRow) -> None:
        """Write one row."""
        lines = row.text.split("\n")
        if self.y - ROW - 0.14 * (len(lines) - 1) < 0:
            self.x, self.y = self.x + self.column, self.height
        self.y -= ROW
        self._sample(row.kind, self.y + 0.045)
        for line in lines:
            self.ax.text(
                self.x + SAMPLE + 0.12,
                self.y,
                line,
                color=INK,
                fontproperties=font(7.5),
                va="baseline",
            )
            self.y -= 0.14
        self.y += 0.14

    def _sample(self, kind: str, y: float) -> None:
        ax, left, right = self.ax, self.x, self.x + SAMPLE
        middle = (left + right) / 2
        if kind in LINE_STYLES:
            ax.plot([left, right], [y, y], **LINE_STYLES[kind])
        elif kind == "line":
            ax.plot([left, right], [y, y], color=WARNING, linewidth=2)
            for x in np.linspace(left + 0.05, right - 0.05, 3):
                ax.plot([x, x], [y - 0.05, y + 0.05], color=WARNING, linewidth=1.2)
        elif kind in MARKERS:
            ax.add_line(Line2D([middle], [y], linestyle="none", **MARKERS[kind]))  # type: ignore[arg-type]
        elif kind.startswith("hatch"):
            pattern = kind.removeprefix("hatch")
            edge = WARNING if pattern == "++" else INK
            box = Rectangle(
                (left, y - 0.065),
                SAMPLE,
                0.14,
                facecolor="none",
                edgecolor=edge,
                hatch=pattern,
                linewidth=0.6,
            )
            box.set_hatch_linewidth(0.5)
            ax.add_patch(box)
        elif kind == "scan":
            step = SAMPLE / len(RAMP)
            for index, colour in enumerate(RAMP):
                ax.add_patch(
                    Rectangle(
                        (left + index * step, y - 0.065), step, 0.14, facecolor=colour, alpha=0.35
                    )
                )
        elif kind == "letter":
            ax.text(
                middle, y, "A", ha="center", va="center", color=INK, fontproperties=font(10, "bold")
            )


MARKERS: dict[str, dict[str, object]] = {
    "clear": {"marker": "o", "markersize": 3, "markerfacecolor": INK, "markeredgewidth": 0},
    "full-scale": {"marker": "^", "markersize": 5, "markerfacecolor": INK, "markeredgewidth": 0},
    "below-scale": {"marker": "v", "markersize": 5, "markerfacecolor": INK, "markeredgewidth": 0},
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
    "meets": {
        "marker": "o",
        "markersize": 8,
        "markerfacecolor": RAMP[5],
        "markeredgecolor": RAMP[5],
    },
    "not proven": {
        "marker": "o",
        "markersize": 8,
        "markerfacecolor": PAPER,
        "markeredgecolor": INK,
        "markeredgewidth": 1.8,
    },
    "exceeds": {
        "marker": "D",
        "markersize": 8,
        "markerfacecolor": WARNING,
        "markeredgecolor": WARNING,
    },
    "not judged": {
        "marker": "x",
        "markersize": 7,
        "markeredgecolor": SET_ASIDE,
        "markeredgewidth": 1.8,
    },
    "hole": {
        "marker": "o",
        "markersize": 9,
        "markerfacecolor": PAPER,
        "markeredgecolor": DRILL,
        "markeredgewidth": 1.8,
    },
}
