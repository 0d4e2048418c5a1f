"""A report as tagged PDF, by the typst typesetter."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from datetime import datetime
from importlib import resources
from importlib.util import find_spec
from pathlib import Path

from moisturemap.errors import FormatError, MissingExtra, MoistureMapError
from moisturemap.figures.typeface import Typeface, typefaces_for
from moisturemap.report.content import Content
from moisturemap.report.plain import Files, plain_content

ARCHIVE = ["a-2a", "ua-1"]
"""PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1)."""

FLOATING = ("freely", "in its section", "nowhere")
"""Where a picture may float to: to the next room for it, though a section ends before; not past the
end of a section of many; or not at all. Each is tried where the one before lost text."""

FAMILIES = ["DejaVu Sans"]

_NO_GLYPH = re.compile(r"could not be displayed|glyph|character", re.IGNORECASE)


def font_folder() -> Path:
    """Return the folder of DejaVu Sans that comes with matplotlib, its licence beside it."""
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise MissingExtra("the type of the report", "report")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"


def pdf_bytes(content: Content, made: datetime, *, archive: bool = True) -> tuple[bytes, str]:
    """Set a report.

    Parameters
    ----------
    content : Content
    made : datetime
        Written into the file, so that the same report gives the same bytes.
    archive : bool
        Whether to ask for PDF/A-2a and PDF/UA-1.

    Returns
    -------
    pdf : bytes
    note : str
        Why it is not an archive PDF although one was asked for; "" when it is.

    Raises
    ------
    MissingExtra
        If typst is not installed.
    FormatError
        If the report cannot be set at all.

    Notes
    -----
    Where pictures float, typst 0.15 can drop lines of a list that goes on between two of them. The
    standard then finds the list broken, and the report is set again, at last with every picture
    where it is named; so is one that no standard checks.
    """
    try:
        import typst
    except ImportError as error:
        raise MissingExtra("the PDF report", "report") from error
    files = Files()
    plain = plain_content(content, files)
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        for name, picture in files.content.items():
            (root / name).write_bytes(picture)
        template = resources.files("moisturemap.report").joinpath("template.typ").read_bytes()
        (root / "report.typ").write_bytes(template)
        note = ""
        for floating in FLOATING if archive else ():
            try:
                return _compile(typst, root, {**plain, "floating": floating}, made, ARCHIVE), ""
            except typst.TypstError as refusal:
                # The standard refuses what its font cannot draw; the reader is told, not left out.
                note = f"{_reason(refusal)}. Written as plain tagged PDF instead of PDF/A-2a."
                if _NO_GLYPH.search(refusal.message):
                    break
        try:
            return _compile(typst, root, {**plain, "floating": FLOATING[-1]}, made, None), note
        except typst.TypstError as refusal:
            message = f"the report cannot be set: {refusal.message}"
            raise FormatError(message) from refusal


def _compile(
    typst: object, root: Path, plain: dict[str, object], made: datetime, standards: list[str] | None
) -> bytes:
    # Archive: only a font that is part of the report. Plain: boxes rather than silent gaps.
    faces = typefaces_for(_letters(plain))
    families = [*FAMILIES, *(one.family for one in faces)]
    look = {"fonts": families, "fallback": standards is None}
    (root / "content.json").write_text(json.dumps({**plain, **look}), encoding="utf-8")
    compiled = typst.compile(  # type: ignore[attr-defined]
        str(root / "report.typ"),
        root=str(root),
        font_paths=[str(font_folder()), str(_joined(root, faces))],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=standards or [],
        timestamp=int(made.timestamp()),
    )
    if not isinstance(compiled, bytes):
        message = "the typesetter gave no document"
        raise MoistureMapError(message)
    return compiled


def _joined(root: Path, faces: tuple[Typeface, ...]) -> Path:
    """Put the fonts that join ours into a folder of their own."""
    folder = root / "fonts"
    folder.mkdir(exist_ok=True)
    for one in faces:
        target = folder / one.path.name
        if not target.exists():
            shutil.copyfile(one.path, target)
    return folder


def _letters(plain: object) -> str:
    """Return every letter of a report."""
    return "".join(sorted(set(json.dumps(plain, ensure_ascii=False))))


def _reason(refusal: object) -> str:
    message = str(getattr(refusal, "message", refusal)).strip().rstrip(".")
    if _NO_GLYPH.search(message):
        return f"The report's font lacks a character ({message})"
    return f"The archive standard refused the report ({message})"
