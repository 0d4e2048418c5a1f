"""One writer at a time, whatever name the file is reached by."""

import errno
import os
import shutil
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import StoreError
from moisturemap.store import lock


def test_a_link_is_the_same_file(packed: Path, tmp_path: Path) -> None:
    """A second name does not make a second writer."""
    other = tmp_path / "elsewhere"
    other.mkdir()
    link = other / "link.gpkg"
    link.symlink_to(packed)
    first = store.open_project(packed, writable=True)
    with pytest.raises(StoreError, match="open for writing elsewhere"):
        store.open_project(link, writable=True)
    first.close()
    with store.open_project(link, writable=True) as project:
        project.remove("readings", [1], "A. Tester", "twice")


def test_a_deleted_lock_file_does_not_make_two_writers(packed: Path) -> None:
    """The first makes it again, or is refused when another came in between."""
    first = store.open_project(packed, writable=True)
    lock_file = packed.with_name("job.gpkg.lock")
    lock_file.unlink()
    first.remove("readings", [1], "A. Tester", "twice")
    assert lock_file.exists()
    lock_file.unlink()
    with store.open_project(packed, writable=True) as second:
        second.remove("readings", [2], "B. Tester", "twice")
        with pytest.raises(StoreError, match="open for writing elsewhere"):
            first.remove("readings", [3], "A. Tester", "twice")
        first.close()
        assert lock_file.exists()
    assert not lock_file.exists()
    with store.open_project(packed) as project:
        assert project.verify().intact
        assert [row["fid"] for row in project.rows("readings")][:2] == [3, 4]


def test_a_file_put_in_the_place_of_ours_is_noticed(packed: Path, tmp_path: Path) -> None:
    """As programs that keep folders in step do: neither read nor written as if it were the same."""
    older = tmp_path / "older.gpkg"
    shutil.copy(packed, older)
    project = store.open_project(packed, writable=True)
    older.replace(packed)
    for action in (
        lambda: project.rows("readings"),
        lambda: project.remove("readings", [1], "A. Tester", "twice"),
    ):
        with pytest.raises(StoreError, match=r"replaced, moved or deleted.*nothing was written"):
            action()
    packed.unlink()
    with pytest.raises(StoreError, match="replaced, moved or deleted"):
        project.survey()
    project.close()


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOLCK, "cannot hold locks"),
        (errno.EROFS, "can only be read"),
        (errno.EACCES, "no right"),
        (errno.ENOSPC, "disk is full"),
        (errno.EMFILE, "too many files"),
    ],
)
def test_each_way_a_lock_fails_has_its_words(
    packed: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    """With what to do."""

    def fail(_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(lock, "_take", fail)
    if number == errno.EACCES:  # a held lock looks the same to the lock call of one system
        monkeypatch.setattr(Path, "open", lambda *_, **__: fail(None))
        monkeypatch.setattr(store.project.connection, "look_at_header", lambda _: None)
    with pytest.raises(StoreError, match=rf"{words}.*read-only"):
        store.open_project(packed, writable=True)


def test_links_in_a_circle_are_told(tmp_path: Path) -> None:
    """Instead of a traceback."""
    one, two = tmp_path / "one.gpkg", tmp_path / "two.gpkg"
    one.symlink_to(two)
    two.symlink_to(one)
    with pytest.raises(StoreError):
        store.open_project(one, writable=True)
