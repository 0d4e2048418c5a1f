"""Sizes and spaces of the styles of a word-processor document."""

from __future__ import annotations

from typing import NamedTuple

MM_PER_POINT = 25.4 / 72

LINE_SPACING = 1.1
"""Lines of text are so many times as high as the font asks for."""


class Style(NamedTuple):
    """A style of paragraphs: size and spaces [pt], and whether it stays with what follows."""

    size: float
    bold: bool
    muted: bool
    before: float
    after: float
    keep: bool


STYLES = {
    "Normal": Style(9.5, False, False, 0, 5, False),
    "Title": Style(20, True, False, 0, 0, True),
    "Subtitle": Style(11, False, True, 0, 8, True),
    "Heading 1": Style(14, True, False, 14, 4, True),
    "Appendix Heading": Style(14, True, False, 14, 4, True),
    "Contents Heading": Style(10.5, True, False, 10, 3, True),
    "Contents Entry": Style(8.5, False, False, 0, 1, False),
    "Heading 2": Style(10.5, True, False, 6, 2, True),
    "Caption": Style(8.5, False, True, 6, 4, False),
    "List Bullet": Style(9.5, False, False, 0, 3, False),
    "Term": Style(9.5, False, False, 0, 3, False),
    "Note": Style(8, False, True, 2, 6, False),
    "Warning": Style(9.5, True, False, 4, 8, False),
    "Verdict": Style(13, True, False, 4, 0, True),
    "Verdict Text": Style(9.5, False, False, 0, 8, False),
    "Cell": Style(8, False, False, 1.5, 1.5, False),
    "Dense Cell": Style(6.5, False, False, 0.5, 0.5, False),
    "Picture": Style(9.5, False, False, 4, 2, True),
    "Signature Line": Style(8, False, True, 18, 0, False),
}


class Frame(NamedTuple):
    """Lines beside paragraphs of a style: their sides, how thick they are [pt], and a filling."""

    sides: str
    thick: float
    fill: str = ""

    def inset(self, side: str) -> float:
        """Return how far words stand from the margin the line of a side stands on [pt]."""
        return self.thick + FRAME_GAP if side in self.sides.split() else 0.0


FRAME_GAP = 6
"""Between a line and the words beside it [pt]."""

FRAMES = {
    "Warning": Frame("top left bottom right", 1),
    "Verdict": Frame("left", 3, "EEF1F3"),
    "Verdict Text": Frame("left", 3, "EEF1F3"),
    "Signature Line": Frame("top between", 0.75),
}

KINDS = {"body": "Normal", "lead": "Heading 2", "note": "Note", "warning": "Warning"}
"""Style of each kind of paragraph."""
