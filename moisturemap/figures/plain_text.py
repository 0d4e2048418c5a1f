"""Texts of a figure as they can be drawn: the user's words, never markup, in able fonts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.ticker import Formatter

from moisturemap.figures.typeface import drawable, properties_for
from moisturemap.language import ENGLISH, spoken, spoken_language


class SpokenTicks(Formatter):
    """Numbers and days of an axis in the language spoken when they are drawn."""

    def __init__(self, inner: Formatter) -> None:
        self._inner = inner

    def set_axis(self, axis: Any) -> None:
        """Take the axis whose ticks are written."""
        self._inner.set_axis(axis)

    def set_locs(self, locs: list[float]) -> None:
        """Take the places of the ticks."""
        self._inner.set_locs(locs)

    def __call__(self, x: float, pos: int | None = None) -> str:
        """Write one tick."""
        return spoken(self._inner(x, pos))

    def format_ticks(self, values: Any) -> list[str]:
        """Write all ticks of an axis."""
        return [spoken(text) for text in self._inner.format_ticks(values)]

    def get_offset(self) -> str:
        """Write what all ticks share."""
        return spoken(self._inner.get_offset())


def _speak_ticks(figure: Figure) -> None:
    """Let every axis write its ticks in the language: they are made only when it is drawn."""
    for ax in figure.findobj(Axes):
        if not isinstance(ax, Axes):
            continue
        for axis in (ax.xaxis, ax.yaxis):
            inner = axis.get_major_formatter()
            if not isinstance(inner, SpokenTicks):
                axis.set_major_formatter(SpokenTicks(inner))


def settle_texts(figure: Figure) -> None:
    """Make every text of a figure drawable as written.

    Dollar signs are no formula; a script the standard font lacks is set in a font of the system
    that has it, and what no font has becomes a square; controls go.
    """
    if spoken_language() != ENGLISH:
        _speak_ticks(figure)
    for text in _texts(figure):
        if text.get_text():
            text.set_parse_math(False)
            text.set_text(drawable(spoken(text.get_text())))
            if not text.get_text().isascii():
                weight = str(text.get_fontweight())
                text.set_fontproperties(
                    properties_for(text.get_text(), float(text.get_fontsize()), weight)
                )


def _texts(of: Artist) -> Iterator[Text]:
    """Find all texts; an axis that is not drawn is passed over, as asking makes its ticks."""
    if isinstance(of, Text):
        yield of
    unseen = (of.xaxis, of.yaxis) if isinstance(of, Axes) and not of.axison else ()
    for child in of.get_children():
        if child not in unseen:
            yield from _texts(child)
