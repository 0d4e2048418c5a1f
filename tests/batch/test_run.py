"""A run over many floors: complete, resumable, and not stopped by one bad floor."""

from __future__ import annotations

import os
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import geopandas as gpd
import pandas as pd
import pytest
from click.testing import CliRunner
from invented_jobs import OPERATOR

from moisturemap.batch import TABLES, BatchOptions, floors_known, run_batch, workers
from moisturemap.batch.listing import FloorSource
from moisturemap.batch.workers import DIED, Task, on_this_machine
from moisturemap.cli import main
from moisturemap.errors import Cancelled

pytestmark = pytest.mark.thorough

DAY = date(2026, 3, 20)
BAKERY = Path(__file__).resolve().parents[2] / "demo_plans" / "bakery"


def test_every_floor_is_done_and_the_broken_one_is_told(finished: Any) -> None:
    """The rest goes on; the failure holds the refusal of the file itself."""
    out, result = finished
    assert (result.floors, result.done, result.kept) == (4, 3, 0)
    assert [floor for floor, _ in result.failures] == ["broken"]
    failures = pd.read_csv(out / "failures.csv")
    assert list(failures.columns[:2]) == ["survey", "error"]
    assert "survey.toml" in failures["error"][0]
    assert len(pd.read_parquet(out / "floors.parquet")) == 3


def test_tables_have_the_columns_of_the_schema_as_parquet_and_csv(finished: Any) -> None:
    """Each twin holds the same rows; shapes are GeoParquet in metres of the plan."""
    out, _ = finished
    for name, columns in TABLES.items():
        names = [one.name for one in columns]
        spatial = "geometry" in names
        path = out / f"{name}.parquet"
        table = gpd.read_parquet(path) if spatial else pd.read_parquet(path)
        assert list(table.columns) == names
        twin = pd.read_csv(out / f"{name}.csv")
        assert len(twin) == len(table)
        assert list(twin.columns) == [one for one in names if one != "geometry"]
    zones = gpd.read_parquet(out / "zones.parquet")
    assert zones.crs is None
    assert set(zones["standing"]) <= {"wet", "contested"}
    assert abs(zones.geometry.area - zones["area_m2"].astype(float)).max() < 0.05


def test_a_database_reads_the_dataset(finished: Any) -> None:
    """DuckDB as the outside reader."""
    out, _ = finished
    rows = duckdb.sql(f"select floor, wet_m2 from '{out / 'floors.parquet'}' order by 1").fetchall()
    assert [floor for floor, _ in rows] == ["f0", "f1", "f2"]


def test_a_second_run_does_only_what_is_missing_or_changed(
    floors: Path, finished: Any, tmp_path: Path
) -> None:
    """A changed reading, a floor taken away, a broken file mended: nothing else is done again."""
    jobs, out = tmp_path / "jobs", tmp_path / "out"
    shutil.copytree(floors, jobs)
    shutil.copytree(finished[0], out)
    again = run_batch(jobs, out, options=BatchOptions(workers=1), today=DAY)
    assert (again.done, again.kept, len(again.failures)) == (0, 3, 1), "tried again, not done"
    readings = next((jobs / "f1").glob("*reading*.csv"))
    lines = readings.read_text().splitlines()
    readings.write_text("\n".join(lines[:-1]) + "\n")
    shutil.rmtree(jobs / "broken")
    shutil.rmtree(jobs / "f2")
    changed = run_batch(jobs, out, options=BatchOptions(workers=1), today=DAY)
    assert (changed.floors, changed.done, changed.kept) == (2, 1, 1)
    table = pd.read_parquet(out / "floors.parquet").set_index("floor")
    before = pd.read_parquet(finished[0] / "floors.parquet").set_index("floor")
    assert table.loc["f1", "readings"] == before.loc["f1", "readings"] - 1
    assert list(table.index) == ["f0", "f1"]


