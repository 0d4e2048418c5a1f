"""The files of one run: all of them in place, or what was there before."""

import json
import os
import sqlite3
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path

import geopandas as gpd
import pytest
import xarray as xr
from PIL import Image

from moisturemap.bundles import Study
from moisturemap.errors import OutputError
from moisturemap.figures import save_map
from moisturemap.outputs import UNFINISHED
from moisturemap.provenance import run_id
from moisturemap.results.run import MANIFEST, read_manifest, write_run
from moisturemap.results.study_files import export_study
from moisturemap.store.lock import WriterLock


def files(texts: dict[str, str], folder: Path) -> list[Path]:
    """Write invented files that tell their run."""
    for name, text in texts.items():
        (folder / name).write_text(f"{text} of run {run_id()}")
    return [folder / name for name in texts]


def write(folder: Path, *, command: str = "map", owns: tuple[str, ...] = (), **texts: str) -> None:
    named = {name.replace("_", "."): text for name, text in texts.items()}
    write_run(command, None, folder, [partial(files, named)], owns)


def contents(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir()}


def assert_whole(folder: Path) -> str:
    """All files are of one run and as the manifest has them; return what they say."""
    found = contents(folder)
    manifest = json.loads(found.pop(MANIFEST))
    (run,) = manifest["runs"]
    assert set(found) == set(manifest["files"])
    assert {text.split(" of run ")[1] for text in found.values()} == {run}
    (what,) = {text.split(" of run ")[0] for text in found.values()}
    return what


def test_every_file_of_a_run_tells_its_id(tmp_path: Path) -> None:
    """And the manifest names them with their hashes."""
    write(tmp_path, a_txt="one", b_csv="one")
    assert assert_whole(tmp_path) == "one"
    assert run_id() == ""
    assert set(read_manifest(tmp_path)["files"]["a.txt"]) == {"run", "size", "sha256"}


def test_files_of_an_earlier_run_that_were_not_written_again_go(tmp_path: Path) -> None:
    """A zone that is no zone any more; files of other commands and of the user stay."""
    (tmp_path / "mine.txt").write_text("mine")
    (tmp_path / "old.geojson").write_text("from before there were manifests")
    write(tmp_path, a_txt="one", zones_geojson="one")
    write(tmp_path, command="drying", d_txt="two")
    write(tmp_path, owns=("old.geojson", "never.geojson"), a_txt="three")
    assert sorted(contents(tmp_path)) == ["a.txt", "d.txt", MANIFEST, "mine.txt"]
    manifest = read_manifest(tmp_path)
    assert sorted(one["command"] for one in manifest["runs"].values()) == ["drying", "map"]


def test_a_run_that_fails_leaves_the_old_results_whole(tmp_path: Path) -> None:
    """Also when the program is told to stop while it writes."""
    write(tmp_path, a_txt="one", b_txt="one")
    before = contents(tmp_path)

    def stop(folder: Path) -> list[Path]:
        (folder / "a.txt").write_text("two")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_run("map", None, tmp_path, [stop])
    assert contents(tmp_path) == before


