"""Two copies of one job, worked on apart, put together again."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate

from moisturemap import store
from moisturemap.errors import StoreError
from moisturemap.survey import Visit

from .job import make_survey

WHEN = datetime(2026, 3, 9, 8, 0, tzinfo=UTC)


@pytest.fixture
def copy(packed: Path) -> Path:
    """A copy of the job beside it."""
    path = packed.with_name("tablet.gpkg")
    shutil.copyfile(packed, path)
    return path


def reading(x: float, value: float, **more: Any) -> dict[str, Any]:
    row = {"visit": "v1", "instrument": "m1", "x": x, "y": 1.0, "value": value, "room": "Store"}
    return {**row, "censored": "", **more}


def test(hole: str, x: float, value: float) -> dict[str, Any]:
    row = {"hole": hole, "x": x, "y": 1.0, "method": "in-situ-rh", "depth_mm": 26.0, "unit": "% RH"}
    return {**row, "value": value, "visit": "v1", "instrument": "p1"}


test.__test__ = False  # type: ignore[attr-defined]


def change(path: Path, who: str, layer: str, *rows: dict[str, Any]) -> list[int]:
    with store.open_project(path, writable=True) as project:
        return project.add(layer, rows, who)


def joined(path: Path, copy: Path) -> store.Joined:
    with store.open_project(path, writable=True) as project:
        return store.join_copy(project, copy, "C. Join")


def read(path: Path, layer: str) -> list[dict[str, Any]]:
    with store.open_project(path) as project:
        assert project.verify().intact
        return project.rows(layer)


def test_what_both_added_stands_in_one_file(packed: Path, copy: Path):
    before = len(read(packed, "readings"))
    change(packed, "A. Tester", "readings", reading(1.0, 300), reading(1.5, 310))
    change(copy, "B. Walker", "readings", reading(1.0, 420), reading(2.0, 430))
    found = joined(packed, copy)
    assert (found.changes, found.rows, found.left_out) == (1, 2, [])
    rows = read(packed, "readings")[before:]
    assert [row["value"] for row in rows] == [300, 310, 420, 430]
    assert len({row["reading"] for row in rows}) == 4
    with store.open_project(packed) as project:
        last = project.record()[-1].signature
    assert last.who == "B. Walker"
    assert "brought in from tablet.gpkg by C. Join" in last.why


def test_joining_twice_changes_nothing(packed: Path, copy: Path):
    change(packed, "A", "readings", reading(1.0, 300))
    change(copy, "B", "readings", reading(2.0, 430))
    joined(packed, copy)
    head = store.open_project(packed).head()
    found = joined(packed, copy)
    assert (found.changes, found.head) == (0, head)
    change(copy, "B", "readings", reading(2.5, 440))
    assert joined(packed, copy).rows == 1


def test_a_copy_may_take_back_what_went_the_other_way(packed: Path, copy: Path):
    change(packed, "A", "tests", test("H7", 1.0, 80.0))
    [fid] = change(copy, "B", "tests", test("H8", 2.0, 70.0))
    joined(packed, copy)
    found = joined(copy, packed)
    assert (found.changes, found.left_out) == (1, [])
    with store.open_project(packed, writable=True) as project:
        [fid] = [row["fid"] for row in project.rows("tests") if row["hole"] == "H8"]
        project.correct("tests", fid, {"value": 91.0}, "A", "misread")
    assert joined(copy, packed).rows == 1
    values = {row["hole"]: row["value"] for row in read(copy, "tests")}
    assert (values["H7"], values["H8"]) == (80.0, 91.0)


def test_corrections_keep_their_history_and_time(packed: Path, copy: Path):
    """A failing result lowered in a copy a day later is no slip here, either."""
    change(packed, "A", "readings", reading(1.0, 300))
    [fid] = change(copy, "B", "tests", test("H8", 2.0, 92.0))
    with store.open_project(copy, writable=True) as project:
        project.correct("tests", fid, {"value": 70.0}, "B", "client asked")
        made = project.record()[-1].made
    joined(packed, copy)
    with store.open_project(packed) as project:
        assert project.record()[-1].keyed == made
        survey = project.survey()
    assert survey.tests["value"].tolist()[-1] == 70.0
    with store.open_project(copy) as project:
        assert len(survey.changed_tests) == len(project.survey().changed_tests)


def test_the_same_row_changed_in_both_is_left_out_and_asked_about(packed: Path, copy: Path):
    [here] = [row["fid"] for row in read(packed, "tests") if row["hole"] == "H1"]
    for path, value in ((packed, 70.0), (copy, 93.0)):
        with store.open_project(path, writable=True) as project:
            project.correct("tests", here, {"value": value}, "A", "misread")
    found = joined(packed, copy)
    assert found.changes == 0
    assert "A corrected test H1: value from 81 to 93 on" in found.left_out[0]
    with store.open_project(packed) as project:
        survey = project.survey()
        assert project.verify().intact
    assert survey.tests["value"].tolist()[0] == 70.0
    assert found.left_out[0] in survey.changed_tests
    assert 93.0 in survey.former_tests["value"].tolist()
    again = joined(packed, copy)
    with store.open_project(packed) as project:
        told = project.survey().changed_tests
    assert again.left_out == found.left_out
    assert told.count(found.left_out[0]) == 1


def test_a_name_of_a_hole_given_twice_is_told(packed: Path, copy: Path):
    change(packed, "A", "tests", test("H9", 1.0, 70.0))
    change(copy, "B", "tests", test("H9", 4.0, 92.0))
    found = joined(packed, copy)
    assert [row["hole"] for row in read(packed, "tests")][-2:] == ["H9", "H9-copy"]
    assert any("H9-copy" in one for one in found.told)


def test_visits_of_one_day_are_one_visit(packed: Path, copy: Path):
    for path, air, note in ((packed, 19.0, "doors shut"), (copy, None, "water by the door")):
        with store.open_project(path, writable=True) as project:
            project.add_visit(Visit("v2", WHEN, "A", air, note=note), "A")
            project.add_readings([reading(1.0, 300, visit="v2")], "A")
    joined(packed, copy)
    visits = [row for row in read(packed, "visits") if row["id"].startswith("v2")]
    assert [one["id"] for one in visits] == ["v2"]
    assert visits[0]["air_temperature_c"] == 19.0
    assert visits[0]["note"] == "doors shut; water by the door"
    assert [row["visit"] for row in read(packed, "readings")][-2:] == ["v2", "v2"]


def test_visits_of_two_days_stay_two(packed: Path, copy: Path):
    for path, day in ((packed, 9), (copy, 16)):
        with store.open_project(path, writable=True) as project:
            project.add_visit(Visit("v2", WHEN.replace(day=day)), "A")
            project.add_readings([reading(1.0, 300, visit="v2")], "A")
    found = joined(packed, copy)
    assert [row["visit"] for row in read(packed, "readings")][-2:] == ["v2", "v2-copy"]
    assert any("v2-copy" in one for one in found.told)


def test_settings_of_both_are_put_together(packed: Path, copy: Path):
    for path, note in ((packed, "here"), (copy, "there")):
        with store.open_project(path, writable=True) as project:
            notes = project.settings().get("notes", ())
            project.set("notes", (*notes, note), "A")
    assert joined(packed, copy).left_out == []
    with store.open_project(packed) as project:
        assert project.settings()["notes"][-2:] == ("here", "there")


def test_a_file_imported_into_both_is_kept_once(packed: Path, copy: Path):
    row = reading(1.0, 300, source="walk.csv", row="2")
    for path in (packed, copy):
        change(path, "A", "readings", row)
    found = joined(packed, copy)
    assert (found.same, len(read(packed, "readings"))) == (1, len(read(copy, "readings")))


def test_photographs_follow_their_test(packed: Path, copy: Path, tmp_path: Path):
    from PIL import Image

    Image.new("RGB", (40, 30), "grey").save(tmp_path / "hole.png")
    change(packed, "A", "tests", test("H7", 1.0, 80.0))
    [fid] = change(copy, "B", "tests", test("H8", 2.0, 70.0))
    with store.open_project(copy, writable=True) as project:
        project.attach(tmp_path / "hole.png", "B", of=("tests", str(fid)))
    joined(packed, copy)
    [picture] = read(packed, "attachments")
    [of] = [row["fid"] for row in read(packed, "tests") if row["hole"] == "H8"]
    assert picture["of_row"] == str(of)
    with store.open_project(packed) as project:
        assert project.content(picture["sha256"])


def act(project: store.Project, step: tuple[str, int, int]) -> None:
    """One thing a person does to a project; nothing where it cannot be done."""
    done, one, other = step
    layer = "tests" if one % 2 else "readings"
    fids = [row["fid"] for row in project.rows(layer)]
    if done == "read":
        project.add_readings([reading(one, 100.0 * other)], "A")
    elif done == "test":
        project.add_tests([test(f"N{one % 3}", one, 60.0 + other)], "B")
    elif done == "visit":
        project.add_visit(Visit(f"w{len(project.rows('visits'))}", WHEN.replace(day=1 + one)), "A")
    elif done == "note":
        notes = project.settings().get("notes", ())
        project.set("notes", (*notes, f"note {one} {other}"), "B")
    elif done == "correct" and fids:
        project.correct(layer, fids[one % len(fids)], {"value": 50.0 + other}, "A", "misread")
    elif done == "remove" and len(fids) > 2:
        project.remove(layer, [fids[one % len(fids)]], "B", "entered twice")
    elif done == "undo" and project.next_undone():
        project.undo("A")
    elif done == "plan":
        plan = project.survey().plan
        moved = [replace(room, polygon=translate(room.polygon, 0.1)) for room in plan.rooms]
        project.replace_plan(replace(plan, rooms=tuple(moved)), "B")


def named(entry: store.RecordEntry) -> list[dict[str, Any]]:
    return [dict(zip(entry.operation.columns, row, strict=True)) for row in entry.operation.new]


STEPS = st.tuples(
    st.sampled_from(["read", "test", "visit", "note", "correct", "remove", "undo", "plan"]),
    st.integers(0, 6),
    st.integers(0, 40),
)


@settings(max_examples=30, deadline=None)
@given(here=st.lists(STEPS, max_size=6), there=st.lists(STEPS, max_size=6), more=STEPS)
def test_nothing_a_copy_held_is_lost(here, there, more):
    """Each value of the copy stands in the file, or is told and kept as left out."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / name for name in ("job.gpkg", "tablet.gpkg")]
        store.pack(make_survey(6), paths[0], "A")
        shutil.copyfile(*paths)
        for path, steps in zip(paths, (here, there), strict=True):
            with store.open_project(path, writable=True) as project:
                for step in steps:
                    act(project, step)
        joined(*paths)
        with store.open_project(paths[1], writable=True) as project:
            act(project, more)
            theirs = {
                (layer, row["x"], row["value"])
                for layer in ("readings", "tests")
                for row in project.rows(layer)
            }
        found = joined(*paths)
        assert joined(*paths).changes == 0
        with store.open_project(paths[0]) as project:
            assert project.verify().intact
            survey, kept = project.survey(), project.settings().get("before", {})
            assert set(found.left_out) <= set(survey.changed_tests)
            ever = {
                (entry.layer, row["x"], row["value"])
                for entry in project.record()
                if entry.layer in ("readings", "tests")
                for row in named(entry)
            }
        ever |= {("readings", row["x"], row["value"]) for row in kept.get("readings", ())}
        ever |= {("tests", one["row"]["x"], one["row"]["value"]) for one in kept.get("tests", ())}
        assert theirs <= ever


def test_another_job_is_refused(packed: Path, survey, tmp_path: Path):
    other = tmp_path / "other.gpkg"
    store.pack(survey, other, "A. Tester")
    with pytest.raises(StoreError, match="no copy of this job"):
        joined(packed, other)
    with pytest.raises(StoreError, match="the same file"):
        joined(packed, packed)
