"""Commands as a person or a script calls them: output, exit codes, refusals."""

from __future__ import annotations

import contextlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from moisturemap.cli import COMMANDS, main
from moisturemap.store import open_project

DAY = "2026-03-12"
"""Three days after the tests of the bakery."""

DEMO_PLANS = Path(__file__).resolve().parents[2] / "demo_plans"


def run(*arguments: object) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def small(tmp_path: Path, store_room: Callable[..., Path]) -> Path:
    """A hand-written survey of a small store room."""
    return store_room(tmp_path, lambda i, j: 30 + 4 * i + j, "[scan]\nwet_level = 50\n")


def test_every_command_has_help() -> None:
    """Help works for each command and tells the shape of the call."""
    for command in COMMANDS:
        result = run(command.name, "--help")
        assert result.exit_code == 0
        assert "Usage:" in result.output


@pytest.mark.thorough
def test_json_is_alone_on_stdout(small: Path, tmp_path: Path) -> None:
    """One JSON object on stdout, files and progress on stderr."""
    result = run("map", small, "--json", "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    summary = json.loads(result.stdout)
    assert summary["readings"]["total"] == 48
    assert "wrote" in result.stderr


@pytest.mark.thorough
def test_map_writes_what_it_promises(small: Path, tmp_path: Path) -> None:
    """Figures and the open-format files; other formats of the figures only where asked for."""
    out = tmp_path / "out"
    assert run("map", small, "--out", out).exit_code == 0
    names = {path.name for path in out.iterdir()}
    assert not {"map.svg", "map.pdf"} & names
    wanted = {
        "floor.gpkg",
        "surface.nc",
        "drill-plan.csv",
        "summary.json",
        "map.png",
        "map-check.png",
        "readings.geojson",
    }
    assert wanted <= names
    assert run("map", small, "--out", out, "--figures", "svg", "--figures", "pdf").exit_code == 0
    names = {path.name for path in out.iterdir()}
    assert {"map.svg", "map.pdf", "map-check.pdf"} <= names
    assert "map.png" not in names


def test_drill_keeps_pinned_and_rejected_places(small: Path) -> None:
    """A pinned place is in the plan, a rejected one is not."""
    result = run("drill", small, "--pin", "1.5,1.5", "--reject", "3.5,2.5", "--json")
    assert result.exit_code == 0, result.output
    places = [(hole["x"], hole["y"]) for hole in json.loads(result.stdout)["holes"]]
    assert (1.5, 1.5) in places
    assert all(abs(x - 3.5) + abs(y - 2.5) > 0.2 for x, y in places)


def test_check_speaks_in_sentences(small: Path) -> None:
    """Remarks come one a line with their weight."""
    result = run("check", small)
    assert result.exit_code == 0
    assert "48 readings" in result.output


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda s: (s / "survey.toml").unlink(), "survey.toml"),
        (lambda s: (s / "plan.wkt").write_text("POLYGON ((0 0, 4 3, 4 0, 0 3, 0 0))"), "cross"),
        (lambda s: (s / "readings.csv").write_text("east,north\n1,2\n"), "readings.csv"),
        (lambda s: (s / "readings.csv").write_text(""), "readings.csv"),
        (lambda s: (s / "readings.csv").write_bytes(b"\x00\x01\x02\x00"), "readings.csv"),
    ],
)
def test_bad_input_is_refused_with_exit_1(small: Path, change: object, words: str) -> None:
    """The refusal names the file; there is no traceback."""
    change(small)  # type: ignore[operator]
    result = run("map", small)
    assert result.exit_code == 1, result.output
    assert words in result.stderr
    assert "refused:" in result.stderr
    assert "Traceback" not in result.output


def test_missing_survey_is_refused() -> None:
    """A path that is not there is input refused, not wrong usage."""
    result = run("map", "no/such/folder")
    assert result.exit_code == 1
    assert "no/such/folder" in result.stderr.replace("\\", "/")


def test_wrong_usage_exits_2(small: Path) -> None:
    """Unknown options are wrong usage."""
    assert run("map", small, "--colour").exit_code == 2
    assert run("map").exit_code == 2


def test_bad_place_is_refused(small: Path) -> None:
    """A place that is not two numbers is refused in words."""
    result = run("drill", small, "--pin", "here")
    assert result.exit_code == 1
    assert "3.2,1.5" in result.stderr