def test_what_is_known_of_floors_is_told_without_studying(
    floors: Path, finished: Any, tmp_path: Path
) -> None:
    """Done, failed, changed since and waiting are told apart; nothing is written by looking."""
    jobs, out = tmp_path / "jobs", tmp_path / "out"
    shutil.copytree(floors, jobs)
    assert {one["state"] for one in floors_known(jobs, out, today=DAY)} == {"waiting"}
    assert not out.exists()
    shutil.copytree(finished[0], out)
    (jobs / "f1" / "survey.toml").write_text((jobs / "f2" / "survey.toml").read_text() + "\n")
    shutil.copytree(jobs / "f0", jobs / "new")
    known = {one["floor"]: one for one in floors_known(jobs, out, today=DAY)}
    states = {floor: one["state"] for floor, one in known.items()}
    assert states == {
        "broken": "failed",
        "f0": "done",
        "f1": "changed",
        "f2": "done",
        "new": "waiting",
    }
    assert "survey.toml" in known["broken"]["error"]
    assert known["f0"]["area_m2"] == 30.0
    assert known["f0"]["map"]["width"] > 0
    assert known["new"]["map"] is None


def test_a_folder_that_cannot_be_written_is_told_before_any_floor_is_done(
    floors: Path, tmp_path: Path
) -> None:
    """Not after the first floor's minutes."""
    (tmp_path / "taken").write_text("a file, no folder")
    said: list[str] = []
    with pytest.raises(OSError, match="taken"):
        run_batch(floors, tmp_path / "taken", progress=lambda phrase, _: said.append(phrase))
    assert said == []


def test_no_floor_in_a_folder_is_an_empty_list(tmp_path: Path) -> None:
    """An app that has no job yet shows an empty page."""
    assert floors_known(tmp_path, tmp_path / "out") == []


def test_what_people_decided_about_a_project_file_is_kept(floors: Path, tmp_path: Path) -> None:
    """A thing dismissed on the job is floor again in the table of floors, as it is in the app."""
    from moisturemap.batch.one_floor import do_floor
    from moisturemap.store import open_project
    from moisturemap.workflow.pack import pack_survey

    path = tmp_path / "job.gpkg"
    pack_survey(floors / "f0", path)
    before = do_floor(FloorSource("job", path), BatchOptions(), tmp_path, DAY, "job.gpkg")
    assert before["error"] == ""
    mark = {
        "verdict": "marked",
        "kind": "mesh",
        "places": [[1.5, 1.5], [4.5, 1.5], [4.5, 3.5], [1.5, 3.5]],
        "why": "mesh seen",
        "who": "A. Example",
        "when": "2026-03-20",
    }
    with open_project(path, writable=True) as project:
        project.set("decisions", {"anomalies": [mark], "holes": []}, "A. Example")
    after = do_floor(FloorSource("job", path), BatchOptions(), tmp_path, DAY, "job.gpkg")
    assert after["fingerprint"] != before["fingerprint"]
    assert after["rows"]["floors"][0]["used"] < before["rows"]["floors"][0]["used"]


@pytest.mark.thorough
def test_what_is_finished_before_a_stop_is_kept(floors: Path, tmp_path: Path) -> None:
    """The next run goes on from there."""

    def stop(phrase: str, _: float) -> None:
        if phrase.startswith("1 of"):
            raise Cancelled

    with pytest.raises(Cancelled):
        run_batch(floors, tmp_path, options=BatchOptions(workers=1), today=DAY, progress=stop)
    result = run_batch(floors, tmp_path, options=BatchOptions(workers=1), today=DAY)
    assert result.kept + result.done == 3
    assert result.floors == 4


def die_on_f1(task: Task) -> dict[str, Any]:
    """Stand for a floor whose file takes the process along."""
    if task.source.floor == "f1":
        os._exit(9)
    return task.failed("done")


