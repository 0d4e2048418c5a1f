"""The command ``drying`` as a person or a script calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from moisturemap.cli import main

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
[scan]
wet_level = 42
"""

VISIT = """
[[visits]]
id = "{name}"
started = {day}T09:00:00Z
operator = "Q. Nameless"
readings = [{{ file = "{name}.csv", instrument = "scanner" }}]
"""


def run(*arguments: object) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["drying", *map(str, arguments)])


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """A small room read on two visits, one wet end that dries."""
    (tmp_path / "plan.wkt").write_text("store room;POLYGON ((0 0, 5 0, 5 4, 0 4, 0 0))\n")
    toml = SURVEY
    for name, day, rise in (("first", "2026-03-04", 30), ("second", "2026-03-18", 14)):
        rows = ["x,y,value"]
        rows += [
            f"{0.25 + 0.5 * i},{0.25 + 0.5 * j},{30 + (i * j) % 3 + max(rise - 5 * i, 0)}"
            for j in range(8)
            for i in range(10)
        ]
        (tmp_path / f"{name}.csv").write_text("\n".join(rows) + "\n")
        toml += VISIT.format(name=name, day=day)
    (tmp_path / "survey.toml").write_text(toml)
    return tmp_path


@pytest.mark.thorough
def test_json_is_alone_on_stdout(room: Path) -> None:
    """One object; no air data and no machines are said, not invented."""
    result = run(room, "--json")
    assert result.exit_code == 0, result.output
    content = json.loads(result.stdout)
    assert content["change"]["area_m2"]["dried"] > 0
    assert content["equipment"] is None
    assert any("No air temperature" in text for text in content["statements"])


@pytest.mark.thorough
def test_machines_can_be_asked_for_by_number(room: Path, tmp_path: Path) -> None:
    """One to bring, and the files."""
    out = tmp_path / "out"
    result = run(room, "--dehumidifiers", 1, "--dry-level", 31, "--out", out)
    assert result.exit_code == 0, result.output
    assert "Bring one more dehumidifier" in " ".join(result.stdout.split())
    assert {"drying-placement.png", "drying-moves.csv", "drying.json"} <= {
        path.name for path in out.iterdir()
    }
    for path in out.iterdir():
        assert b"Q. Nameless" not in path.read_bytes(), path.name


def test_an_unknown_visit_is_refused(room: Path) -> None:
    """With what is allowed, exit code 1."""
    result = run(room, "--visits", "first,third")
    assert result.exit_code == 1
    assert "first, second" in result.stderr
