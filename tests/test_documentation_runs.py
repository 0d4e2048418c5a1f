"""What README and docs tell to type runs as it stands: commands and Python."""

from __future__ import annotations

import dataclasses
import itertools
import json
import re
import shlex
import shutil
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

import moisturemap as mm
from moisturemap import store
from moisturemap.cli import main
from moisturemap.survey import Survey
from moisturemap.synthetic import FloorRecipe, make_floor, write_folder

ROOT = Path(__file__).resolve().parent.parent
HAVE_TESTS_OF_THEIR_OWN = {"tutorial.md", "gallery.md", "command-line.md"}
PAGES = {
    page.relative_to(ROOT).as_posix(): page.read_text(encoding="utf-8")
    for page in [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
    if page.name not in HAVE_TESTS_OF_THEIR_OWN
}
COMMAND = re.compile(r"^(?: {4})?(?:\.venv/bin/)?moisturemap (.+)$", re.MULTILINE)
INLINE = re.compile(r"`moisturemap ((?:check|map|decide|sign|recover) [a-z][\w./ -]+)`")
PYTHON = re.compile(r"```python\n(.*?)```", re.DOTALL)
FILE = re.compile(r"`([\w.-]+)`\n\n```(?:toml|json|csv)\n(.*?)```", re.DOTALL)

ONLY_READ = {
    "serve": "it serves until it is stopped",
    "--scheduler": "no cluster stands there",
    "--head": "a head and a key of nobody",
    "recover damaged": "a file that is damaged",
    "join job": "two copies that were worked on apart",
    "report my_floor": "docs/report.md has a copy of this floor written, in one more format",
}
"""Commands whose options are read, but which are not run, and why."""


def written(pattern: re.Pattern[str]) -> list[Any]:
    """Everything of a kind that the pages tell to type, with its page."""
    return [
        pytest.param(page, found, id=f"{page}: {found.split('  ')[0].strip()[:60]}")
        for page, text in PAGES.items()
        for found in pattern.findall(text)
    ]


def scanned(seed: int) -> Survey:
    """Return an invented scan of some 120 readings by a model that is named."""
    survey = make_floor(FloorRecipe(width=6.0, depth=5.0, spacing=0.5), seed).survey
    meters = {
        name: dataclasses.replace(one, model="invented meter")
        for name, one in survey.instruments.items()
    }
    return dataclasses.replace(survey, instruments=meters)


def example(folder: Path) -> None:
    """Write the example of docs/survey-folder.md as it is printed there."""
    folder.mkdir()
    files = dict(FILE.findall(PAGES["docs/survey-folder.md"]))
    assert set(files) == {
        "survey.toml",
        "plan.geojson",
        "readings.csv",
        "tests.csv",
        "equipment.csv",
    }
    for name, content in files.items():
        (folder / name).write_text(content, encoding="utf-8")


def write_plan(path: Path) -> None:
    """Write one room with its four walls."""
    corners = [[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]]
    room = {"type": "Polygon", "coordinates": [corners]}
    shapes = [({"name": "store"}, room)]
    for side in itertools.pairwise(corners):
        shapes.append(
            ({"kind": "exterior-wall"}, {"type": "LineString", "coordinates": list(side)})
        )
    features = [{"type": "Feature", "properties": p, "geometry": g} for p, g in shapes]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))


