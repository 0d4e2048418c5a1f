"""What scripts rely on: exit codes, JSON also of refusals, stdin, progress off a terminal."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from moisturemap.cli import main
from moisturemap.cli import progress as progress_of

PLAN = "store room;POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))\n"


def run(*arguments: object, stdin: bytes | None = None) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, [str(one) for one in arguments], input=stdin)


@pytest.fixture
def room(tmp_path: Path, store_room: Callable[..., Path]) -> Path:
    """A small survey."""
    return store_room(tmp_path / "room", lambda i, j: 30 + i + j)


def test_check_exits_by_its_result_when_asked(room: Path) -> None:
    """0, 3 or 4 by the most serious remark; without the flag 1 when nothing can be mapped."""
    plain = run("check", room, "--json")
    levels = {one["level"] for one in json.loads(plain.stdout)["remarks"]}
    expected = 4 if "problem" in levels else 3 if "warning" in levels else 0
    assert run("check", room, "--exit-by-result").exit_code == expected
    text = (room / "readings.csv").read_text().splitlines()
    far = [text[0], *(f"9{line}" for line in text[1:])]
    (room / "readings.csv").write_text("\n".join(far))
    assert run("check", room).exit_code == 1
    assert run("check", room, "--exit-by-result").exit_code == 4


@pytest.mark.parametrize(("value", "code"), [(99, 4), (60, 3)])
def test_decide_exits_by_its_verdict_when_asked(room: Path, value: int, code: int) -> None:
    """4 when a test exceeds the limit; one test below it proves nothing for the floor."""
    head = "hole,x,y,method,depth_mm,value,unit,temperature_c,drilled,placed,read\n"
    row = f"H1,1,1,in-situ-rh,60,{value},%RH,20,2026-03-01 10:00,2026-03-01 10:20,2026-03-04 10:30"
    (room / "tests.csv").write_text(head + row + "\n")
    toml = (
        (room / "survey.toml")
        .read_text()
        .replace("readings = [", 'tests = [{ file = "tests.csv" }]\nreadings = [')
    )
    limit = '[limit]\nmethod = "in-situ-rh"\nvalue = 85\nunit = "%RH"\nsource = "invented sheet"\n'
    (room / "survey.toml").write_text(toml + limit)
    assert run("decide", room, "--no-scan").exit_code == 0
    found = run("decide", room, "--no-scan", "--exit-by-result")
    assert found.exit_code == code, found.output


def test_refusals_are_json_when_json_is_asked_for(room: Path) -> None:
    """On stdout, with their parts; wrong usage as well."""
    (room / "readings.csv").write_text("x,y,value\n1o,1,40\n")
    refused = run("check", room, "--json")
    assert refused.exit_code == 1
    told = json.loads(refused.stdout)["refused"]
    assert told["kind"] == "SurveyError"
    assert (told["source"], told["value"]) == ("readings.csv", "1o")
    assert told["sentence"] in refused.stderr
    missing = json.loads(run("check", room / "nowhere.gpkg", "--json").stdout)
    assert missing["refused"]["kind"] == "StoreError"
    wrong = run("check", room, "--json", "--colour")
    assert wrong.exit_code == 2
    assert "--colour" in json.loads(wrong.stdout)["usage"]
    assert run("check", room, "--colour").stdout == ""


def test_a_folder_of_results_is_held_against_its_manifest(room: Path, tmp_path: Path) -> None:
    """Changed and missing files are problems."""
    out = tmp_path / "out"
    assert run("layout", room / "plan.wkt", "--out", out).exit_code == 0
    sound = run("check", out, "--exit-by-result")
    assert (sound.exit_code, "unchanged since" in sound.output) == (0, True)
    (out / "scan-sheet.csv").write_text("filled in")
    (out / "scan-sheet.geojson").unlink()
    found = run("check", out, "--exit-by-result")
    assert found.exit_code == 4
    assert "scan-sheet.csv was changed" in found.output
    assert "scan-sheet.geojson is missing" in found.output


def test_one_file_is_read_from_stdin(room: Path, tmp_path: Path) -> None:
    """A plan in any format, and a project."""
    project = tmp_path / "room.gpkg"
    assert run("pack", room, project).exit_code == 0
    found = run("check", "-", stdin=project.read_bytes())
    assert found.exit_code == 0, found.output
    assert "agrees with its record" in " ".join(found.output.split())
    ring = [[0, 0], [4, 0], [4, 3], [0, 3]]
    geojson = json.dumps({"type": "Polygon", "coordinates": [ring]})
    for plan in (PLAN, geojson):
        laid = run("layout", "-", "--json", stdin=plan.encode())
        assert laid.exit_code == 0, laid.output
        assert json.loads(laid.stdout)["places"]
    refused = run("check", "-", stdin=b"rubbish")
    assert refused.exit_code == 1
    assert "refused: stdin.gpkg: not a project file" in " ".join(refused.output.split())


def test_the_head_of_a_record_is_kept_and_checked(room: Path, tmp_path: Path) -> None:
    """As a line, and signed."""
    pytest.importorskip("cryptography")
    project, head = tmp_path / "room.gpkg", tmp_path / "room.head.json"
    run("pack", room, project)
    line = run("sign", project).stdout
    assert "whose head was kept" in run("check", project, "--head", line).output
    key = tmp_path / "firm.pem"
    assert run("sign", "--new-key", key).exit_code == 0
    assert run("sign", project, "--key", key, "--out", head).exit_code == 0
    checked = ("check", project, "--head", head, "--public-key", key.with_suffix(".pub.pem"))
    assert "signed with the key of the firm" in " ".join(run(*checked).output.split())
    project.unlink()
    run("pack", room, project)
    again = run(*checked, "--exit-by-result")
    assert again.exit_code == 4
    assert "another project" in again.output
    for wrong in (("sign",), ("sign", project, "--new-key", tmp_path / "x")):
        assert run(*wrong).exit_code == 2


def test_progress_tells_a_line_every_few_seconds_off_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And nothing at all for short work."""
    clock = [0.0]
    monkeypatch.setattr(progress_of.time, "monotonic", lambda: clock[0])
    shown = progress_of.Shown()
    for second in range(13):
        clock[0] = float(second)
        shown("mapping", second / 13)
    shown.close()
    lines = capsys.readouterr().err.splitlines()
    assert lines == [
        " 38% mapping (5 s, about 8 s left)",
        " 77% mapping (10 s, about 3 s left)",
    ]


