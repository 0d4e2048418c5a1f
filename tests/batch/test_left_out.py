"""What a run over a folder leaves out is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from invented_jobs import write_floors

from moisturemap.batch import find_surveys
from moisturemap.batch.left_out import find_left_out
from moisturemap.cli import main


def survey_at(folder: Path) -> None:
    """Leave a folder that looks like a survey."""
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text("", encoding="utf-8")
    (folder / "readings.csv").write_text("", encoding="utf-8")


def table_at(folder: Path, name: str = "tests.csv") -> None:
    """Leave a folder with a table."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text("", encoding="utf-8")


def test_what_looks_like_a_survey_and_is_no_floor_is_named(tmp_path: Path) -> None:
    """Each with its reason; results, copies and a list beside the floors are not."""
    jobs = tmp_path / "jobs"
    survey_at(jobs / "one")
    survey_at(jobs / "one" / "inner")
    table_at(jobs / "one" / "loggers")
    survey_at(jobs / "b" / ".hidden" / "deep")
    table_at(jobs / "b" / ".cache")
    survey_at(tmp_path / "elsewhere")
    (jobs / "link").symlink_to(tmp_path / "elsewhere")
    table_at(jobs / "empty")
    table_at(jobs / "b" / "late", "Readings.XLSX")
    table_at(jobs, "list.csv")
    table_at(jobs / "out")
    table_at(jobs / "earlier-run")
    table_at(jobs / "earlier-run", "manifest.json")
    floors = find_surveys(jobs, without=jobs / "out")
    assert [one.floor for one in floors] == ["one"]
    found = find_left_out(jobs, floors, without=jobs / "out")
    assert [(one.path, one.why) for one in found] == [
        ("b/.hidden/deep", "a hidden folder"),
        ("b/late", "tables, but no survey.toml"),
        ("empty", "tables, but no survey.toml"),
        ("link", "a link, not followed"),
        ("one/inner", "inside the survey one"),
    ]


def test_a_list_leaves_nothing_out(tmp_path: Path) -> None:
    """It names its floors itself."""
    table_at(tmp_path, "jobs.csv")
    assert find_left_out(tmp_path / "jobs.csv", ()) == ()


@pytest.mark.thorough
def test_the_command_names_them(tmp_path: Path) -> None:
    """In words, and in JSON."""
    pytest.importorskip("pyarrow")
    jobs = tmp_path / "jobs"
    table_at(jobs / "empty")
    write_floors(jobs, 0)
    ran = CliRunner().invoke(
        main, ["batch", str(jobs), "--out", str(tmp_path / "out"), "--workers", "1"]
    )
    assert "Left out, none of these floors:" in ran.output
    assert "  empty: tables, but no survey.toml" in ran.output
