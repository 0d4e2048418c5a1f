"""What other programs put into a project file that could act on its rows."""

import sqlite3
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import StoreError

from .test_record import behind_our_back

SNEAK = (
    "CREATE TRIGGER sneak AFTER UPDATE ON readings WHEN new.fid = 5"
    " BEGIN UPDATE readings SET value = 99 WHERE fid = 6; END"
)


def test_a_trigger_never_changes_a_neighbour(packed: Path) -> None:
    """It is told by the check, the file is still read, and nothing is written into it."""
    with store.open_project(packed) as project:
        before = project.rows("readings")[5]["value"]
    behind_our_back(packed, SNEAK)
    with store.open_project(packed) as project:
        (fault,) = project.verify().faults
        assert "trigger 'sneak'" in fault.sentence
        assert len(project.survey().readings) == 30
    with pytest.raises(StoreError, match=r"trigger 'sneak'.*Nothing is written.*recover"):
        store.open_project(packed, writable=True)
    with store.open_project(packed) as project:
        assert project.rows("readings")[5]["value"] == before


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE VIEW lookalike AS SELECT * FROM readings",
        "CREATE UNIQUE INDEX refuses ON readings (value)",
        'ALTER TABLE readings ADD COLUMN "mine" TEXT',
    ],
)
def test_other_foreign_objects_are_told_and_not_written_over(packed: Path, sql: str) -> None:
    """Views, indexes that could refuse rows, and columns added by hand."""
    behind_our_back(packed, sql)
    with store.open_project(packed) as project:
        assert not project.verify().intact
        assert len(project.survey().readings) == 30
    with pytest.raises(StoreError, match="Nothing is written"):
        store.open_project(packed, writable=True)


@pytest.mark.parametrize(
    "statements",
    [
        ("ALTER TABLE readings RENAME TO hidden", "CREATE VIEW readings AS SELECT * FROM hidden"),
        ("ALTER TABLE readings DROP COLUMN note",),
        ("DROP TABLE limits",),
        ("DELETE FROM moisturemap_migrations", "DROP TABLE equipment"),
    ],
)
def test_a_file_whose_tables_are_no_tables_is_refused(
    packed: Path, statements: tuple[str, ...]
) -> None:
    """A view in the place of a table, a missing column, a missing table."""
    connection = sqlite3.connect(packed, isolation_level=None)
    connection.execute("PRAGMA legacy_alter_table = ON")
    for statement in statements:
        connection.execute(statement)
    connection.close()
    for writable in (False, True):
        with pytest.raises(StoreError, match=r"job\.gpkg: "):
            store.open_project(packed, writable=writable)


def test_tables_of_other_programs_lie_beside_ours(packed: Path) -> None:
    """Styles and the like do nothing to our rows."""
    behind_our_back(packed, "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY, style TEXT)")
    with store.open_project(packed, writable=True) as project:
        assert project.verify().intact
        project.remove("readings", [1], "A. Tester", "read on the mat")


def test_a_list_of_migrations_that_was_emptied_is_told(packed: Path) -> None:
    """Instead of running them again over the tables that are there."""
    behind_our_back(packed, "DELETE FROM moisturemap_migrations")
    for writable in (False, True):
        with pytest.raises(StoreError, match="list of migrations"):
            store.open_project(packed, writable=writable)


def test_damage_that_is_no_text_is_told(packed: Path) -> None:
    """SQLite's own report may quote bytes that cannot be decoded."""
    content = bytearray(packed.read_bytes())
    at = content.index(b'CREATE TABLE "readings"')
    content[at + 14 : at + 22] = b"\xff\xfe\xff\xfe\xff\xfe\xff\xfe"
    packed.write_bytes(content)
    with pytest.raises(StoreError, match=r"job\.gpkg"):
        store.open_project(packed)


def test_a_survey_read_from_a_changed_file_names_what_was_changed(packed: Path) -> None:
    """Whoever judges it must know that its record did not lead there."""
    assert store.read_project(packed).record_faults == ()
    behind_our_back(packed, "UPDATE readings SET value = 1 WHERE fid = 3")
    (fault,) = store.read_project(packed).record_faults
    assert "readings 3" in fault
