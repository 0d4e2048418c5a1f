"""Opening, entering and copying."""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest
from shapely.geometry import LineString, Polygon, box

from moisturemap import store
from moisturemap.errors import InputError, StoreError
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.store import schema
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Visit

from .job import make_readings


@pytest.fixture
def entered(tmp_path: Path) -> Path:
    """A job entered by hand, step by step."""
    path = tmp_path / "entered.gpkg"
    when = datetime(2026, 3, 1, 9, tzinfo=UTC)
    with store.create_project(path, "Invented school", "A. Tester") as project:
        project.add_room(Room("Class", box(0, 0, 6, 4)), "A. Tester")
        project.add_visit(Visit("v1", when, "A. Tester"), "A. Tester")
        project.add_instrument(Instrument("m1", scale=(0.0, 999.0)), "A. Tester")
        project.add_check("m1", InstrumentCheck(when, "check-block", 250.0, 250.0), "A. Tester")
        rows = [
            {"x": 1, "y": 2, "value": 40, "visit": "v1", "instrument": "m1", "room": "Class"},
            {"x": 2, "y": 2, "value": 55.5, "visit": "v1", "instrument": "m1"},
        ]
        project.add_readings(rows, "A. Tester")
        test = {
            "visit": "v1",
            "hole": "H1",
            "x": 1,
            "y": 1,
            "method": "in-situ-rh",
            "value": 80,
            "unit": "% RH",
            "drift_pct": 0.3,
        }
        project.add_tests([test], "A. Tester")
        project.set_limit(Limit("in-situ-rh", 75.0, "% RH", "invented sheet"), "A. Tester")
    return path


def test_a_job_entered_by_hand_is_a_survey(entered: Path) -> None:
    """With the types the file readers give."""
    survey = store.read_project(entered)
    assert survey.name == "Invented school"
    assert list(survey.readings["reading"]) == [1, 2]
    assert list(survey.readings["raw"]) == ["40", "55.5"]
    assert list(survey.readings["room"]) == ["Class", ""]
    assert (
        survey.readings.dtypes.astype(str).to_dict()
        == make_readings(2).dtypes.astype(str).to_dict()
    )
    assert survey.tests["drift_pct"][0] == 0.3
    assert survey.instruments["m1"].checks[0].reference == "check-block"
    assert survey.limit is not None
    assert survey.limit.value == 75.0


def test_limits_of_rooms_stand_beside_the_general_one(entered: Path) -> None:
    """Set, replaced and taken away."""
    with store.open_project(entered, writable=True) as project:
        for value in (80.0, 85.0):
            project.set_limit(Limit("in-situ-rh", value, "% RH", "s"), "A", "", room="Class")
        assert project.survey().room_limits["Class"].value == 85.0
        project.set_limit(None, "A", "no covering", room="Class")
        assert project.survey().room_limits == {}
        assert project.survey().limit is not None


def test_a_plan_is_replaced_and_its_old_one_kept(entered: Path) -> None:
    """The readings stay; undo brings the old plan back."""
    with store.open_project(entered, writable=True) as project:
        before = project.survey().plan
        line = PlanLine("day-joint", LineString([(3, 0), (3, 4)]))
        new = FloorPlan((Room("A", box(0, 0, 3, 4)), Room("B", box(3, 0, 6, 4))), (line,), ("n",))
        project.replace_plan(new, "A. Tester", "drawn anew")
        assert project.survey().plan == new
        project.undo("A. Tester")
        assert project.survey().plan == before


def test_a_table_of_readings_is_added(entered: Path) -> None:
    """As read from a file."""
    with store.open_project(entered, writable=True) as project:
        new = make_readings(5).drop(columns="reading")
        assert project.add_readings(new, "A. Tester", "second file") == [3, 4, 5, 6, 7]
        found = project.survey().readings
    assert list(found["reading"]) == [1, 2, 3, 4, 5, 6, 7]
    pd.testing.assert_series_equal(found["value"][2:].reset_index(drop=True), new["value"])


def test_values_that_do_not_suit_are_refused_by_name(entered: Path) -> None:
    """Column, value and what is allowed."""
    row = {"visit": "v1", "instrument": "m1", "x": 1, "y": 1}
    with store.open_project(entered, writable=True) as project:
        with pytest.raises(InputError, match=r"value cannot be kept.*'wet'.*a number"):
            project.add_readings([{**row, "value": "wet"}], "A")
        with pytest.raises(InputError, match=r"repeat.*1\.5.*whole number"):
            project.add_readings([{**row, "value": 1, "repeat": 1.5}], "A")
        with pytest.raises(InputError, match="note"):
            project.add_readings([{**row, "value": 1, "note": "\ud800"}], "A")
        crossed = Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])
        with pytest.raises(InputError, match="outline cannot be kept"):
            project.add_room(Room("X", crossed), "A")
        with pytest.raises(StoreError, match="FOREIGN KEY"):
            project.add_readings([{**row, "visit": "v9", "value": 1}], "A")
        with pytest.raises(StoreError, match="UNIQUE"):
            project.add_room(Room("Class", box(9, 9, 10, 10)), "A")
        assert len(project.rows("readings")) == 2
        assert project.counts("readings", "visit") == {"v1": 2}
        with pytest.raises(KeyError, match="colour"):
            project.counts("readings", "colour")
        assert project.verify().intact


def test_a_read_only_project_refuses_changes(packed: Path) -> None:
    """With what to do."""
    with store.open_project(packed) as project, pytest.raises(StoreError, match="read-only"):
        project.remove("readings", [1], "A", "x")


def test_a_copy_is_complete_and_never_overwrites(packed: Path, tmp_path: Path) -> None:
    """Save a copy while the project is open."""
    copy = tmp_path / "copy.gpkg"
    with store.open_project(packed) as project:
        project.save_copy(copy)
        with pytest.raises(StoreError, match="already exists"):
            project.save_copy(copy)
        head = project.head()
    with store.open_project(copy) as project:
        assert project.head() == head
        assert project.verify().intact


def test_an_unfinished_job_says_what_is_missing(tmp_path: Path) -> None:
    """No room and no visit yet."""
    with store.create_project(tmp_path / "new.gpkg", "New", "A") as project:
        assert project.settings()["name"] == "New"
        with pytest.raises(StoreError, match="no room or no visit yet"):
            project.survey()


def test_an_older_file_is_brought_up_to_date_after_a_copy(
    packed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The migration runs once, on writing only, and the file as it was is kept."""

    def second(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE added_later (fid INTEGER PRIMARY KEY)")

    monkeypatch.setitem(schema.MIGRATIONS, "0002 added later", second)
    before = packed.read_bytes()
    with store.open_project(packed) as project:
        assert project.verify().intact
    assert packed.read_bytes() == before
    for _ in range(2):
        with store.open_project(packed, writable=True) as project:
            assert project.verify().intact
    connection = sqlite3.connect(packed)
    assert schema.applied(connection) == ("0001 first layers", "0002 added later")
    connection.close()
    backup = packed.with_name("job.before-0002.gpkg")
    with store.open_project(backup) as project:
        assert project.verify().intact
