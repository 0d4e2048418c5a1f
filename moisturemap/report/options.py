"""What the user may choose about a report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.language import LANGUAGES, spoken_language
from moisturemap.report.wording import UNITS
from moisturemap.units import DATES

PAPERS = {"A4": "a4", "Letter": "us-letter"}
UPRIGHT = {"a4": (174.0, 215.0), "us-letter": (179.9, 198.0)}
"""Width and height a picture may take on an upright page below a heading and a line [mm]."""

PDF_KINDS = ("archive", "plain")


@dataclass(frozen=True, kw_only=True)
@checked
class ReportOptions:
    """Options of a report.

    Attributes
    ----------
    paper : str
        ``"A4"`` or ``"Letter"``.
    units : str
        ``"metric"`` or ``"us"``, also of the drawings; "" for those of the survey.
    dates : str
        How days are written: one of ``DATES``.
    language : str
        Code of the language it is written in: one of ``LANGUAGES``; the one spoken by default.
    number : str
        Number of the report, printed on every sheet; made from survey and visit when empty.
    title : str
        Title instead of the survey's name.
    title_block : mapping of str to str
        Further lines of the title block, such as ``{"Client": ..., "Author": ...}``.
    logo : Path or None
        PNG or JPEG for the head of the first page.
    all_readings : bool
        Whether the appendix lists every reading.
    summary : bool
        Two pages for the client instead of the whole report.
    issued_by : str
        Name of the person who issues it; "" for one that is not issued.
    revisions : sequence of (str, str, str, str)
        Issues that no project file holds: number, when, by whom, and what changed.
    pdf : str
        ``"archive"`` for tagged PDF/A-2a with PDF/UA-1; ``"plain"`` for tagged PDF that may hold
        characters the font lacks.
    """

    paper: str = "A4"
    units: str = ""
    dates: str = "iso"
    language: str = field(default_factory=spoken_language)
    number: str = ""
    title: str = ""
    title_block: Mapping[str, str] = field(default_factory=dict)
    logo: Path | None = None
    all_readings: bool = True
    summary: bool = False
    issued_by: str = ""
    revisions: tuple[tuple[str, str, str, str], ...] = ()
    pdf: str = "archive"

    def __post_init__(self) -> None:
        choices = {"paper": PAPERS, "units": ("", *UNITS), "dates": DATES, "pdf": PDF_KINDS}
        choices["language"] = LANGUAGES
        for name, allowed in choices.items():
            value = getattr(self, name)
            if value not in allowed:
                message = f"no such {name} for a report"
                raise OptionError(message, value=value, allowed=", ".join(allowed))
