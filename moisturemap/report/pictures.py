"""Pictures of a report: the figures of a study, a logo, photographs."""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

from moisturemap.errors import FormatError
from moisturemap.report.content import Picture
from moisturemap.workflow import Study

DPI = 200
LARGEST_SIDE = 4000
"""Longest side of a photograph in a report [pixels]; larger ones are made smaller."""


def study_pictures(study: Study) -> tuple[Picture, ...]:
    """Draw the map of a study."""
    from moisturemap.figures import map_figure, save_figure

    caption = f"Relative readings of visit {study.visit.id}"
    alt = f"Map of the rooms in bands from light (low) to dark (high). {study.wet.statement}"
    with tempfile.TemporaryDirectory() as folder:
        save_figure(map_figure(study), Path(folder), "map", ("svg", "png"), DPI)
        svg, png = (Path(folder, f"map.{kind}").read_bytes() for kind in ("svg", "png"))
    return (Picture(png, svg, caption, alt, _size(png), wide=True),)


def _size(content: bytes) -> tuple[int, int]:
    from PIL import Image

    with Image.open(io.BytesIO(content)) as picture:
        return picture.size


def photograph(content: bytes, caption: str, alt: str = "") -> Picture:
    """Return a photograph for a report, turned upright and made no larger than print needs.

    Raises
    ------
    FormatError
        If the bytes are neither JPEG nor PNG.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content), formats=["JPEG", "PNG"]) as picture:
            upright = ImageOps.exif_transpose(picture)
            upright.thumbnail((LARGEST_SIDE, LARGEST_SIDE))
            kind = "PNG" if picture.format == "PNG" else "JPEG"
            buffer = io.BytesIO()
            # Written anew: what a camera or program hid beside the picture stays out.
            upright.convert("RGBA" if kind == "PNG" else "RGB").save(buffer, kind)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        message = "the picture cannot be read"
        raise FormatError(message, source=caption, allowed="JPEG or PNG") from error
    clean = buffer.getvalue()
    return Picture(clean, b"", caption, alt or caption, _size(clean))


def logo(path: Path) -> Picture:
    """Return the user's logo."""
    if not path.is_file():
        message = "there is no such logo"
        raise FormatError(message, source=str(path), allowed="a PNG or JPEG file")
    return photograph(path.read_bytes(), path.name, "Logo")
