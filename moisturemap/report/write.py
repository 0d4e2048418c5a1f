"""A report into a file, by the file's suffix."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from moisturemap.acceptance import Decision
from moisturemap.bundles import DryingPlan, Judgement, Study
from moisturemap.checked import require
from moisturemap.errors import OptionError
from moisturemap.language import speaking
from moisturemap.outputs import replaced_file, told
from moisturemap.report.compose import compose
from moisturemap.report.folder_photographs import folder_photographs
from moisturemap.report.material import Material, Supplement
from moisturemap.report.options import ReportOptions
from moisturemap.survey import given_names

Written = tuple[bytes, tuple[str, ...]]


def _pdf(material: Material) -> Written:
    from moisturemap.report.pdf import pdf_bytes

    archive = material.options.pdf == "archive"
    document, note = pdf_bytes(compose(material), material.made, archive=archive)
    return document, (note,) if note else ()


def _docx(material: Material) -> Written:
    from moisturemap.report.docx import docx_bytes

    return docx_bytes(compose(material), material.made), ()


def _html(material: Material) -> Written:
    from moisturemap.report.html import html_text

    return html_text(compose(material)).encode("utf-8"), ()


_WRITERS: dict[str, Callable[[Material], Written]] = {".pdf": _pdf, ".docx": _docx, ".html": _html}
SUFFIXES = tuple(_WRITERS)


def write_report(
    found: Study | Judgement,
    path: str | Path,
    *,
    decision: Decision | None = None,
    drying: DryingPlan | None = None,
    options: ReportOptions | None = None,
    supplement: Supplement | None = None,
) -> tuple[str, ...]:
    """Write a report on a study, or on calibrated tests judged without a scan.

    Parameters
    ----------
    found : Study or Judgement
        A judgement with the study of a scan is reported as that study.
    path : str or Path
        ``.pdf``, ``.docx`` or ``.html``; replaced when it exists.
    decision : Decision, optional
        What the calibrated tests prove.
    drying : DryingPlan, optional
        What dried over the visits, and where the machines should stand.
    options : ReportOptions, optional
    supplement : Supplement, optional
        Photographs, when it is made, pictures in the place of ours.

    Returns
    -------
    tuple of str
        What the reader should know of the file, such as a character its font lacks.

    Raises
    ------
    OptionError
        For another suffix.
    MissingExtra
        If the part that writes this kind of document is not installed.
    """
    require(found, (Study, Judgement), "study", "a Study, as moisturemap.study gives it")
    require(path, (str, Path), "the path of a report", "a path, as text or Path")
    path = Path(path)
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        message = "a report is not written in this format"
        raise OptionError(message, value=path.name, allowed=", ".join(SUFFIXES))
    extra = supplement or Supplement()
    if isinstance(found, Judgement):
        extra = replace(extra, decision=found.decision)
    subject = (found.study or found.survey) if isinstance(found, Judgement) else found
    if decision is not None:
        extra = replace(extra, decision=decision)
    if drying is not None:
        extra = replace(extra, drying=drying)
    material = _with_photographs(
        Material(
            subject,
            options or ReportOptions(),
            replace(extra, made=extra.made or datetime.now(UTC)),
        )
    )
    with speaking(material.options.language, given_names(material.survey)):
        document, notes = _WRITERS[suffix](material)
    with told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    with replaced_file(path) as unfinished:
        unfinished.write_bytes(document)
    return notes


def _with_photographs(material: Material) -> Material:
    """Add the photographs that lie in the folder of the survey; a summary shows none."""
    if material.options.summary:
        return material
    pictures, refused = folder_photographs(material.survey, material.wording)
    given = material.supplement
    more = replace(
        given,
        photographs=(*given.photographs, *pictures),
        not_shown=(*given.not_shown, *refused),
    )
    return replace(material, supplement=more)
