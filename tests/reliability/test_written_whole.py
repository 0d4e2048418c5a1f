"""What is written by a program that is killed: the whole of it, or what was there before."""

import errno
import os
import random
import signal
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap import outputs, store
from moisturemap.errors import OutputError, StoreError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.results.run import write_run
from moisturemap.survey import Instrument, Survey, Visit

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


def killed(work: Callable[[], object], delay_s: float) -> None:
    """Do the work in a process of its own and kill it after a while."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # fork beside idle numpy threads
        child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    time.sleep(delay_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def small_survey() -> Survey:
    plan = FloorPlan((Room("Hall", box(0, 0, 6, 4)),))
    text = dict.fromkeys(("raw", "censored", "room", "label", "note", "source", "row"), "")
    readings = pd.DataFrame(
        {
            "reading": np.arange(1, 401),
            "visit": "v1",
            "instrument": "m1",
            **dict.fromkeys(("x", "y", "value"), np.linspace(0.1, 3.9, 400)),
            **text,
            "repeat": 0,
            "time": pd.Series([pd.NaT] * 400, dtype="datetime64[us, UTC]"),
        }
    )
    return Survey("Invented", plan, {"m1": Instrument("m1")}, (Visit("v1"),), readings)


def pack_and_kill(folder: Path, times: int, seed: int) -> int:
    """Return how often the file stood there afterwards; it must hold everything then."""
    survey, choose, stood = small_survey(), random.Random(seed), 0
    begun = time.perf_counter()
    store.pack(survey, folder / "first.gpkg", "A. Tester")
    takes_s = time.perf_counter() - begun
    for number in range(times):
        path = folder / f"{number}.gpkg"
        killed(
            lambda to=path: store.pack(survey, to, "A. Tester"), choose.uniform(0.0, 3 * takes_s)
        )
        if path.exists():
            stood += 1
            with store.open_project(path, writable=True) as project:
                assert project.verify().intact
                assert len(project.rows("readings")) == 400
        else:
            store.pack(survey, path, "A. Tester")
        assert not list(folder.glob(f".{number}.gpkg*")), "what the killed one left is swept"
        path.unlink()
    return stood


@pytest.mark.thorough
@needs_fork
def test_a_killed_pack_leaves_all_or_nothing(tmp_path: Path) -> None:
    """A few kills for every run of the tests."""
    pack_and_kill(tmp_path, 6, 1)


@needs_fork
@pytest.mark.slow
def test_two_hundred_killed_packs_leave_all_or_nothing(tmp_path: Path) -> None:
    """At random moments, before, while and after the file takes its place."""
    stood = pack_and_kill(tmp_path, 200, 2)
    assert 10 < stood < 190


def write(place: AbstractContextManager[Path], act: Callable[[Path], object]) -> None:
    with place as unfinished:
        act(unfinished)


def fail(_: Path) -> None:
    message = "half way"
    raise StoreError(message)


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    """A failure in the middle leaves the old one and nothing beside it."""
    path = tmp_path / "a.csv"
    path.write_text("old")

    def half(unfinished: Path) -> None:
        unfinished.write_text("ne")
        fail(unfinished)

    with pytest.raises(StoreError, match="half way"):
        write(outputs.replaced_file(path), half)
    assert path.read_text() == "old"
    with outputs.replaced_file(path) as unfinished:
        unfinished.write_text("new")
        assert path.read_text() == "old"
    assert path.read_text() == "new"
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]


def test_a_new_file_never_overwrites_one_that_came_in_between(tmp_path: Path) -> None:
    """Not even when somebody else writes it while ours is being made."""
    path = tmp_path / "a.gpkg"

    def both(unfinished: Path) -> None:
        unfinished.write_text("ours")
        path.write_text("theirs")

    with pytest.raises(OutputError, match="already exists"):
        write(outputs.new_file(path), both)
    assert path.read_text() == "theirs"
    assert [one.name for one in tmp_path.iterdir()] == ["a.gpkg"]


def test_an_unpacked_folder_stands_whole_or_not_at_all(tmp_path: Path) -> None:
    """Never over files of the user, and without a trace when it fails half way."""
    with pytest.raises(OutputError, match="not empty"):
        write(outputs.new_folder(Path(__file__).parent), fail)

    def half(unfinished: Path) -> None:
        (unfinished / "a").write_text("x")
        fail(unfinished)

    with pytest.raises(StoreError, match="half way"):
        write(outputs.new_folder(tmp_path / "out"), half)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("/proc/nowhere/x", "no such folder"),
        ("file/x", "a file stands where a folder is needed"),
        ("n" * 300, "too long"),
    ],
)
def test_each_failure_is_one_plain_sentence(tmp_path: Path, place: str, words: str) -> None:
    """With the path and what to do."""
    (tmp_path / "file").write_text("x")
    path = tmp_path / place / "a.csv"
    with pytest.raises(OutputError, match=words):
        write(outputs.replaced_file(path), lambda unfinished: unfinished.write_text("x"))


@pytest.mark.parametrize(
    "error",
    [OSError(errno.ENOSPC, "No space left on device"), RuntimeError("database or disk is full")],
)
def test_a_full_disk_is_one_sentence_and_leaves_the_old_results(
    tmp_path: Path, error: Exception
) -> None:
    """Also when the library that writes loses the reason."""
    (tmp_path / "a.txt").write_text("old")

    def fill(folder: Path) -> list[Path]:
        (folder / "a.txt").write_text("half")
        raise error

    with pytest.raises(OutputError, match=r"the disk is full\. Free some space.*as it was"):
        write_run("map", None, tmp_path, [fill])
    assert [one.name for one in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_text() == "old"


@contextmanager
def largest_file(size: int) -> Iterator[None]:
    """Let the system take no file above a size [bytes]."""
    resource = pytest.importorskip("resource", reason="limits on files of POSIX")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_file_too_large_for_the_disk_is_one_sentence(tmp_path: Path) -> None:
    """Of a project, of layers and of a text; each is written by another library."""
    shapes = gpd.GeoDataFrame({"name": ["a"]}, geometry=[box(0, 0, 1, 1)], crs="EPSG:3857")
    with largest_file(20_000):
        with pytest.raises(StoreError, match=r"takes no file of this size\. Check it"):
            store.create_project(tmp_path / "a.gpkg", "Invented hall", "A. Tester")
        with pytest.raises(OutputError, match=r"cannot be written .* Check the disk"):
            write(
                outputs.replaced_file(tmp_path / "b.gpkg"),
                lambda unfinished: shapes.to_file(unfinished, layer="a", driver="GPKG"),
            )
        with pytest.raises(OutputError, match=r"/c\.txt: the disk takes no file of this size"):
            write(
                outputs.replaced_file(tmp_path / "c.txt"),
                lambda unfinished: unfinished.write_text("x" * 30_000),
            )
    assert list(tmp_path.iterdir()) == []
