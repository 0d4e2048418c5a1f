"""A damaged or tampered project file written anew from its record."""

import sqlite3
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import StoreError

from .job import assert_same_survey
from .test_attachment import picture
from .test_record import behind_our_back
from .test_strangers import SNEAK


@pytest.fixture
def worked(packed: Path) -> Path:
    """A job with corrections, removals and a photograph."""
    with store.open_project(packed, writable=True) as project:
        project.correct("readings", 4, {"value": 31.0}, "B. Tester", "misread")
        project.remove("readings", [29, 30], "B. Tester", "read on the mat")
        project.attach(picture(), "B. Tester", name="hole.jpg", of=("tests", "1"))
    return packed


def test_layers_come_back_from_the_record(worked: Path, tmp_path: Path) -> None:
    """Whatever was done to the rows, tables and triggers; the head stays the same."""
    with store.open_project(worked) as project:
        before, head = project.survey(), project.head()
        photo = project.rows("attachments")[0]["sha256"]
    connection = sqlite3.connect(worked, isolation_level=None)
    for sql in (
        SNEAK,
        "UPDATE readings SET value = 1",
        "DELETE FROM tests",
        "DROP TABLE limits",
        "CREATE VIEW limits AS SELECT 1 AS fid",
    ):
        connection.execute(sql)
    connection.close()
    damaged = worked.read_bytes()
    with pytest.raises(StoreError, match="moisturemap recover"):
        store.open_project(worked)
    found = store.recover(worked, tmp_path / "new.gpkg")
    assert found.losses == ()
    assert found.head == head
    assert worked.read_bytes() == damaged
    with store.open_project(tmp_path / "new.gpkg", writable=True) as project:
        assert project.verify().intact
        assert_same_survey(project.survey(), before)
        assert project.content(photo)
        new = {"x": 1, "y": 1, "value": 5, "visit": "v1", "instrument": "m1"}
        assert project.add_readings([new], "A. Tester") == [31]
        project.undo("A. Tester")


def test_what_cannot_be_brought_back_is_told(worked: Path, tmp_path: Path) -> None:
    """Entries after a changed one, and bytes that were changed."""
    with store.open_project(worked) as project:
        count = project.head().number
    behind_our_back(worked, "UPDATE file_contents SET content = x'00'")
    behind_our_back(worked, "UPDATE record_of_changes SET who = 'X' WHERE fid = ?", count)
    found = store.recover(worked, tmp_path / "new.gpkg")
    assert found.head.number == count - 1
    assert any(f"entry {count} of the record was changed" in one for one in found.losses)
    assert any(f"the 1 after entry {count - 1}" in one for one in found.losses)
    found = store.recover(tmp_path / "new.gpkg", tmp_path / "again.gpkg")
    assert found.losses == ()


def test_a_file_without_a_record_is_refused(worked: Path, tmp_path: Path) -> None:
    """And leaves no new file behind; nor is anything overwritten."""
    behind_our_back(worked, "DELETE FROM record_of_changes")
    with pytest.raises(StoreError, match="record of changes cannot be read"):
        store.recover(worked, tmp_path / "new.gpkg")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["job.gpkg"]
    with pytest.raises(StoreError, match="already exists"):
        store.recover(worked, worked)
    with pytest.raises(StoreError, match="no such file"):
        store.recover(tmp_path / "none.gpkg", tmp_path / "new.gpkg")


def test_a_file_of_a_newer_version_is_refused(worked: Path, tmp_path: Path) -> None:
    """What only that version knows would be left out in silence; a damaged list stops nothing."""
    sql = "INSERT INTO moisturemap_migrations (name, applied) VALUES ('0002 more', '2026-01-01')"
    behind_our_back(worked, sql)
    with pytest.raises(StoreError, match="newer version"):
        store.recover(worked, tmp_path / "new.gpkg")
    behind_our_back(worked, "DROP TABLE moisturemap_migrations")
    assert store.recover(worked, tmp_path / "new.gpkg").rows
