"""A floor with calibrated tests and no scan gets a report that says what nobody knows."""

from __future__ import annotations

import dataclasses
from datetime import timedelta
from pathlib import Path

import pytest

from moisturemap.bundles import Judgement
from moisturemap.report import ReportOptions, write_report
from moisturemap.report.compose import compose
from moisturemap.report.material import Material, Supplement
from moisturemap.survey import Survey
from moisturemap.workflow.judge import judge_alone

from .conftest import WHEN
from .sheets import sheet_faults


@pytest.fixture(scope="module")
def alone(floor: Survey) -> Judgement:
    """The invented store as if nobody had scanned it, its plan without lines."""
    plan = dataclasses.replace(floor.plan, lines=())
    unread = dataclasses.replace(floor, plan=plan, readings=floor.readings.head(0))
    return judge_alone(unread, as_of=WHEN.date() + timedelta(days=5))


def _said(alone: Judgement, **options: bool) -> str:
    supplement = Supplement(decision=alone.decision)
    content = compose(Material(alone.survey, ReportOptions(**options), supplement))
    return " ".join(str(block) for one in content.sections for block in one.blocks)


@pytest.mark.thorough
@pytest.mark.parametrize("summary", [False, True])
def test_it_says_that_nothing_is_known_between_the_tests(alone: Judgement, summary: bool) -> None:
    """Verdict and tests are there; no word of a map, a zone or a hole that a scan would give."""
    said = _said(alone, summary=summary)
    assert "nothing is known between the tested places" in said
    assert "May it be covered?" in said
    assert "Scan the floor with a relative meter" in said
    for word in ("wet level", "Wet zones", "Proposed holes", "the map cannot tell"):
        assert word not in said


@pytest.mark.thorough
def test_a_value_is_shown_as_it_was_read(alone: Judgement) -> None:
    """A result of 84.96 is not printed as 85 beside a limit of 85."""
    tests = alone.survey.tests.assign(value=[84.96, 70.0, 72.0])
    found = judge_alone(
        dataclasses.replace(alone.survey, tests=tests), as_of=WHEN.date() + timedelta(days=5)
    )
    said = _said(found)
    assert "84.96 %RH" in said


@pytest.mark.thorough
@pytest.mark.parametrize("suffix", ["pdf", "docx", "html"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_it_is_written_in_every_format(
    alone: Judgement, suffix: str, language: str, tmp_path: Path
) -> None:
    """The three documents, in both languages; the sheets of the PDF can be read."""
    pytest.importorskip("typst" if suffix == "pdf" else "docx", reason="needs the extra report")
    path = tmp_path / f"report.{suffix}"
    assert write_report(alone, path, options=ReportOptions(language=language)) == ()
    assert path.stat().st_size > 10_000
    if suffix == "pdf":
        assert sheet_faults(path) == []
