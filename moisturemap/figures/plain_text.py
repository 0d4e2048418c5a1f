"""Texts of a figure as they can be drawn: the user's words, never markup, in able fonts."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.text import Text

from moisturemap.figures.typeface import drawable, properties_for
from moisturemap.language import spoken


def settle_texts(figure: Figure) -> None:
    """Make every text of a figure drawable as written.

    Dollar signs are no formula; a script the standard font lacks is set in a font of the system
    that has it, and what no font has becomes a square; controls that turn the direction of writing
    go.
    """
    for text in figure.findobj(Text):
        if isinstance(text, Text) and text.get_text():
            text.set_parse_math(False)
            text.set_text(drawable(spoken(text.get_text())))
            if not text.get_text().isascii():
                weight = str(text.get_fontweight())
                text.set_fontproperties(
                    properties_for(text.get_text(), float(text.get_fontsize()), weight)
                )