def die_after(moves: int, act: Callable[[], None]) -> bool:
    """Do something in a process of its own that dies at the n-th rename or removal."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # fork beside idle numpy threads
        child = os.fork()
    if child == 0:
        left = [moves]

        def counted(real: Callable[..., object]) -> Callable[..., object]:
            def step(*args: object, **named: object) -> object:
                if left[0] == 0:
                    os._exit(9)
                left[0] -= 1
                return real(*args, **named)

            return step

        Path.replace = counted(Path.replace)  # type: ignore[method-assign, assignment]
        Path.unlink = counted(Path.unlink)  # type: ignore[method-assign, assignment]
        act()
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_run_that_dies_at_any_rename_is_finished_by_the_next(tmp_path: Path) -> None:
    """Wherever it dies, the next command leaves one whole run, and nothing hidden."""
    moves = 0
    while True:
        folder = tmp_path / str(moves)
        write(folder, a_txt="one", b_txt="one", gone_txt="one")
        before = contents(folder)
        died = die_after(moves, partial(write, folder, a_txt="two", b_txt="two", new_txt="two"))
        planned = (folder / ".renames.json").exists()
        if moves == 0:  # before the plan is in place nothing has changed
            assert {name: (folder / name).read_text() for name in before} == before
        write(folder, command="other", d_txt="two")
        shown = {
            name: text.split(" of run ")[0]
            for name, text in contents(folder).items()
            if name not in (MANIFEST, "d.txt")
        }
        assert len(set(shown.values())) == 1, (moves, shown)
        if planned:
            assert sorted(shown) == ["a.txt", "b.txt", "new.txt"]
        assert not [one for one in folder.iterdir() if one.name.startswith(".")]
        listed = read_manifest(folder)["files"]
        assert set(listed) == {*shown, "d.txt"}
        if not died:
            break
        moves += 1
    assert moves > 6


def test_a_sheet_that_was_filled_in_is_kept(tmp_path: Path) -> None:
    """Where it lay, or one of the same name that is not ours."""
    write(tmp_path, command="layout", sheet_csv="empty")
    write(tmp_path, command="layout", sheet_csv="empty")
    assert sorted(contents(tmp_path)) == [MANIFEST, "sheet.csv"]
    (tmp_path / "sheet.csv").write_text("filled in")
    write(tmp_path, command="layout", sheet_csv="empty")
    assert contents(tmp_path)["sheet.kept-1.csv"] == "filled in"
    (tmp_path / MANIFEST).unlink()
    write(tmp_path, command="layout", sheet_csv="empty")
    assert sorted(contents(tmp_path)) == [
        MANIFEST,
        "sheet.csv",
        "sheet.kept-1.csv",
        "sheet.kept-2.csv",
    ]


def test_a_plan_from_elsewhere_never_leads_out_of_the_folder(tmp_path: Path) -> None:
    """A results folder may come by mail."""
    folder, victim = tmp_path / "results", tmp_path / "victim.txt"
    victim.write_text("mine")
    stage = f".x{UNFINISHED}1"
    (folder / stage).mkdir(parents=True)
    (folder / stage / "a.txt").write_text("evil")
    plan = {
        "stage": stage,
        "names": ["../victim.txt", "a.txt"],
        "gone": ["../victim.txt", str(victim)],
        "kept": {"../victim.txt": "../x", "a.txt": "../../y"},
    }
    (folder / ".renames.json").write_text(json.dumps(plan))
    manifest = {"runs": {"1": {"command": "map"}}, "files": {"../victim.txt": {"run": "1"}}}
    (folder / MANIFEST).write_text(json.dumps(manifest))
    write(folder, b_txt="one")
    assert victim.read_text() == "mine"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["results", "victim.txt"]


def test_a_folder_in_the_place_of_a_file_is_told_before_anything_is_moved(tmp_path: Path) -> None:
    """The old results stay."""
    write(tmp_path, a_txt="one")
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(OutputError, match="a folder stands where the file should be"):
        write(tmp_path, a_txt="two", b_txt="two")
    assert (tmp_path / "a.txt").read_text().startswith("one")


def test_a_second_run_into_the_folder_is_told_who_is_writing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the first takes longer than it waits."""
    monkeypatch.setattr("moisturemap.results.run._WAIT_S", 0.05)
    lock = WriterLock(tmp_path / ".writing")
    with pytest.raises(OutputError, match=rf"elsewhere \(process {os.getpid()}"):
        write(tmp_path, a_txt="one")
    lock.release()
    write(tmp_path, a_txt="one")


@pytest.mark.thorough
def test_the_files_of_a_map_carry_one_id(bakery: Study, tmp_path: Path) -> None:
    """In the way each format has for it."""
    writers = (partial(export_study, bakery), partial(save_map, bakery))
    written = write_run("map", bakery.survey, tmp_path, writers)
    (run,) = read_manifest(tmp_path)["runs"]
    assert json.loads((tmp_path / "summary.json").read_text())["run"] == run
    assert json.loads((tmp_path / "readings.geojson").read_text())["run"] == run
    assert len(gpd.read_file(tmp_path / "readings.geojson"))
    with xr.open_dataset(tmp_path / "surface.nc", engine="scipy") as surface:
        assert surface.attrs["run"] == run
    assert run in (tmp_path / "drill-plan.csv").read_text()
    with Image.open(tmp_path / "map.png") as picture:
        assert picture.info["Comment"] == f"run {run}"
    assert f"run {run}" in (tmp_path / "map.svg").read_text()
    assert run.encode() in (tmp_path / "map.pdf").read_bytes()
    connection = sqlite3.connect(tmp_path / "floor.gpkg")
    (told,) = connection.execute("SELECT metadata FROM gpkg_metadata").fetchone()
    connection.close()
    assert run in told
    assert {path.name for path in written} == {one.name for one in tmp_path.iterdir()}
