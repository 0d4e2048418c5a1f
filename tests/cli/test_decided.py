"""What people decided on the job counts on the command line as it does in the app."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from moisturemap.cli import main
from moisturemap.store import open_project
from moisturemap.workflow.pack import pack_survey

MARK = {
    "verdict": "marked",
    "kind": "mesh",
    "places": [[0.5, 0.5], [2.5, 0.5], [2.5, 2.5], [0.5, 2.5]],
    "why": "mesh seen",
    "who": "A. Example",
    "when": "2026-03-20",
}
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
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A project file of a small room."""
    folder = tmp_path / "room"
    folder.mkdir()
    (folder / "plan.wkt").write_text("store room;POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))\n")
    rows = [
        f"{0.25 + 0.5 * i},{0.25 + 0.5 * j},{30 + i + (3 * i * j) % 5}"
        for j in range(6)
        for i in range(8)
    ]
    (folder / "readings.csv").write_text("\n".join(["x,y,value", *rows]) + "\n")
    (folder / "survey.toml").write_text(SURVEY)
    pack_survey(folder, tmp_path / "job.gpkg")
    return tmp_path / "job.gpkg"


def told(command: str, job: Path) -> dict[str, object]:
    """Return what a command prints as JSON."""
    result = CliRunner().invoke(main, [command, str(job), "--json"])
    assert result.exit_code == 0, result.output
    found: dict[str, object] = json.loads(result.stdout)
    return found


@pytest.mark.parametrize("command", ["map", "drill"])
def test_floor_marked_on_the_job_is_left_out(command: str, job: Path) -> None:
    """A mesh somebody marked stands in the results, and its readings leave the map."""
    before = told(command, job)
    with open_project(job, writable=True) as project:
        project.set("decisions", {"anomalies": [MARK], "holes": []}, "A. Example")
    after = told(command, job)
    assert before != after
    if command == "map":
        assert "mesh" not in json.dumps(before["anomalies"])
        assert "mesh" in json.dumps(after["anomalies"])
