"""How large a picture stands on paper."""

from __future__ import annotations

from moisturemap.report.content import Picture
from moisturemap.report.options import UPRIGHT

SMALL = 0.42
"""Share of the height of a page for a photograph."""


def room_for(picture: Picture, paper: str) -> tuple[float, float]:
    """Return width and height [mm] a picture takes on paper: as drawn, or as much as fits."""
    across, up = picture.size
    width, height = UPRIGHT[paper]
    if not picture.width_mm:
        height *= SMALL
    scale = min((picture.width_mm or width) / across, width / across, height / up)
    return scale * across, scale * up
