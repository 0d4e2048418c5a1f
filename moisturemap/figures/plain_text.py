"""Texts of a figure as they can be drawn: the user's words, never markup, within the page."""

from __future__ import annotations

from functools import cache

from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.text import Text

TURNING = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F])
"""Characters that turn the direction of all text after them; a figure must not be reversed."""

MISSING = "\N{WHITE SQUARE}"
"""Stands for a character the font cannot draw."""

EDGE_IN = 0.2
"""What stays free at the right edge of the page [in]."""


def settle_texts(figure: Figure) -> None:
    """Make every text of a figure drawable as written.

    Dollar signs are no formula, characters the font lacks become squares, controls that turn the
    direction of writing go, and a line of the page that would run over its edge is cut with dots.
    """
    for text in figure.findobj(Text):
        if isinstance(text, Text) and text.get_text():
            text.set_parse_math(False)
            text.set_text(_drawable(text.get_text(), text.get_fontproperties()))
    for text in figure.texts:
        _keep_on_page(text, figure)


def _drawable(written: str, font: FontProperties) -> str:
    if written.isascii():
        return written
    known = _characters(findfont(font))
    kept = written.translate(TURNING)
    return "".join(one if one == "\n" or ord(one) in known else MISSING for one in kept)


@cache
def _characters(path: str) -> frozenset[int]:
    return frozenset(get_font(path).get_charmap())


def _keep_on_page(text: Text, figure: Figure) -> None:
    right = (figure.get_figwidth() - EDGE_IN) * figure.dpi
    box = text.get_window_extent()
    room = right - box.x0
    if box.x1 <= right or room <= 0 or text.get_horizontalalignment() != "left":
        return
    lines = text.get_text().split("\n")
    most = int(max(len(line) for line in lines) * room / box.width)
    while most > 1 and text.get_window_extent().x1 > right:
        cut = [line if len(line) <= most else line[: most - 1].rstrip() + "…" for line in lines]
        text.set_text("\n".join(cut))
        most = min(most - 1, int(most * 0.97))