def test_help_loads_no_science() -> None:
    """``--help`` must not import the heavy libraries."""
    code = (
        "import sys; from moisturemap.cli import main\n"
        "heavy = {'numpy', 'pandas', 'scipy', 'shapely', 'matplotlib', 'geopandas'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_importing_the_package_loads_no_science() -> None:
    """``import moisturemap`` must not import the heavy libraries."""
    code = "import sys, moisturemap; assert 'numpy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.thorough
def test_a_map_loads_nothing_that_judges(small: Path, tmp_path: Path) -> None:
    """Nor SciPy's statistics and optimisers, nor xarray: they cost as much as the map itself."""
    asked = ["map", str(small), "--out", str(tmp_path / "out")]
    code = (
        "import sys; from moisturemap.cli import main\n"
        f"main({asked}, standalone_mode=False)\n"
        "idle = {'scipy.stats', 'scipy.optimize', 'scipy.interpolate', 'scipy.fft', 'xarray',\n"
        "    'dask', 'moisturemap.acceptance', 'moisturemap.slab', 'moisturemap.drying',\n"
        "    'moisturemap.investigation'}\n"
        "assert not idle & set(sys.modules), idle & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


@pytest.mark.thorough
def test_nothing_that_draws_is_loaded_where_no_figure_is_wanted(small: Path) -> None:
    """It takes half a second of a cold start."""
    code = (
        "import sys; from moisturemap.cli import main\n"
        "for command in ('map', 'drill', 'decide'):\n"
        f"    main([command, {str(small)!r}], standalone_mode=False)\n"
        "assert 'matplotlib' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def test_layout_writes_a_sheet_to_fill_in(small: Path, tmp_path: Path) -> None:
    """The scan sheet has an empty value column and can be read back as readings."""
    out = tmp_path / "out"
    assert run("layout", small / "plan.wkt", "--spacing", "0.5", "--out", out).exit_code == 0
    header = (out / "scan-sheet.csv").read_text(encoding="utf-8-sig").splitlines()[0]
    assert {"order", "room", "x", "y", "value"} <= set(header.split(","))


@pytest.mark.thorough
def test_decision_on_the_bakery_is_caught_by_the_depth_profile(tmp_path: Path) -> None:
    """Every value lies below the limit at its depth; guard band and sealed slab prove nothing."""
    result = run(
        "decide", DEMO_PLANS / "bakery", "--no-scan", "--as-of", DAY, "--json", "--out", tmp_path
    )
    assert result.exit_code == 0, result.output
    decision = json.loads(result.stdout)
    judged = [test for test in decision["tests"] if test["verdict"] != "not judged"]
    assert {test["verdict"] for test in judged} == {"meets", "not proven"}
    assert all(test["value"] < 85.0 for test in judged)
    assert decision["verdict"] == "not proven"
    assert "its uncertainty asks for" in decision["reasons"][0]
    assert "under a covering" in decision["reasons"][1]
    assert (tmp_path / "profile-1.png").stat().st_size > 10_000


def test_the_age_of_tests_is_counted_to_the_day_asked_for() -> None:
    """Without a day it is today; a year later no test is young enough; nonsense is told."""
    late = run("decide", DEMO_PLANS / "bakery", "--no-scan", "--json", "--as-of", "2027-03-12")
    assert late.exit_code == 0, late.output
    decision = json.loads(late.stdout)
    assert decision["as_of"].startswith("2027-03-12")
    assert any("days old, more than 30" in str(row["sentence"]) for row in decision["coverage"])
    assert len(decision["unjudged"]) == len(decision["tests"])
    wrong = run("decide", DEMO_PLANS / "bakery", "--as-of", "soon")
    assert wrong.exit_code == 2
    assert "a day is written 2026-03-14" in wrong.output


def test_deciding_without_tests_is_refused(small: Path) -> None:
    """A scan alone never decides."""
    result = run("decide", small)
    assert result.exit_code == 1
    assert "no calibrated test" in result.stderr


@pytest.mark.thorough
def test_packed_survey_gives_the_same_map(small: Path, tmp_path: Path) -> None:
    """Folder and project file lead to the same summary, and the file agrees with its record."""
    project = tmp_path / "store.gpkg"
    assert run("pack", small, project, "--who", "A. Person").exit_code == 0
    one, other = (json.loads(run("map", path, "--json").stdout) for path in (small, project))
    for summary in (one, other):
        summary.pop("provenance")
        summary.pop("notes")
    assert one == other
    checked = run("check", project)
    assert "agrees with its record" in " ".join(checked.output.split())
    assert run("pack", small, project).exit_code == 1


@pytest.mark.thorough
def test_report_comes_in_three_formats(small: Path, tmp_path: Path) -> None:
    """PDF, DOCX and HTML are written and are what their names say."""
    out = tmp_path / "out"
    formats = ["--format", "pdf", "--format", "docx", "--format", "html"]
    result = run("report", small, "--out", out, *formats, "--field", "Client=A. Person")
    assert result.exit_code == 0, result.output
    assert (out / "report-first.pdf").read_bytes().startswith(b"%PDF")
    assert (out / "report-first.docx").read_bytes().startswith(b"PK")
    assert "A. Person" in (out / "report-first.html").read_text(encoding="utf-8")


@pytest.mark.thorough
def test_captioned_figure_has_text_to_paste(small: Path, tmp_path: Path) -> None:
    """The figure comes with caption and alternative text."""
    result = run("report", small, "--figure", "--width", "165", "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    text = (tmp_path / "out" / "map-text.txt").read_text(encoding="utf-8")
    assert "not a moisture content" in text
    assert "Alternative text" in text


@pytest.mark.thorough
def test_issued_report_is_kept_and_checked(small: Path, tmp_path: Path) -> None:
    """A report issued from a project file is frozen and its numbers still come out."""
    project = tmp_path / "store.gpkg"
    assert run("pack", small, project, "--who", "A. Person").exit_code == 0
    issued = run("report", project, "--out", tmp_path, "--format", "html", "--issue", "A. Person")
    assert issued.exit_code == 0, issued.output
    checked = " ".join(run("check", project).output.split())
    assert re.search(r"report-first-\w{8}-en.html: the same numbers still come out", checked)
    with contextlib.closing(sqlite3.connect(project)) as connection, connection:
        connection.execute("UPDATE readings SET value = 99 WHERE fid = 3")
    checked = " ".join(run("check", project, "--full").output.split())
    assert "still come out" not in checked
    assert "the same numbers come out of the record, not of the rows as they are" in checked


@pytest.mark.thorough
def test_a_visit_may_be_named_as_no_file_can(small: Path, tmp_path: Path) -> None:
    """Slashes and angle brackets of a visit's name do not reach the file system."""
    toml = small / "survey.toml"
    toml.write_text(toml.read_text().replace('id = "first"', 'id = "../4/3 <b>"'))
    result = run("report", small, "--out", tmp_path / "o", "--format", "html")
    assert result.exit_code == 0, result.output
    assert [path.name for path in (tmp_path / "o").iterdir()] == ["report-4-3-b.html"]


def test_a_tampered_project_is_recovered_from_its_record(small: Path, tmp_path: Path) -> None:
    """Check tells it with exit code 0 and a problem; recover writes a sound file."""
    project, new = tmp_path / "store.gpkg", tmp_path / "new.gpkg"
    assert run("pack", small, project).exit_code == 0
    connection = sqlite3.connect(project)
    with connection:
        connection.execute("UPDATE readings SET value = 99 WHERE fid = 3")
    connection.close()
    assert "readings 3: value is 99.0" in run("check", project).output
    result = run("recover", project, new)
    assert result.exit_code == 0, result.output
    assert "Recovered" in result.output
    assert "agrees with its record" in run("check", new).output
    again = run("recover", project, new)
    assert (again.exit_code, "already exists" in again.output) == (1, True)


def test_copies_of_a_job_are_joined(small: Path, tmp_path: Path) -> None:
    """What a tablet's copy holds comes into the file; what is no copy is refused."""
    project, tablet, other = (tmp_path / f"{name}.gpkg" for name in ("job", "tablet", "other"))
    assert run("pack", small, project).exit_code == 0
    shutil.copyfile(project, tablet)
    with open_project(tablet, writable=True) as opened:
        opened.set("walk", "north half", "B. Walker")
    result = run("join", project, tablet, "--who", "A. Marsh")
    assert result.exit_code == 0, result.output
    assert "changes: 1, rows: 1" in result.output
    with open_project(project) as opened:
        assert opened.settings()["walk"] == "north half"
    assert run("pack", small, other).exit_code == 0
    refused = run("join", project, other, "--who", "A. Marsh")
    assert (refused.exit_code, "no copy of this job" in refused.output) == (1, True)


@pytest.mark.thorough
@pytest.mark.parametrize("command", ["map", "drill", "check"])
def test_the_answer_fits_a_terminal(small: Path, command: str) -> None:
    """Twenty lines by default, what matters first; everything with --full."""
    short, full = run(command, small), run(command, small, "--full")
    assert len(short.stdout.splitlines()) <= 20
    assert "--full" in short.stdout
    assert all(len(line) <= 96 for line in short.stdout.splitlines())
    assert "--full" not in full.stdout


@pytest.mark.thorough
def test_the_verdict_and_its_reason_fit_a_terminal() -> None:
    """Verdict, why and what to do, on twenty lines."""
    result = run("decide", DEMO_PLANS / "bakery", "--as-of", DAY)
    lines = result.stdout.splitlines()
    assert len(lines) <= 20
    assert lines[1].startswith("Verdict: ")
    assert any(line.startswith("  why") for line in lines)
    assert "What to do" in lines


@pytest.mark.thorough
def test_us_units_leave_no_metre(small: Path) -> None:
    """Distances, depths and areas as on a tape, in everything that is printed."""
    for command in ("map", "drill", "check"):
        words = run(command, small, "--units", "us", "--full").stdout
        assert " ft" in words or " in" in words
        assert not re.findall(r"\d m\b|\d m2\b|\d mm deep", words)
