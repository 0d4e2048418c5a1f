"""The record of changes and what it finds."""

import json
import sqlite3
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import InputError, StoreError


def behind_our_back(path: Path, sql: str, *values: object) -> None:
    """Change the file as any SQLite program could."""
    connection = sqlite3.connect(path)
    with connection:
        connection.execute(sql, values)
    connection.close()


def test_a_correction_keeps_the_old_value(packed: Path) -> None:
    """Who, when, why, old and new stand in the record."""
    with store.open_project(packed, writable=True) as project:
        before = project.rows("readings")[13]["value"]
        project.correct("readings", 14, {"value": 31.0}, "B. Tester", "misread")
        entry = project.record()[-1]
        assert project.survey().readings["value"][13] == 31.0
        assert project.survey().readings["raw"][13] == "31"
    old = dict(zip(entry.operation.columns, entry.operation.old[0], strict=True))
    assert (entry.signature.who, entry.signature.why) == ("B. Tester", "misread")
    assert old["value"] == before
    assert entry.sentence == f"corrected reading 14: value from {before:g} to 31"


def test_a_removal_can_be_undone_and_made_again(packed: Path) -> None:
    """Undo and redo are changes of their own."""
    with store.open_project(packed, writable=True) as project:
        project.remove("readings", [3, 5], "B. Tester", "read on the mat")
        assert len(project.survey().readings) == 28
        project.undo("B. Tester")
        assert len(project.survey().readings) == 30
        with pytest.raises(StoreError, match="nothing to undo"):
            project.undo("B. Tester")
        project.redo("B. Tester")
        assert len(project.survey().readings) == 28
        assert [one.signature.kind for one in project.record()[-3:]] == ["change", "undo", "redo"]
        assert project.verify().intact


def test_undo_goes_back_step_by_step(packed: Path) -> None:
    """Two corrections, two undos; a new change closes the way forward."""
    with store.open_project(packed, writable=True) as project:
        first = project.rows("readings")[0]["value"]
        project.correct("readings", 1, {"value": 1}, "B. Tester", "a")
        project.correct("readings", 1, {"value": 2}, "B. Tester", "b")
        project.undo("B. Tester")
        assert project.rows("readings")[0]["value"] == 1
        project.undo("B. Tester")
        assert project.rows("readings")[0]["value"] == first
        with pytest.raises(StoreError, match="nothing to undo"):
            project.undo("B. Tester")
        project.correct("readings", 2, {"value": 9}, "B. Tester", "c")
        with pytest.raises(StoreError, match="nothing to redo"):
            project.redo("B. Tester")


def remove_one_that_is_not_there(project: store.Project) -> None:
    with project.change("B. Tester") as change:
        change.correct("readings", 1, {"value": 5})
        change.remove("readings", [999])


def test_several_operations_are_one_change(packed: Path) -> None:
    """All of them are undone together, and none stands when one is refused."""
    with store.open_project(packed, writable=True) as project:
        with project.change("B. Tester", "two at once") as change:
            change.correct("readings", 1, {"value": 1})
            change.remove("readings", [2])
        project.undo("B. Tester")
        assert len(project.rows("readings")) == 30
        head = project.head()
        with pytest.raises(InputError, match="no such row"):
            remove_one_that_is_not_there(project)
        assert project.head() == head
        assert project.rows("readings")[0]["value"] != 5


def test_a_request_is_carried_out_once(packed: Path) -> None:
    """A repeated request is refused and its rows can be told."""
    new = {"x": 1, "y": 1, "value": 5, "visit": "v1", "instrument": "m1"}
    with store.open_project(packed, writable=True) as project:
        with project.change("B. Tester", "", "key-1") as change:
            change.add("readings", [new])
        with pytest.raises(InputError, match="already"), project.change("B", "", "key-1") as change:
            change.add("readings", [new])
        assert project.rows_of_request("key-1") == [31]
        assert project.rows_of_request("key-2") is None
        assert len(project.rows("readings")) == 31


def test_numbers_of_removed_rows_are_never_used_again(packed: Path) -> None:
    """A reading number means one reading for ever."""
    new = {"x": 1, "y": 1, "value": 5, "visit": "v1", "instrument": "m1"}
    with store.open_project(packed, writable=True) as project:
        project.remove("readings", [30], "B. Tester", "twice")
        assert project.add_readings([new], "B. Tester") == [31]


