"""The report in German: no English word is left in text, tables and figures."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pypdf
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "language"))

from sentences import english_lines

from moisturemap.bundles import DryingPlan, Findings
from moisturemap.language import speaking
from moisturemap.report import ReportOptions, Supplement, write_report
from moisturemap.survey import given_names

SETTINGS = re.compile(r"^(?:mapping|drilling|zones|detect): |drilling: |Matérn")
"""Settings stand as they are typed, and a name is a name."""


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("units", "summary"),
    [
        pytest.param("metric", False, marks=pytest.mark.slow),  # but for its units that of "us"
        ("us", False),
        ("metric", True),
        ("us", True),
    ],
)
def test_nothing_is_left_in_english(
    units: str, summary: bool, findings: Findings, two_visits: DryingPlan, tmp_path: Path
) -> None:
    """Decision, drying and machines in one report, and its summary, with the texts of figures."""
    survey = two_visits.comparison.survey
    names = given_names(survey) | set(survey.notes)
    options = ReportOptions(all_readings=False, language="de", units=units, summary=summary)
    supplement = Supplement(decision=findings.decision, drying=two_visits)
    with speaking("de", names):
        write_report(findings.study, tmp_path / "r.pdf", options=options, supplement=supplement)
    pages = pypdf.PdfReader(tmp_path / "r.pdf").pages
    text = "\n".join(page.extract_text() for page in pages)
    left = [line for line in english_lines(text, "de", names) if not SETTINGS.search(line)]
    assert not left, "\n".join(left)
    if units == "us":
        metric = re.findall(r".*\d (?:m|mm|cm|m2|°C)(?![\w.]).*", text.split("Grundriss\n")[0])
        assert metric == []
