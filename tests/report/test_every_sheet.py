"""Every sheet and picture of the reports on every kind of floor, in both languages and units."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from blocks_of_rooms import block_of_rooms
from legibility import faults

import moisturemap as mm
from moisturemap.bundles import Findings
from moisturemap.report import ReportOptions, Supplement, pictures, write_report
from moisturemap.workflow.demo import day_after, demo_plans
from moisturemap.workflow.investigate import investigate
from moisturemap.workflow.judge import judge_or_map

from .sheets import sheet_faults

DEMOS = ("bakery", "flat", "warehouse", "clinic")
SPOKEN = (ReportOptions(), ReportOptions(units="us", paper="Letter", language="de"))
SUMMARY = ReportOptions(summary=True, units="us")


@pytest.fixture(scope="module", params=[*DEMOS, "60"])
def known(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Findings, Supplement]:
    """Study a floor of the demo, or an invented building of sixty rooms."""
    name = request.param
    demo = name in DEMOS
    folder = tmp_path_factory.mktemp("block")
    path = demo_plans() / name if demo else block_of_rooms(folder, int(name))
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
