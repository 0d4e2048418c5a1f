"""Pictures of a plan to trace over: photographs, scans and pages of PDF documents.

They are read in the process for reading, like drawings: a damaged picture or page ends that process
alone. Pages are drawn by pypdfium2 (extra ``pdf``), everything else by Pillow.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, MissingExtra, OptionError
from moisturemap.files.apart import read_apart

MOST_PICTURE_BYTES = 25_000_000
"""Largest picture kept [bytes]: that of an attachment of the project file."""
MOST_PIXELS = 60_000_000
"""Largest picture read [pixels]: that of an attachment of the project file."""
MOST_PAGES = 2_000
LONGEST_SIDE = 5_000
"""Longest side of a page as drawn [pixels]; 150 dots per inch on a sheet of 841 mm. Our choice."""
DOTS_PER_INCH = 200.0
"""Resolution small pages are drawn at; our choice."""

POINT_MM = 25.4 / 72.0
"""Unit of a PDF page (ISO 32000-1, 8.3.2.3: 1/72 inch) [mm]."""

PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif", ".pdf")
_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
_AS_THEY_ARE = ("JPEG", "PNG")
_TAKES = "a JPEG, PNG, WebP, TIFF, BMP or GIF picture, or a PDF document"


@dataclass(frozen=True, slots=True)
class PlanPicture:
    """A picture of a plan.

    Attributes
    ----------
    content : bytes
        JPEG or PNG.
    pages : int
        Pages of the document; 1 for a picture.
    sheet_mm_per_pixel : float or None
        Size of a pixel on the sheet [mm], where the file states it; None for a photograph.
    """

    content: bytes
    pages: int = 1
    sheet_mm_per_pixel: float | None = None


def read_plan_picture(path: str | Path, page: int = 1) -> PlanPicture:
    """Read a picture of a plan, or one page of a PDF document.

    Parameters
    ----------
    path : str or Path
        File with one of ``PICTURE_ENDINGS``; judged by its content.
    page : int
        Page of a document, from 1.

    Raises
    ------
    FormatError
        When it is damaged, locked, too large, or no picture.
    OptionError
        When there is no such page.
    MissingExtra
        For a PDF document, when pypdfium2 is not installed.
    """
    return read_apart(_read, Path(path), page)


def _read(path: Path, page: int) -> PlanPicture:
    content = path.read_bytes()
    if not content:
        raise FormatError("the file is empty", source=path.name, allowed=_TAKES)
    if b"%PDF-" in content[:1024]:
        return _page(path, page)
    return _picture(content, path.name)


def _picture(content: bytes, name: str) -> PlanPicture:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged Exif
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                _check_pixels(picture.width * picture.height, name)
                if picture.format in _AS_THEY_ARE and len(content) <= MOST_PICTURE_BYTES:
                    picture.load()
                    return PlanPicture(content)
                return PlanPicture(_packed(picture, name))
    except UnidentifiedImageError:
        raise FormatError(
            "this is no picture that is read here", source=name, allowed=_TAKES
        ) from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        _check_pixels(MOST_PIXELS + 1, name)
        raise
    except (OSError, SyntaxError, ValueError) as error:
        raise FormatError(
            f"the picture is damaged: {str(error)[:200]}",
            source=name,
            allowed="a picture that opens",
        ) from None


def _check_pixels(pixels: int, name: str) -> None:
    if pixels > MOST_PIXELS:
        raise FormatError(
            "the picture has too many pixels",
            source=name,
            allowed=f"up to {MOST_PIXELS // 1_000_000} million pixels: make it smaller first",
        )


def _page(path: Path, page: int) -> PlanPicture:
    try:
        import pypdfium2
    except ImportError:
        raise MissingExtra("Tracing over a page of a PDF document", "pdf") from None
    try:
        document = pypdfium2.PdfDocument(path)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower()
        what = "the document is locked by a password" if locked else "the document is damaged"
        raise FormatError(what, source=path.name, allowed="a PDF that opens without one") from None
    try:
        pages = len(document)
        if not 0 < pages <= MOST_PAGES:
            raise FormatError(
                f"the document has {pages:,} pages",
                source=path.name,
                allowed=f"1 to {MOST_PAGES:,}",
            )
        if not 1 <= page <= pages:
            raise OptionError(
                "there is no such page", source=path.name, value=page, allowed=f"1 to {pages}"
            )
        return _drawn(document[page - 1], pages, path.name)
    except pypdfium2.PdfiumError as error:
        raise FormatError(
            f"page {page} cannot be drawn: {str(error)[:200]}", source=path.name
        ) from None
    finally:
        document.close()


def _drawn(page: Any, pages: int, name: str) -> PlanPicture:
    longest = max(page.get_size())
    if longest <= 0:
        raise FormatError("the page has no size", source=name)
    scale = min(DOTS_PER_INCH / 72.0, LONGEST_SIDE / longest)
    drawn = page.render(scale=scale).to_pil().convert("RGB")
    return PlanPicture(_packed(drawn, name), pages, POINT_MM * longest / max(drawn.size))


def _packed(picture: Any, name: str) -> bytes:
    """Return a picture as PNG, or as JPEG where that would be too large; without what it tells."""
    from PIL import ImageOps

    plain = ImageOps.exif_transpose(picture)
    if plain.mode in ("RGBA", "LA", "PA", "P"):
        from PIL import Image

        plain = plain.convert("RGBA")
        plain = Image.alpha_composite(Image.new("RGBA", plain.size, "white"), plain)
    plain = plain.convert("RGB")
    plain.info.clear()
    for options in ({"format": "PNG"}, {"format": "JPEG", "quality": 85}):
        buffer = io.BytesIO()
        plain.save(buffer, **options)
        if buffer.tell() <= MOST_PICTURE_BYTES:
            return buffer.getvalue()
    raise FormatError(
        "the picture is too large to be kept",
        source=name,
        allowed=f"up to {MOST_PICTURE_BYTES // 1_000_000} MB: make it smaller first",
    )
