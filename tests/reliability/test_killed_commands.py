"""Commands killed at random moments: the old results whole or the new ones, issued or not.

``KILLS`` in the environment sets how often (200 by default, in the slow tests).
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.results.run import MANIFEST, read_manifest

KILLS = int(os.environ.get("KILLS", "200"))

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs signals of POSIX"),
]

SURVEY = """
[survey]
name = "Store room"
coordinates = "m"
[plan]
file = "plan.wkt"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "first"
started = 2026-03-04T09:00:00Z
readings = [{ file = "readings.csv", instrument = "scanner" }]
[scan]
wet_level = 50
"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """A small survey."""
    folder = tmp_path / "room"
    folder.mkdir()
    (folder / "plan.wkt").write_text("store;POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))\n")
    write_readings(folder, 30)
    (folder / "survey.toml").write_text(SURVEY)
    return folder


def write_readings(folder: Path, low: int) -> None:
    rows = [f"{0.25 + i / 2},{0.25 + j / 2},{low + 4 * i + j}" for j in range(6) for i in range(8)]
    (folder / "readings.csv").write_text("\n".join(["x,y,value", *rows]) + "\n")


def command(*arguments: object) -> subprocess.Popen[bytes]:
    call = [sys.executable, "-m", "moisturemap", *map(str, arguments)]
    return subprocess.Popen(call, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def timed(*arguments: object) -> float:
    begun = time.perf_counter()
    assert command(*arguments).wait() == 0
    return time.perf_counter() - begun


def killed(delay_s: float, *arguments: object) -> bool:
    """Start a command and kill it after a while; tell whether it was killed in time."""
    process = command(*arguments)
    try:
        process.wait(delay_s)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return True
    return False


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


def test_a_killed_map_never_mixes_two_surveys(room: Path, tmp_path: Path) -> None:
    """The folder holds the whole of one run after each kill.

    Among the renames, which take milliseconds, a kill leaves a plan that the next run carries out;
    then the folder is looked at after that run.
    """
    out, choose = tmp_path / "out", random.Random(5)
    takes_s = max(timed("map", room, "--out", out) for _ in range(2))
    finished = in_time = 0
    for number in range(KILLS):
        write_readings(room, 20 + number % 30)
        # half of the kills fall into the last fifth, where the files are written
        share = choose.uniform(0.8, 1.05) if number % 2 else choose.uniform(0.0, 1.05)
        in_time += killed(share * takes_s, "map", room, "--out", out)
        if (out / ".renames.json").exists():
            finished += 1
            assert command("map", room, "--out", out).wait() == 0
        assert_one_run(out)
    assert in_time > KILLS // 3
    assert finished <= KILLS // 4


def test_a_killed_issue_has_issued_all_formats_or_none(room: Path, tmp_path: Path) -> None:
    """And nothing that was acknowledged is lost."""
    pytest.importorskip("docx")
    project, out, choose = tmp_path / "room.gpkg", tmp_path / "out", random.Random(6)
    assert command("pack", room, project).wait() == 0
    wish = ("report", project, "--out", out, "--format", "docx", "--format", "html")
    takes_s = timed(*wish, "--issue", "A. Tester")
    acknowledged = 2
    for _ in range(KILLS):
        if not killed(choose.uniform(0.5, 1.1) * takes_s, *wish, "--issue", "A. Tester"):
            acknowledged += 2
        with store.open_project(project) as opened:
            assert opened.verify().intact
            count = len(opened.rows("issued_documents"))
        assert count % 2 == 0
        assert count >= acknowledged
        acknowledged = count
