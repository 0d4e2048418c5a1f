"""A report as tagged PDF, by the typst typesetter."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from dataclasses import replace
from datetime import datetime
from importlib import resources
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, MissingExtra, MoistureMapError
from moisturemap.figures.typeface import Typeface, typefaces_for
from moisturemap.report.content import Content, Section
from moisturemap.report.flow import end_of_figures, flowed, with_figures_early
from moisturemap.report.keeping import leading
from moisturemap.report.pdf_height import Measured, marks_of
from moisturemap.report.place import floats
from moisturemap.report.plain import Files, plain_content

ARCHIVE = ["a-2a", "ua-1"]
"""PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1)."""

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
    """
    try:
        import typst
    except ImportError as error:
        raise MissingExtra("the PDF report", "report") from error
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        template = resources.files("moisturemap.report").joinpath("template.typ").read_bytes()
        (root / "report.typ").write_bytes(template)
        files = Files()
        placed = replace(content, sections=_placed(typst, root, content))
        plain = {**plain_content(placed, files), "measured": False}
        for name, picture in files.content.items():
            (root / name).write_bytes(picture)
        note = ""
        if archive:
            try:
                return _compile(typst, root, plain, made, ARCHIVE), ""
            except typst.TypstError as refusal:
                # The standard refuses what its font cannot draw; the reader is told, not left out.
                note = f"{_reason(refusal)}. Written as plain tagged PDF instead of PDF/A-2a."
        try:
            return _compile(typst, root, plain, made, None), note
        except typst.TypstError as refusal:
            message = f"the report cannot be set: {refusal.message}"
            raise FormatError(message) from refusal


def _placed(typst: Any, root: Path, content: Content) -> tuple[Section, ...]:
    """Return the sections with their figures where they part no table and leave little blank."""
    early = with_figures_early(content.sections)
    sections = tuple(replace(one, blocks=leading(one.blocks, content.paper)) for one in early)
    end = end_of_figures(sections)
    if not any(floats(one) for section in sections[:end] for one in section.blocks):
        return sections
    # What follows the last figure counts in the contents only.
    bare = (*sections[:end], *(replace(one, blocks=()) for one in sections[end:]))
    plain = plain_content(replace(content, sections=bare), Files())
    look = _written(root, {**plain, "measured": True}, fallback=True)
    told = json.loads(typst.query(str(root / "report.typ"), "<mark>", field="value", **look))
    return flowed(sections, content.paper, at_once=True, heights=Measured(marks_of(told)))


def _compile(
    typst: Any, root: Path, plain: dict[str, object], made: datetime, standards: list[str] | None
) -> bytes:
    # Archive: only a font that is part of the report. Plain: boxes rather than silent gaps.
    look = _written(root, plain, fallback=standards is None)
    compiled = typst.compile(
        str(root / "report.typ"),
        format="pdf",
        pdf_standards=standards or [],
        timestamp=int(made.timestamp()),
        **look,
    )
    if not isinstance(compiled, bytes):
        message = "the typesetter gave no document"
        raise MoistureMapError(message)
    return compiled


def _written(root: Path, plain: dict[str, object], *, fallback: bool) -> dict[str, Any]:
    """Write what is to be set, and return where the typesetter finds it and its fonts."""
    faces = typefaces_for(_letters(plain))
    families = [*FAMILIES, *(one.family for one in faces)]
    look = {"fonts": families, "fallback": fallback}
    (root / "content.json").write_text(json.dumps({**plain, **look}), encoding="utf-8")
    return {
        "root": str(root),
        "font_paths": [str(font_folder()), str(_joined(root, faces))],
        "ignore_system_fonts": True,
    }


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
