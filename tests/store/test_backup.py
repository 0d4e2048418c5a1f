"""Copies a project makes of itself."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.store import backup, record


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> type[datetime]:
    """A clock that can be moved on."""

    class Clock(datetime):
        ahead = timedelta()

        @classmethod
        def now(cls, tz: object = None) -> datetime:
            return datetime.now(UTC) + cls.ahead

    monkeypatch.setattr(record, "datetime", Clock)
    monkeypatch.setattr(backup, "datetime", Clock)
    return Clock


def change(path: Path, value: float) -> None:
    with store.open_project(path, writable=True) as project:
        project.correct("readings", 1, {"value": value}, "B. Tester", "misread")


def test_the_first_change_of_a_day_keeps_the_day_before(
    packed: Path, clock: type[datetime]
) -> None:
    """Once a day, with the state at its end; on the day it was made there is nothing to keep."""
    change(packed, 1)
    assert backup.backups(packed) == []
    clock.ahead = timedelta(days=1)
    change(packed, 2)
    change(packed, 3)
    (copy,) = backup.backups(packed)
    with store.open_project(copy) as project:
        assert project.verify().intact
        assert project.rows("readings")[0]["value"] == 1


def test_a_project_left_open_overnight_is_copied_too(packed: Path, clock: type[datetime]) -> None:
    """As in the app."""
    with store.open_project(packed, writable=True) as project:
        for day in range(3):
            clock.ahead = timedelta(days=day)
            project.correct("readings", 1, {"value": day}, "B. Tester", "misread")
    assert len(backup.backups(packed)) == 2


def test_a_stated_number_is_kept(packed: Path, clock: type[datetime]) -> None:
    """The oldest goes first, and what is not ours is left alone."""
    folder = backup.folder_of(packed)
    folder.mkdir()
    (folder / "mine.gpkg").write_text("x")
    for day in range(1, backup.KEPT + 4):
        clock.ahead = timedelta(days=day)
        change(packed, day)
    found = backup.backups(packed)
    assert len(found) == backup.KEPT
    assert (folder / "mine.gpkg").exists()
    with store.open_project(found[-1]) as project:
        assert project.rows("readings")[0]["value"] == backup.KEPT + 2


def test_work_goes_on_where_no_copy_can_be_made(
    packed: Path, clock: type[datetime], monkeypatch: pytest.MonkeyPatch, caplog: object
) -> None:
    """A file in the place of the folder, a disk that is nearly full."""
    clock.ahead = timedelta(days=1)
    backup.folder_of(packed).write_text("in the way")
    change(packed, 2)
    clock.ahead = timedelta(days=2)
    backup.folder_of(packed).unlink()
    monkeypatch.setattr(backup, "ROOM", 10**12)
    change(packed, 3)
    assert backup.backups(packed) == []
    with store.open_project(packed) as project:
        assert project.rows("readings")[0]["value"] == 3