def test_progress_is_a_bar_on_a_terminal_that_never_goes_back(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the phrase beside it; a second piece of work begins another."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    shown = progress_of.Shown()
    for phrase, done in (("cleaning", 0.02), ("mapping", 0.5), ("outlining", 0.4), ("done", 1.0)):
        shown(phrase, done)
    shown("judging", 0.3)
    shown.close()
    assert shown._bar is None
    capsys.readouterr()


@pytest.mark.skipif(os.name == "nt", reason="sends a signal of POSIX")
def test_ctrl_c_ends_at_once_although_a_thread_still_computes(tmp_path: Path) -> None:
    """Python alone would wait for the thread, here for half a minute."""
    program = tmp_path / "program.py"
    program.write_text(
        "import sys, threading, time, click\n"
        "from moisturemap.cli.door import Door, progress\n"
        "@click.group(cls=Door)\n"
        "def main(): pass\n"
        "@main.command()\n"
        "def work():\n"
        "    say = progress()\n"
        "    threading.Thread(target=time.sleep, args=(30,)).start()\n"
        "    print('begun', flush=True)\n"
        "    while True: time.sleep(0.05); say('working', 0.5)\n"
        "main(['work'])\n"
    )
    process = subprocess.Popen(
        [sys.executable, program],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # a run in the background of a shell ignores the signal, and hands that on
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert process.stdout is not None
    process.stdout.readline()
    begun = time.monotonic()
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=20)
    assert time.monotonic() - begun < 10
    assert process.returncode == 130
    assert "Nothing half-written was left" in told
