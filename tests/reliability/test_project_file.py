"""The project file under kill -9, full disks, damage and strangers."""

import contextlib
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import geopandas as gpd
import pytest
from shapely.geometry import Point, box

from moisturemap import store
from moisturemap.errors import StoreError
from moisturemap.floorplan import Room
from moisturemap.survey import Instrument, Visit

HOSTILE = (
    "<script>alert(1)</script>",
    "=CMD()|'/c calc'!A1",
    "'; DROP TABLE readings; --",
    "a\x00b\x07",
    "\u202eevil\u202c \u0627\u0644\u0639\u0631\u0628",
    "\U0001f4a7 damp",
    "$x^2$ #let a = 1 \\n *b*",
    "n" * 10_000,
    "\r\n,;\t\"'",
    "&amp;&lt;",
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A small job with a room, a visit, a meter and readings."""
    path = tmp_path / "job.gpkg"
    with store.create_project(path, "Invented hall", "A. Tester") as project:
        project.add_room(Room("Hall", box(0, 0, 6, 4)), "A. Tester")
        project.add_visit(Visit("v1"), "A. Tester")
        project.add_instrument(Instrument("m1"), "A. Tester")
        project.add_readings(rows(20), "A. Tester")
    return path


def rows(count: int) -> list[dict[str, object]]:
    return [
        {"x": 1 + i / 100, "y": 2, "value": i, "visit": "v1", "instrument": "m1"}
        for i in range(count)
    ]


def write_until_killed(path: Path, seed: int, told: int) -> None:
    """Change the project at random and acknowledge each change by its number."""
    choose = random.Random(seed)
    with store.open_project(path, writable=True, wait_s=5) as project:
        first = project.head().number
        while True:
            what = choose.random()
            if what < 0.4:
                project.add_readings(rows(choose.choice([1, 3, 400])), "A. Tester")
            elif what < 0.8:
                project.correct("readings", choose.randint(1, 20), {"value": what}, "A", "again")
            elif project.record()[-1].signature.kind == "change" and project.head().number > first:
                project.undo("A. Tester")
            os.write(told, project.head().number.to_bytes(4, "big"))


def run_and_kill(path: Path, seed: int) -> int:
    """Return the last entry the writer acknowledged before it was killed."""
    reading, told = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # fork beside idle numpy threads
        child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            write_until_killed(path, seed, told)
        finally:
            os._exit(1)
    os.close(told)
    choose = random.Random(seed)
    acknowledged = os.read(reading, 4)
    for _ in range(choose.randint(0, 3)):
        acknowledged = os.read(reading, 4)
    time.sleep(choose.random() * 0.01)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    rest = acknowledged
    while more := os.read(reading, 4096):
        rest += more
    os.close(reading)
    assert len(rest) >= 4
    return int.from_bytes(rest[len(rest) // 4 * 4 - 4 : len(rest) // 4 * 4], "big")


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_nothing_acknowledged_is_lost_when_the_writer_is_killed(job: Path) -> None:
    """Kill -9 in the middle of 50 random sequences of writes, on one file after another."""
    for seed in range(50):
        acknowledged = run_and_kill(job, seed)
        with store.open_project(job) as project:
            assert project.head().number >= acknowledged
            assert project.verify().intact
    with store.open_project(job, writable=True) as project:
        project.add_readings(rows(1), "A. Tester")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_killed_writer_leaves_a_valid_file(job: Path) -> None:
    """The same, three times only, for every run of the tests."""
    for seed in range(100, 103):
        acknowledged = run_and_kill(job, seed)
        with store.open_project(job) as project:
            assert project.head().number >= acknowledged
            assert project.verify().intact


def test_a_broken_off_write_is_rolled_back_on_opening(job: Path, tmp_path: Path) -> None:
    """A journal left beside the file brings back the last whole state."""
    connection = sqlite3.connect(job, isolation_level=None)
    connection.execute("PRAGMA cache_size = 1")
    connection.execute("BEGIN IMMEDIATE")
    insert = "INSERT INTO readings (reading, visit, raw) VALUES (?, 'v1', ?)"
    connection.executemany(insert, [(n, "x" * 500) for n in range(100, 900)])
    crashed = tmp_path / "crashed.gpkg"
    shutil.copy(job, crashed)
    shutil.copy(f"{job}-journal", f"{crashed}-journal")
    connection.close()
    with store.open_project(crashed) as project:
        assert len(project.rows("readings")) == 20
        assert project.verify().intact


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 900 kB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=900k", "tmpfs", str(folder)]
    try:
        made = subprocess.run(mount, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        made = False
    if not made:
        pytest.skip("a file system can be mounted by the superuser only")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_that_was_saved(job: Path, small_disk: Path) -> None:
    """The change is refused with advice, the file stays valid and writable."""
    path = small_disk / "job.gpkg"
    shutil.copy(job, path)
    with store.open_project(path, writable=True) as project:
        before = project.head()
        with pytest.raises(StoreError, match=r"full.*Free some space"):
            project.add_readings(rows(15_000), "A. Tester")
        assert project.head() == before
        assert project.verify().intact
        project.add_readings(rows(1), "A. Tester")
        with contextlib.suppress(OSError):
            (small_disk / "ballast").write_bytes(b"\0" * 2_000_000)
        with pytest.raises(StoreError, match="full"):
            project.save_copy(small_disk / "copy.gpkg")
    assert not (small_disk / "copy.gpkg").exists()


def test_a_full_file_is_told_without_a_small_disk(job: Path) -> None:
    """The same by SQLite's own page limit, where no file system can be mounted."""
    with store.open_project(job, writable=True) as project:
        pages = project._connection.execute("PRAGMA page_count").fetchone()[0]
        project._connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        before = project.head()
        with pytest.raises(StoreError, match=r"full.*Free some space"):
            project.add_readings(rows(5000), "A. Tester")
        assert project.head() == before
        assert project.verify().intact


def test_a_read_only_disk_is_read_and_never_written(job: Path, small_disk: Path) -> None:
    """As from a memory card with its lock on."""
    path = small_disk / "job.gpkg"
    shutil.copy(job, path)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    try:
        with store.open_project(path) as project:
            assert project.verify().intact
            assert len(project.survey().readings) == 20
        with pytest.raises(StoreError, match="cannot be written"):
            store.open_project(path, writable=True)
        with pytest.raises(StoreError, match="cannot be written"):
            store.create_project(small_disk / "new.gpkg", "New", "A")
    finally:
        subprocess.run(["mount", "-o", "remount,rw", str(small_disk)], check=True)


def test_the_second_writer_is_told_who_the_first_is(job: Path) -> None:
    """Reading goes on meanwhile, and a dead writer blocks nobody."""
    reading, told = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:
        project = store.open_project(job, writable=True)
        os.write(told, b"x")
        time.sleep(60)
        os._exit(0)
    os.read(reading, 1)
    try:
        with pytest.raises(StoreError, match=rf"open for writing elsewhere \(process {child} on"):
            store.open_project(job, writable=True)
        with store.open_project(job) as project:
            assert len(project.rows("readings")) == 20
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(reading)
        os.close(told)
    with store.open_project(job, writable=True) as project:
        project.add_readings(rows(1), "A. Tester")
    assert not job.with_name("job.gpkg.lock").exists()


def test_a_truncated_file_is_refused_and_left_alone(job: Path, tmp_path: Path) -> None:
    """At every tenth of its length."""
    content = job.read_bytes()
    path = tmp_path / "cut.gpkg"
    for tenth in range(10):
        path.write_bytes(content[: len(content) * tenth // 10])
        for writable in (False, True):
            with pytest.raises(StoreError, match=r"cut short|not a project file"):
                store.open_project(path, writable=writable)
        assert len(path.read_bytes()) == len(content) * tenth // 10
    assert sorted(one.name for one in tmp_path.iterdir()) == ["cut.gpkg", "job.gpkg"]


def test_a_flipped_bit_never_passes_unnoticed(job: Path, tmp_path: Path) -> None:
    """Refused on opening, or found by the check, or it changed nothing that is kept."""
    content = bytearray(job.read_bytes())
    with store.open_project(job) as project:
        expected = {
            name: project.rows(name) for name in ("readings", "rooms", "visits", "settings")
        }
    choose = random.Random(7)
    path = tmp_path / "flipped.gpkg"
    refused = found = 0
    for _ in range(120):
        at = choose.randrange(len(content))
        content[at] ^= 1 << choose.randrange(8)
        path.write_bytes(content)
        damaged = bytes(content)
        content = bytearray(job.read_bytes())
        try:
            with store.open_project(path) as project:
                if project.verify().intact:
                    assert {name: project.rows(name) for name in expected} == expected
                else:
                    found += 1
        except StoreError:
            refused += 1
        assert path.read_bytes() == damaged
    assert refused > 3
    assert found > 3


def test_foreign_files_are_refused_with_what_to_do(tmp_path: Path) -> None:
    """Text, an empty file, another database, another GeoPackage, a folder, nothing."""
    text, empty, other, plan = (tmp_path / name for name in ("a", "b", "c", "d.gpkg"))
    text.write_text("x,y,value\n" * 50)
    empty.write_bytes(b"")
    connection = sqlite3.connect(other)
    connection.execute("CREATE TABLE t (a)")
    connection.commit()
    connection.close()
    gpd.GeoDataFrame({"a": [1]}, geometry=[Point(1, 1)], crs=4326).to_file(plan, driver="GPKG")
    cases = {
        text: "not a project file",
        empty: "not a project file",
        other: "not a GeoPackage",
        plan: "not a project file of moisturemap",
        tmp_path: "no such file",
        tmp_path / "none": "no such file",
    }
    for path, message in cases.items():
        before = path.read_bytes() if path.is_file() else b""
        for writable in (False, True):
            with pytest.raises(StoreError, match=message):
                store.open_project(path, writable=writable)
        assert (path.read_bytes() if path.is_file() else b"") == before


def test_a_file_of_a_newer_version_is_refused_and_left_alone(job: Path) -> None:
    """With the advice to update."""
    connection = sqlite3.connect(job)
    connection.execute("INSERT INTO moisturemap_migrations (name) VALUES ('9999 from the future')")
    connection.commit()
    connection.close()
    before = job.read_bytes()
    for writable in (False, True):
        with pytest.raises(StoreError, match=r"newer version.*Update moisturemap"):
            store.open_project(job, writable=writable)
    assert job.read_bytes() == before


def test_hostile_text_is_kept_as_text(job: Path) -> None:
    """In readings, names, reasons and file names, to the last character."""
    with store.open_project(job, writable=True) as project:
        for text in HOSTILE:
            row = {**rows(1)[0], "note": text, "label": text, "tag": text}
            (fid,) = project.add_readings([row], text, text)
            project.add_room(Room(text, box(9, 9, 10, 10)), text)
            found = project.survey()
            assert found.readings["note"].iloc[-1] == text
            assert found.readings["tag"].iloc[-1] == text
            assert found.plan.rooms[-1].name == text
            entry = project.record()[-1]
            assert (entry.signature.who, entry.signature.why) == (text, "")
            assert project.rows("readings")[-1]["fid"] == fid
        assert project.verify().intact
