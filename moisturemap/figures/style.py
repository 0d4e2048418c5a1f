"""Colours, type and sizes that every figure shares.

The ramp runs light = dry to dark = wet. Its steps fall evenly in CIE L* from 96 to 17, from sand
through clear to deep blue, so that order survives greyscale printing and the common colour-vision
deficiencies; it holds no green, which a reader would take for "passed".
"""

from __future__ import annotations

from matplotlib.colors import LinearSegmentedColormap, ListedColormap
from matplotlib.font_manager import FontProperties

RAMP = (
    "#fff1db",
    "#c9d6d7",
    "#91bace",
    "#569fc2",
    "#3280b0",
    "#09619a",
    "#194375",
    "#1a2752",
)
"""Eight steps, dry to wet."""

INK = "#1c2329"
MUTED = "#5c6770"
PAPER = "#ffffff"
SET_ASIDE = "#8a939a"
WARNING = "#b3261e"
"""Anomalies and cautions; always with a shape or hatch of their own, never by colour alone."""
DRILL = "#c2410c"

FONT = ["DejaVu Sans"]
"""Comes with matplotlib, so that figures look alike on every machine."""


def moisture_ramp() -> LinearSegmentedColormap:
    """Return the continuous ramp, light = dry to dark = wet."""
    return LinearSegmentedColormap.from_list("moisture", RAMP)


def band_colours(count: int) -> ListedColormap:
    """Return one colour for each of `count` contour bands, dry to wet."""
    ramp = moisture_ramp()
    steps = [ramp(0.5 if count == 1 else i / (count - 1)) for i in range(count)]
    return ListedColormap(steps)


def font(size: float, weight: str = "normal") -> FontProperties:
    """Return the text font at a size [pt]."""
    return FontProperties(family=FONT, size=size, weight=weight)
