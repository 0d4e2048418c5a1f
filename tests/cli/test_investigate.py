"""``moisturemap investigate`` as a user meets it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from moisturemap.cli import main

FLAT = Path(__file__).parents[2] / "demo_plans" / "flat"


def run(*words: str):
    return CliRunner().invoke(main, ["investigate", *words])


@pytest.mark.thorough
def test_a_floor_without_tests_gets_rules_and_says_so(tmp_path: Path) -> None:
    """No depth, nothing firm; the questions and the next steps are listed."""
    result = run(str(FLAT), "--json", "--out", str(tmp_path))
    assert result.exit_code == 0, result.stderr
    told = json.loads(result.stdout)
    assert told["place"] is None
    assert all(row["standing"] != "points-to" for row in told["causes"])
    assert {one["key"] for one in told["questions"]} >= {"membrane", "flood"}
    assert told["next_measurements"]
    assert (tmp_path / "causes.csv").is_file()
    assert (tmp_path / "next_measurements.csv").is_file()


@pytest.mark.thorough
def test_by_default_it_fits_a_screen_and_danger_comes_first() -> None:
    """Twenty lines: caution, finding, what to measure; the rest with --full."""
    lines = run(str(FLAT)).stdout.splitlines()
    assert len(lines) <= 20
    assert "live leak" in lines[2]
    assert "What to do" in lines
    assert lines[-1] == "More with --full."


def test_answers_that_cannot_be_used_are_refused_in_one_line(tmp_path: Path) -> None:
    """File, question, value and choices; nothing is computed."""
    answers = tmp_path / "answers.toml"
    answers.write_text('[answers]\nmembrane = "fine"\n', encoding="utf-8")
    result = run(str(FLAT), "--answers", str(answers))
    assert result.exit_code == 1
    for word in ("answers.toml", "membrane", "fine", "seen-intact"):
        assert word in result.stderr
    answers.write_text("membrane = none", encoding="utf-8")
    assert "not TOML" in run(str(FLAT), "--answers", str(answers)).stderr
    answers.write_text('membrane = "none"', encoding="utf-8")
    assert "[answers]" in run(str(FLAT), "--answers", str(answers)).stderr
    assert "no such file" in run(str(FLAT), "--answers", str(tmp_path / "x.toml")).stderr


def test_a_survey_that_holds_nothing_is_refused(tmp_path: Path) -> None:
    """Neither scan nor test."""
    for name in ("survey.toml", "plan.geojson"):
        shutil.copy(FLAT / name, tmp_path)
    text = (tmp_path / "survey.toml").read_text(encoding="utf-8")
    start = text.index("readings = [")
    (tmp_path / "survey.toml").write_text(text[:start], encoding="utf-8")
    result = run(str(tmp_path))
    assert result.exit_code == 1
    assert "no scan and no test" in result.stderr
