"""What people decided on the job counts on the command line as it does in the app."""

from __future__ import annotations

import json
from collections.abc import Callable
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


@pytest.fixture
def job(tmp_path: Path, store_room: Callable[..., Path]) -> Path:
    """A project file of a small room."""
    folder = store_room(tmp_path / "room", lambda i, j: 30 + i + (3 * i * j) % 5)
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
