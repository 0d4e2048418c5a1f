"""What makes a figure unreadable in print: small type, texts over each other, cut by the page."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PathCollection
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from moisturemap.figures.plain_text import settle_texts

SMALLEST_PT = 6.0
SLACK = 1.0
"""Boxes of text reach this far beyond their ink [px at 150 dots an inch]."""


def faults(figure: Figure) -> list[str]:
    """Return everything about the texts of a figure that would hurt in print, in words."""
    settle_texts(figure)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    page = figure.bbox
    hidden = _hidden(figure)
    shown = [
        text
        for text in figure.findobj(Text)
        if text.get_visible() and text.get_text().strip() and id(text) not in hidden
    ]
    found = []
    boxes: list[tuple[Text, Bbox]] = []
    for text in shown:
        words = text.get_text()
        if words.startswith("_"):
            found.append(f"a name of the library's own: {words!r}")
        box = text.get_window_extent(canvas.get_renderer())
        if box.width <= 0:
            continue
        if text.get_fontsize() < SMALLEST_PT - 1e-6:
            found.append(f"{text.get_fontsize():.1f} pt: {words!r}")
        inside = (
            box.x0 >= page.x0 - SLACK
            and box.y0 >= page.y0 - SLACK
            and box.x1 <= page.x1 + SLACK
            and box.y1 <= page.y1 + SLACK
        )
        if not inside:
            found.append(f"cut by the page: {words!r}")
        boxes.append((text, box.padded(-SLACK)))
    for (one, a), (other, b) in combinations(boxes, 2):
        if a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1:
            found.append(f"over each other: {one.get_text()!r} and {other.get_text()!r}")
    return found + _covered(figure, boxes)


SIGN_PT2 = 30.0
"""Signs of this area and larger are no dots of readings [pt2]."""


def _covered(figure: Figure, boxes: list[tuple[Text, Bbox]]) -> list[str]:
    """Return the names over the middle of a sign, or of a numbered disc that is not their own."""
    found = []
    for ax in figure.axes:
        for line in ax.lines:
            if line.get_marker() != "o" or line.get_markersize() < 7:
                continue
            for at in line.get_transform().transform(np.asarray(line.get_xydata())):
                for text, box in boxes:
                    own = text.axes is ax and np.allclose(_place(text), line.get_xydata()[0])
                    if box.contains(*at) and not own:
                        found.append(f"over a mark: {text.get_text()!r}")
        signs = [one for one in ax.collections if isinstance(one, PathCollection)]
        for sign in (one for one in signs if max(one.get_sizes(), default=0.0) >= SIGN_PT2):
            for at in sign.get_offset_transform().transform(np.asarray(sign.get_offsets())):
                over = [text.get_text() for text, box in boxes if box.contains(*at)]
                found += [f"over a sign: {words!r}" for words in over]
    return found


def _place(text: Text) -> tuple[float, float]:
    x, y = text.get_position()
    return float(x), float(y)


def _hidden(figure: Figure) -> set[int]:
    """Texts of ticks and axes that matplotlib keeps but does not draw."""
    hidden: set[int] = set()
    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            ticks = [*axis.get_major_ticks(), *axis.get_minor_ticks()]
            low, high = sorted(axis.get_view_interval())
            for tick in ticks:
                if not ax.axison or not low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    hidden |= {id(tick.label1), id(tick.label2)}
            if not ax.axison:
                hidden |= {id(axis.label), id(axis.get_offset_text())}
    return hidden
