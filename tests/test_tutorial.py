"""The tutorial is true: its files, its commands and its Python run as they stand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from moisturemap.cli import main

PAGE = Path(__file__).resolve().parent.parent / "docs" / "tutorial.md"
FILE = re.compile(r"```(?:text|toml) (\S+)\n(.*?)```", re.DOTALL)
CONSOLE = re.compile(r"```console\n(.*?)```", re.DOTALL)
PYTHON = re.compile(r"```python\n(.*?)```", re.DOTALL)


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which somebody typed every file of the tutorial."""
    folder = tmp_path_factory.mktemp("tutorial")
    files = FILE.findall(PAGE.read_text(encoding="utf-8"))
    assert len(files) == 3
    for name, content in files:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
    return folder


@pytest.mark.thorough
def test_the_commands_of_the_tutorial_run(followed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In order, and the map finds the wet corner by the window."""
    monkeypatch.chdir(followed)
    said = []
    for block in CONSOLE.findall(PAGE.read_text(encoding="utf-8")):
        for line in block.strip().splitlines():
            result = CliRunner().invoke(main, line.split()[1:])
            assert result.exit_code == 0, (line, result.output)
            said.append(result.stdout)
    assert "1 wet zone" in said[2]
    assert len(said[2].splitlines()) <= 20
    assert (followed / "results" / "map.png").exists()
    page = (followed / "results" / "report-first.html").read_text(encoding="utf-8")
    assert "May it be covered? No decision in this report" in page


@pytest.mark.thorough
def test_the_python_of_the_tutorial_runs(followed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As written, in the folder that holds the survey."""
    monkeypatch.chdir(followed)
    (code,) = PYTHON.findall(PAGE.read_text(encoding="utf-8"))
    exec(compile(code, str(PAGE), "exec"), {})
    assert (followed / "results" / "kitchen.html").exists()
