"""Commands killed at random moments: the old results whole or the new ones, issued or not.

``KILLS`` in the environment sets how often (200 by default, in the slow tests), ``KILL_SEED`` where
the moments begin.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import signal
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.cli import main
from moisturemap.results.run import MANIFEST, read_manifest

KILLS = int(os.environ.get("KILLS", "200"))
SEED = int(os.environ.get("KILL_SEED", "5"))
FRESH = 10
"""Kills of one project: what is issued stays in it, and each opening reads all of it."""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs signals of POSIX"),
]


SCAN = "[scan]\nwet_level = 50\n"


def value(low: int) -> Callable[[int, int], float]:
    """Return what is read at a place, from some lowest reading on."""
    return lambda i, j: low + 4 * i + j


@pytest.fixture
def room(tmp_path: Path, store_room: Callable[..., Path]) -> Path:
    """A small survey."""
    return store_room(tmp_path / "room", value(30), SCAN)


def command(*arguments: object) -> int:
    """Run a command in a process of its own, which has everything loaded; return its number."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # fork beside idle numpy threads
        child = os.fork()
    if child == 0:
        with Path(os.devnull).open("w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
        try:
            main([str(one) for one in arguments], standalone_mode=False)
        except BaseException:
            os._exit(1)
        os._exit(0)
    return child


def finish(child: int) -> None:
    assert os.waitpid(child, 0)[1] == 0


class Killer:
    """Kills commands at a share of the time they take, which it learns from those that end."""

    def __init__(self) -> None:
        self.takes_s = 60.0
        self.in_time = 0

    def run(self, *arguments: object) -> None:
        begun = time.perf_counter()
        finish(command(*arguments))
        self.takes_s = time.perf_counter() - begun

    def kill(self, share: float, *arguments: object) -> bool:
        """Tell whether the command was killed before its end."""
        child, begun = command(*arguments), time.perf_counter()
        while time.perf_counter() - begun < share * self.takes_s:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                assert status == 0
                self.takes_s = time.perf_counter() - begun
                return False
            time.sleep(0.002)
        os.kill(child, signal.SIGKILL)
        killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
        self.in_time += killed
        return killed


def assert_one_run(out: Path) -> str:
    """Every file is of one run and as the manifest has it; return the id."""
    manifest = read_manifest(out)
    (run,) = manifest["runs"]
    shown = {one.name for one in out.iterdir() if not one.name.startswith(".")} - {MANIFEST}
    assert shown == set(manifest["files"])
    for name, told in manifest["files"].items():
        content = (out / name).read_bytes()
        assert hashlib.sha256(content).hexdigest() == told["sha256"], name
        assert told["run"] == run
    assert json.loads((out / "summary.json").read_text())["run"] == run
    return str(run)


def test_a_killed_map_never_mixes_two_surveys(
    room: Path, tmp_path: Path, store_room: Callable[..., Path]
) -> None:
    """The folder holds the whole of one run after each kill.

    Among the renames, which take milliseconds, a kill leaves a plan that the next run carries out;
    then the folder is looked at after that run.
    """
    out, choose, killer = tmp_path / "out", random.Random(SEED), Killer()
    for _ in range(2):
        killer.run("map", room, "--out", out)
    finished = 0
    for number in range(KILLS):
        store_room(room, value(20 + number % 30), SCAN)
        # half of the kills fall into the last part, where the files are written
        share = choose.uniform(0.6, 1.0) if number % 2 else choose.uniform(0.0, 1.0)
        killer.kill(share, "map", room, "--out", out)
        if (out / ".renames.json").exists():
            finished += 1
            killer.run("map", room, "--out", out)
        assert_one_run(out)
    assert killer.in_time > KILLS // 3
    assert finished <= KILLS // 4


def test_a_killed_issue_has_issued_all_formats_or_none(room: Path, tmp_path: Path) -> None:
    """And nothing that was acknowledged is lost."""
    pytest.importorskip("docx")
    project, out, choose = tmp_path / "room.gpkg", tmp_path / "out", random.Random(SEED + 1)
    killer, packed = Killer(), tmp_path / "packed.gpkg"
    killer.run("pack", room, packed)
    wish = ("report", project, "--out", out, "--format", "docx", "--format", "html")
    wish += ("--issue", "A. Tester")
    acknowledged = 0
    for number in range(KILLS):
        if number % FRESH == 0:
            shutil.copyfile(packed, project)
            killer.run(*wish)
            acknowledged = 2
        acknowledged += 0 if killer.kill(choose.uniform(0.4, 1.0), *wish) else 2
        with store.open_project(project) as opened:
            assert opened.verify().intact
            count = len(opened.rows("issued_documents"))
        assert count % 2 == 0
        assert count >= acknowledged
        acknowledged = count
    assert killer.in_time > KILLS // 3
