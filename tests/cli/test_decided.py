"""What people decided on the job counts on the command line as it does in the app."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from moisturemap.bundles import Judgement
from moisturemap.cli import main
from moisturemap.store import open_project
from moisturemap.survey import Survey
from moisturemap.workflow.judge import judge
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


@pytest.mark.thorough
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


VISITED_AGAIN = """
[[visits]]
id = "second"
started = 2026-03-11T09:00:00Z
readings = [{ file = "readings.csv", instrument = "scanner" }]
tests = [{ file = "tests.csv" }]
"""


def patch(i: int, j: int) -> float:
    """Return a reading that is high in the corner that MARK covers."""
    return 80.0 + i - j if 1 <= i <= 4 and 1 <= j <= 4 else 25.0 + (3 * i * j) % 5


@pytest.fixture
def wet_corner(tmp_path: Path, store_room: Callable[..., Path]) -> Path:
    """A project file of two visits and a test, with one wet corner."""
    folder = store_room(tmp_path / "wet room", patch, VISITED_AGAIN)
    (folder / "tests.csv").write_text("method,hole,x,y,value,unit\ncm,H1,3.6,2.6,1.1,CM-%\n")
    pack_survey(folder, tmp_path / "wet.gpkg")
    return tmp_path / "wet.gpkg"


def mark(job: Path) -> None:
    """Mark the wet corner as a mesh."""
    with open_project(job, writable=True) as project:
        project.set("decisions", {"anomalies": [MARK], "holes": []}, "A. Example")


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("command", "told_as"), [("drying", "wet_level"), ("investigate", "causes")]
)
def test_a_mark_stands_in_what_is_made_from_the_map(
    command: str, told_as: str, wet_corner: Path
) -> None:
    """The visits compared and the causes are of the floor without what was marked."""
    before = told(command, wet_corner)
    mark(wet_corner)
    assert told(command, wet_corner)[told_as] != before[told_as]


@pytest.mark.thorough
def test_a_mark_stands_in_the_scan_beside_the_tests(
    wet_corner: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The scan that a decision is drawn over is of the floor with what was marked."""
    seen = []

    def watched(survey: Survey, **wishes: Any) -> Judgement:
        seen.append(judge(survey, **wishes))
        return seen[-1]

    monkeypatch.setattr("moisturemap.workflow.judge.judge", watched)
    told("decide", wet_corner)
    mark(wet_corner)
    told("decide", wet_corner)
    assert [list(one.study.anomalies["anomaly"]) for one in seen] == [[], ["U1"]]