@pytest.mark.thorough
def test_a_floor_that_kills_its_process_is_one_failure(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The others are done; it is tried once more alone, then given up with the reason."""
    monkeypatch.setattr(workers, "_do", die_on_f1)
    tasks = [
        Task(FloorSource(f"f{i}", tmp_path / f"f{i}"), BatchOptions(), tmp_path, DAY, f"f{i}")
        for i in range(4)
    ]
    found = {one["floor"]: one["error"] for one in on_this_machine(tasks, 2)}
    assert found == {"f0": "done", "f1": DIED, "f2": "done", "f3": "done"}


def test_the_command_exits_1_when_some_floor_failed(floors: Path, finished: Any) -> None:
    """Scripts see it; the failure is printed."""
    answer = CliRunner().invoke(
        main, ["batch", str(floors), "--out", str(finished[0]), "--workers", "1"]
    )
    assert answer.exit_code == 1
    assert "broken" in answer.output


def test_no_name_of_an_operator_leaves_with_the_dataset(finished: Any) -> None:
    """As the page on limits says: looked for in the bytes of each file, and in the tables."""
    out, _ = finished
    for path in out.rglob("*"):
        if path.is_file():
            assert OPERATOR.encode() not in path.read_bytes(), path.name
    for table in out.glob("*.parquet"):
        words = pd.read_parquet(table).drop(columns="geometry", errors="ignore")
        assert not words.astype(str).eq(OPERATOR).any(axis=None)


def test_a_floor_that_could_not_be_mapped_has_no_wet_area_rather_than_none(
    floors: Path, tmp_path: Path
) -> None:
    """Every reading at full scale: nothing is mapped, so wet_m2 is missing, never 0."""
    jobs = tmp_path / "jobs"
    shutil.copytree(floors / "f0", jobs / "full")
    path = next((jobs / "full").glob("*reading*.csv"))
    table = pd.read_csv(path, dtype=str)
    table["value"] = ">100"
    table.to_csv(path, index=False)
    result = run_batch(jobs, tmp_path / "out", options=BatchOptions(workers=1), today=DAY)
    assert (result.done, result.failures) == (1, ())
    row = pd.read_parquet(tmp_path / "out" / "floors.parquet").iloc[0]
    assert row["mapped_m2"] == 0
    assert pd.isna(row["wet_m2"])
    assert pd.isna(row["zones"])
    assert pd.isna(row["contested_m2"])


def test_a_floor_that_was_tested_and_not_scanned_is_judged(tmp_path: Path) -> None:
    """It is no failure: its verdict stands, and what only a scan tells is missing.

    A test without a place has no geometry, and stops no run.
    """
    jobs = tmp_path / "jobs"
    shutil.copytree(BAKERY, jobs / "tested")
    survey = jobs / "tested" / "survey.toml"
    told = survey.read_text(encoding="utf-8").splitlines(keepends=True)
    survey.write_text("".join(one for one in told if not one.startswith("readings =")), "utf-8")
    tests = jobs / "tested" / "tests.csv"
    placed = tests.read_text(encoding="utf-8")
    tests.write_text(placed.replace("\nH1a,9.4,0.8,", "\nH1a,,,"), "utf-8")
    result = run_batch(jobs, tmp_path / "out", options=BatchOptions(workers=1), today=DAY)
    assert (result.done, result.failures) == (1, ())
    row = pd.read_parquet(tmp_path / "out" / "floors.parquet").iloc[0]
    assert (row["verdict"], row["tests"], row["readings"]) == ("not proven", 6, 0)
    assert row[["visit", "wet_m2", "mapped_m2", "zones", "anomalies"]].isna().all()
    table = gpd.read_parquet(tmp_path / "out" / "tests.parquet")
    assert table.geometry.isna().tolist() == [False, True, False, False, False, False]


def test_what_was_set_aside_above_the_level_is_told(finished: Any) -> None:
    """In readings and square metres, with the part that was mapped."""
    table = pd.read_parquet(finished[0] / "floors.parquet")
    assert table["mapped_m2"].between(1, table["area_m2"]).all()
    known = table["wet_level"].notna()
    assert table.loc[known, "set_aside_readings"].notna().all()
    aside = table[table["set_aside_readings"].fillna(0) == 0]
    assert (aside["set_aside_m2"].fillna(0) == 0).all()