@pytest.mark.parametrize(
    ("sql", "layer", "row"),
    [
        ("UPDATE readings SET value = 1.25 WHERE fid = 7", "readings", 7),
        ("UPDATE readings SET room = 'Hall' WHERE fid = 8", "readings", 8),
        ("DELETE FROM readings WHERE fid = 9", "readings", 9),
        (
            "UPDATE readings SET geom = (SELECT geom FROM readings WHERE fid = 2) WHERE fid = 1",
            "readings",
            1,
        ),
        (
            "INSERT INTO readings (reading, visit, x, y, value) VALUES (31, 'v1', 1, 1, 5)",
            "readings",
            31,
        ),
        ("UPDATE tests SET value = 70 WHERE fid = 1", "tests", 1),
        ("UPDATE tests SET extra = '{}' WHERE fid = 2", "tests", 2),
        ("UPDATE limits SET value = 90 WHERE fid = 1", "limits", 1),
        (
            "UPDATE rooms SET geom = (SELECT geom FROM rooms WHERE fid = 2) WHERE fid = 1",
            "rooms",
            1,
        ),
        ("UPDATE rooms SET geom = x'4750' WHERE fid = 1", "rooms", 1),
        ("UPDATE record_of_changes SET who = 'X' WHERE fid = 3", "record_of_changes", 3),
        ("UPDATE record_of_changes SET made = '2020-01-01' WHERE fid = 2", "record_of_changes", 2),
        ("UPDATE record_of_changes SET content = '{}' WHERE fid = 1", "record_of_changes", 1),
        ("DELETE FROM record_of_changes WHERE fid = 2", "record_of_changes", 3),
    ],
)
def test_an_edit_behind_our_back_is_found(packed: Path, sql: str, layer: str, row: int) -> None:
    """It is told by table and number."""
    with store.open_project(packed) as project:
        assert project.verify().intact
    behind_our_back(packed, sql)
    with store.open_project(packed) as project:
        found = project.verify()
    assert not found.intact
    assert (layer, row) in {(fault.layer, fault.row) for fault in found.faults}
    assert found.statement == store.WHAT_THE_RECORD_PROVES


def test_the_fault_names_both_values(packed: Path) -> None:
    """What the row says and what the record says."""
    behind_our_back(packed, "UPDATE readings SET value = 1.25 WHERE fid = 7")
    with store.open_project(packed) as project:
        entry = next(one for one in project.record() if one.layer == "readings")
        recorded = json.loads(entry.content)
        (fault,) = project.verify().faults
    at = recorded["columns"].index("value")
    assert fault.sentence == f"readings 7: value is 1.25, the record has {recorded['new'][6][at]!r}"


def test_a_row_changed_by_others_is_not_corrected_over(packed: Path) -> None:
    """An undo must not put back what somebody else has meanwhile replaced."""
    with store.open_project(packed, writable=True) as project:
        project.correct("readings", 7, {"value": 2}, "B. Tester", "misread")
    behind_our_back(packed, "UPDATE readings SET value = 1.25 WHERE fid = 7")
    with store.open_project(packed, writable=True) as project:
        with pytest.raises(StoreError, match="changed by another program"):
            project.undo("B. Tester")
        assert project.rows("readings")[6]["value"] == 1.25


def test_a_name_is_needed_to_change_anything(packed: Path) -> None:
    """Nobody changes a record without a name."""
    with (
        store.open_project(packed, writable=True) as project,
        pytest.raises(InputError, match="who makes"),
    ):
        project.remove("readings", [1], "  ", "")


def test_an_earlier_state_can_be_read(packed: Path) -> None:
    """The survey as it was after any entry of the record."""
    with store.open_project(packed, writable=True) as project:
        then, values = project.head().number, project.survey().readings["value"]
        project.correct("readings", 1, {"value": -1}, "B. Tester", "x")
        project.remove("readings", [2], "B. Tester", "y")
        assert project.survey(at=then).readings["value"].equals(values)
        assert len(project.survey().readings) == 29


def test_a_cut_tail_is_found(packed: Path) -> None:
    """The last entry taken out and its row set back: the numbers given out tell it."""
    with store.open_project(packed, writable=True) as project:
        before = project.rows("readings")[4]["value"]
        project.correct("readings", 5, {"value": before + 1}, "B. Tester", "misread")
        last = project.head().number
    behind_our_back(packed, "DELETE FROM record_of_changes WHERE fid = ?", last)
    behind_our_back(
        packed,
        "UPDATE readings SET (value, raw) = (SELECT ?, ?) WHERE fid = 5",
        before,
        f"{before:g}",
    )
    with store.open_project(packed) as project:
        assert [one.sentence for one in project.verify().faults] == [
            f"the last 1 of {last} entries were cut off the record"
        ]


@pytest.mark.parametrize("numbers_too", [False, True])
def test_an_emptied_file_is_found(packed: Path, numbers_too: bool) -> None:
    """Record and layers without a row, and the numbers given out as well."""
    tables = ["readings", "tests", "limits", "instrument_checks", "visits", "instruments"]
    for table in (*tables, "rooms", "lines", "settings", "attachments", "record_of_changes"):
        behind_our_back(packed, f"DELETE FROM {table}")
    if numbers_too:
        behind_our_back(packed, "DELETE FROM sqlite_sequence")
    with store.open_project(packed) as project:
        faults = project.verify().faults
    assert any("the record is empty" in one.sentence for one in faults)


def test_a_clock_that_was_set_back_is_remarked(
    packed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a remark: the record itself is sound."""
    from datetime import UTC, datetime, timedelta

    from moisturemap.store import record

    class Clock(datetime):
        away = timedelta()

        @classmethod
        def now(cls, tz: object = None) -> datetime:
            return datetime.now(UTC) + cls.away

    monkeypatch.setattr(record, "datetime", Clock)
    with store.open_project(packed, writable=True) as project:
        for days in (0, -9000, 4000):
            Clock.away = timedelta(days=days)
            project.correct("readings", 5, {"value": 50 + days}, "B. Tester", "misread")
        found = project.verify()
    assert found.intact
    assert ["set" in one or "changed" in one for one in found.remarks] == [True, False]
    assert "still to come" in found.remarks[1]