def twice_visited(folder: Path) -> None:
    """Write a room read twice a week apart, with a test and a machine, by the words of README."""
    folder.mkdir()
    write_plan(folder / "plan.geojson")
    across, up = (part.ravel() for part in np.meshgrid(np.arange(0.25, 4, 0.5), [0.5, 1.5, 2.5]))
    noise = np.random.default_rng(2).normal(0, 1, across.size)
    wet = 40 * np.exp(-((across - 3.5) ** 2) / 2)
    for visit, share in ((1, 1.0), (2, 0.6)):
        rows = zip(across, up, np.round(30 + noise + share * wet), strict=True)
        lines = ["x,y,value", *(f"{x},{y},{value:g}" for x, y, value in rows)]
        (folder / f"readings-{visit}.csv").write_text("\n".join(lines) + "\n")
    (folder / "tests.csv").write_text(
        "hole,x,y,method,depth_mm,value,unit,temperature_c,drilled,placed,read,instrument\n"
        "H1,3.5,1.5,in-situ-rh,40,88,%RH,20,2026-03-04 10:00,2026-03-04 11:00,2026-03-11 09:00,p\n"
    )
    (folder / "machines.csv").write_text(
        "machine,kind,x,y,capacity,unit\nD1,dehumidifier,1,2,20,l/day\n"
    )
    (folder / "survey.toml").write_text(
        """
[survey]
name = "Store"
coordinates = "m"
[plan]
file = "plan.geojson"
[[rooms]]
name = "store"
base = "concrete slab"
thickness_mm = 100
drying_faces = 1
[[instruments]]
id = "meter"
kind = "relative"
scale = [0, 100]
[[instruments]]
id = "p"
kind = "rh-probe"
[scan]
wet_level = 45
[limit]
method = "in-situ-rh"
value = 85
unit = "%RH"
source = "invented sheet"
[[visits]]
id = "v1"
started = 2026-03-04T09:00:00+01:00
readings = [{ file = "readings-1.csv", instrument = "meter" }]
[[visits]]
id = "v2"
started = 2026-03-11T09:00:00+01:00
readings = [{ file = "readings-2.csv", instrument = "meter" }]
tests = [{ file = "tests.csv" }]
equipment = [{ file = "machines.csv" }]
"""
    )


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which every file that the pages speak of lies under its name."""
    folder = tmp_path_factory.mktemp("desk")
    twice_visited(folder / "my_floor")
    shutil.copytree(folder / "my_floor", folder / "my-survey")
    example(folder / "corner-shop")
    for name, seed in (("jobs/one", 5), ("jobs/two", 6), ("survey", 7)):
        write_folder(scanned(seed), folder / name)
    (folder / "jobs.csv").write_text("survey\njobs/one\njobs/two\n")
    (folder / "my-jobs").mkdir()
    for name in ("job.gpkg", "harbour.gpkg"):
        store.pack(mm.read_survey(folder / "my_floor"), folder / name, "A. Person")
    return folder


@pytest.fixture
def at_the_desk(place: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Work in that folder."""
    monkeypatch.chdir(place)
    return place


@pytest.mark.thorough
@pytest.mark.parametrize(("page", "line"), written(COMMAND) + written(INLINE))
def test_commands_run(page: str, line: str, at_the_desk: Path) -> None:
    """In the order of each page; those that cannot be run here are read with all their options."""
    arguments = shlex.split(line, comments=True)
    if next((why for mark, why in ONLY_READ.items() if mark in line), None):
        command = main.commands[arguments[0]]
        command.make_context(arguments[0], arguments[1:], resilient_parsing=False)
        return
    ran = CliRunner().invoke(main, arguments)
    assert ran.exit_code == 0, (page, line, ran.output, ran.exception)


def names_of(page: str, folder: Path) -> dict[str, Any]:
    """What the text before a piece of Python has already given names to."""
    survey = mm.read_survey(folder / ("survey" if page == "docs/many-floors.md" else "my_floor"))
    points = np.column_stack([survey.readings["x"], survey.readings["y"]])
    known: dict[str, Any] = {"survey": survey, "Path": Path}
    if page == "docs/method/kriging.md":
        first = (survey.readings["visit"] == "v1").to_numpy()
        known |= {"points": points[first], "cells": np.array([[1.0, 1.0], [3.0, 2.0]])}
        known["values"] = survey.readings.loc[first, "value"].to_numpy()
        known |= {"room_of_point": points[first, 0] > 2, "room_of_cell": np.array([False, True])}
    if page == "docs/report.md":
        study = mm.study(survey)
        known |= {"study": study, "decision": mm.decide(survey, study), "drying": None}
    if page == "docs/project-file.md":
        (folder / "job.gpkg").unlink(missing_ok=True)
        Image.new("RGB", (60, 40)).save(folder / "hole-1.jpg")
        row = {"visit": "v2", "instrument": "meter", "x": 1.0, "y": 1.0, "value": 31.0}
        known["rows"] = [row | {"time": datetime.fromisoformat("2026-03-11T09:30+01:00")}]
    if page == "docs/method/synthetic.md":
        known["points"] = np.array([[1.0, 1.0]])
    return known


@pytest.mark.thorough
@pytest.mark.parametrize("page", [page for page, text in PAGES.items() if PYTHON.search(text)])
def test_python_runs(page: str, at_the_desk: Path) -> None:
    """Each page from top to bottom in one session."""
    session = names_of(page, at_the_desk)
    for code in PYTHON.findall(PAGES[page]):
        exec(compile(code, page, "exec"), session)
