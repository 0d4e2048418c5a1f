"""Every sheet and picture of the reports on every kind of floor; the hardest in each language."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from legibility import faults

from moisturemap.bundles import Findings
from moisturemap.report import ReportOptions, Supplement, pictures, write_report

from .sheets import gaps, sheet_faults

LAST_EMPTY = 0.77
"""Share of the last sheet that may be empty: three quarters, and the seam below it (our choice)."""

PARTED = re.compile(r"(?:Table|Tabelle) \d+, (?:continued|Fortsetzung)")
"""Says that a figure parts a table."""

OPTIONS = {
    "en": ReportOptions(),
    "us": ReportOptions(units="us", paper="Letter", dates="mdy"),
    "de": ReportOptions(units="us", paper="Letter", language="de"),
    "summary": ReportOptions(summary=True, units="us"),
    "kurz": ReportOptions(summary=True, units="us", paper="Letter", language="de"),
}
READ = (
    ("bakery", ("en", "de", "summary")),
    ("clinic", ("en", "de", "summary")),
    ("messy", ("en", "us", "de", "kurz")),
    ("60", ("de", "summary", "kurz")),
    ("flat", ("de",)),
    ("warehouse", ("en",)),
    ("twelve", ("en",)),
    ("five-thousand", ("de",)),
)


SELDOM = (
    ("bakery", "de"),
    ("clinic", "en"),
    ("clinic", "summary"),
    ("messy", "en"),
    ("messy", "de"),
    ("warehouse", "en"),
    ("five-thousand", "de"),
)
"""Documents that stand beside others of their kind and take long: not read by CI."""

EACH = [
    pytest.param(name, one, marks=pytest.mark.slow if (name, one) in SELDOM else ())
    for name, spoken in READ
    for one in spoken
]


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "spoken"), EACH)
def test_every_sheet_can_be_read(
    known: Callable[[str], tuple[Findings, Supplement]],
    name: str,
    spoken: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No table parts after a row, no heading alone, no sheet near empty; each picture legible."""
    pytest.importorskip("typst", reason="needs the extra report")
    found: dict[str, list[str]] = {}
    draw = pictures.drawn

    def drawn_and_read(figure: Any, caption: str, *args: Any, **named: Any) -> Any:
        found[caption] = faults(figure)
        return draw(figure, caption, *args, **named)

    monkeypatch.setattr(pictures, "drawn", drawn_and_read)
    monkeypatch.setattr(pictures, "DPI", 30)  # the PDF takes the vectors
    findings, supplement = known(name)
    path = tmp_path / "report.pdf"
    notes = write_report(
        findings.study,
        path,
        decision=findings.decision,
        drying=findings.drying,
        options=OPTIONS[spoken],
        supplement=supplement,
    )
    assert found
    assert not [one for one in notes if "refused" in one]  # its text would be in pieces
    assert not {caption: words for caption, words in found.items() if words}
    assert sheet_faults(path) == []
    assert gaps(path)[-1] < LAST_EMPTY
    sheets = [page.extract_text() for page in pypdf.PdfReader(path).pages]
    assert not [one for one in sheets if PARTED.search(one)]
    assert not OPTIONS[spoken].summary or len(pypdf.PdfReader(path).pages) <= 2
