"""Every sheet and picture of the reports on every kind of floor, in both languages and units."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "language"))

from blocks_of_rooms import block_of_rooms
from legibility import faults
from sentences import english_lines

import moisturemap as mm
from moisturemap.bundles import Findings
from moisturemap.language import speaking
from moisturemap.report import ReportOptions, Supplement, pictures, write_report
from moisturemap.survey import given_names
from moisturemap.workflow.demo import day_after, demo_plans
from moisturemap.workflow.investigate import investigate
from moisturemap.workflow.judge import judge_or_map

from .kinds import KINDS
from .sheets import sheet_faults

DEMOS = ("bakery", "flat", "warehouse", "clinic")
SPOKEN = (ReportOptions(), ReportOptions(units="us", paper="Letter", language="de"))
SUMMARY = ReportOptions(summary=True, units="us")


@pytest.fixture(scope="module", params=[*DEMOS, "60", *KINDS])
def known(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Findings, Supplement]:
    """Study a floor of the demo, a building of sixty rooms, or a record of another hard kind."""
    name = request.param
    folder = tmp_path_factory.mktemp("block")
    if name in DEMOS:
        path = demo_plans() / name
    else:
        path = KINDS[name](folder) if name in KINDS else block_of_rooms(folder, int(name))
    survey = mm.read_survey(path)
    findings = judge_or_map(survey, as_of=day_after(survey))
    answers = path / "answers.toml"
    cause = investigate(survey, answers, study=findings.study) if answers.exists() else None
    return findings, Supplement(investigation=cause)


@pytest.mark.thorough
@pytest.mark.parametrize("options", [*SPOKEN, SUMMARY], ids=["en", "de", "summary"])
def test_every_sheet_can_be_read(
    known: tuple[Findings, Supplement],
    options: ReportOptions,
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
    findings, supplement = known
    path = tmp_path / "report.pdf"
    write_report(
        findings.study,
        path,
        decision=findings.decision,
        drying=findings.drying,
        options=options,
        supplement=supplement,
    )
    assert found
    assert not {caption: words for caption, words in found.items() if words}
    assert sheet_faults(path) == []


DOCUMENTS = r"(?:[A-Z]+ ?[A-Z]?\d[\w-]*(?::\d{4})?(?:\+A\d)?|CFR|section|Abschnitt|OSHA) "
"""What a clause follows that has points of its own; versions stand behind the name of a program."""
SETTINGS = re.compile(r"^(?:mapping|drilling|zones|detect): |drilling: |Matérn|^Versionen|^python ")
"""Lines that stand as the program and its settings are typed."""


def texts_of(path: Path) -> list[str]:
    """Return the lines of a report as web page, a cell of a table each."""
    page = re.sub(r"(?s)<style.*?</style>|<svg.*?</svg>|<wbr>|\u200b", "", path.read_text("utf-8"))
    parted = re.sub(
        r"</?(?:tr|t[dh]|p|li|h\d|table|d[tdl]|caption|figcaption|div)[^>]*>", "\n", page
    )
    lines = unescape(re.sub(r"<[^>]+>", "", parted)).splitlines()
    return [told for line in lines if (told := " ".join(line.split()))]


def without(names: set[str], line: str) -> str:
    """Return a line without what the user named, fingerprints of files and figures alone.

    A cell of figures alone may be the label of a reading, which stays as it was written.
    """
    if re.fullmatch(r"[\d.]+", line):
        return ""
    for name in sorted(names, key=len, reverse=True):
        line = line.replace(name, "")
    return re.sub(r"\b[0-9a-f]{32,}\b", "", line)


@pytest.mark.thorough
@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_german_report_is_german(
    known: tuple[Findings, Supplement], units: str, tmp_path: Path
) -> None:
    """No point in a number, no comma that could be its decimal sign, no English word."""
    findings, supplement = known
    names = given_names(findings.survey) | set(findings.survey.notes)
    options = ReportOptions(language="de", units=units, all_readings=False)
    supplement = replace(supplement, decision=findings.decision, drying=findings.drying)
    with speaking("de", names):
        path = tmp_path / "report.html"
        write_report(findings.study, path, options=options, supplement=supplement)
    lines = [without(names, one) for one in texts_of(path) if not SETTINGS.search(one)]
    points = re.compile(r"(?<![\d.,:])\b\d+\.\d+\b(?!\.\d)")
    assert [one for one in lines if points.search(re.sub(DOCUMENTS + r"[\d.]+", "", one))] == []
    assert [one for one in lines if re.search(r"\d,\d+, ?\d", one)] == []
    assert english_lines("\n".join(lines), "de", names) == []
