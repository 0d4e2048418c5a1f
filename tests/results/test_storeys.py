"""A building of two storeys in one plan."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import box, mapping

from moisturemap.entry import plan_from_plain, plan_to_plain
from moisturemap.errors import SurveyError
from moisturemap.floorplan import Storey
from moisturemap.report.content import Picture, Table
from moisturemap.report.material import Material
from moisturemap.report.sections.storeys import storeys
from moisturemap.results.storeys import from_above, on_storey, storey_table, storeys_of
from moisturemap.results.summary import summarise
from moisturemap.store import open_project, pack, read_project, unpack
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

TOML = """
[survey]
name = "Two storeys"
coordinates = "m"
[plan]
file = "plan.geojson"
[[storeys]]
name = "first floor"
level = 1
origin = [10, 0]
[[storeys]]
name = "ground floor"
level = 0
[[rooms]]
name = "shop"
storey = "ground floor"
[[rooms]]
name = "flat"
storey = "first floor"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "v1"
readings = [{ file = "readings.csv", instrument = "scanner" }]
[scan]
wet_level = 45
"""


@pytest.fixture(scope="module")
def building(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop and a flat above it, drawn 10 m apart, both wet about the same shaft."""
    folder = tmp_path_factory.mktemp("building")
    (folder / "survey.toml").write_text(TOML, encoding="utf-8")
    rooms = {"shop": box(0, 0, 6, 5), "flat": box(10, 0, 16, 5)}
    features = [
        {"type": "Feature", "properties": {"name": name}, "geometry": mapping(shape)}
        for name, shape in rooms.items()
    ]
    content = {"type": "FeatureCollection", "features": features}
    (folder / "plan.geojson").write_text(json.dumps(content), encoding="utf-8")
    rng = np.random.default_rng(3)
    lines = ["x,y,value"]
    for left in (0.0, 10.0):
        for x in np.arange(0.25, 6, 0.5):
            for y in np.arange(0.25, 5, 0.5):
                wet = 50 * np.exp(-0.5 * ((x - 2.5) ** 2 + (y - 2.5) ** 2) / 0.8)
                lines.append(f"{left + x},{y},{20 + wet + rng.normal(0, 1):.1f}")
    (folder / "readings.csv").write_text("\n".join(lines), encoding="utf-8")
    return folder


@pytest.mark.thorough
def test_wet_floor_below_wet_floor_is_named_and_each_storey_listed(building: Path) -> None:
    """From the top down; the sentence says where to look first."""
    found = study(read_survey(building))
    table = storey_table(found)
    assert list(table["storey"]) == ["first floor", "ground floor"]
    assert (table["zones"] == 1).all()
    assert table["area_m2"].to_list() == [30.0, 30.0]
    (sentence,) = from_above(found)
    assert "on ground floor lies below zone" in sentence
    assert summarise(found)["storeys"]["from_above"] == [sentence]


@pytest.mark.thorough
def test_wet_floor_elsewhere_in_plan_is_not_named(building: Path, tmp_path: Path) -> None:
    """The shared point decides what lies above what."""
    for path in building.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    moved = TOML.replace("origin = [10, 0]", "origin = [14, 0]")
    (tmp_path / "survey.toml").write_text(moved, encoding="utf-8")
    assert from_above(study(read_survey(tmp_path))) == ()


def test_storeys_outlive_the_project_file_the_page_and_the_folder(
    building: Path, tmp_path: Path
) -> None:
    """Packed, edited as a page edits, unpacked."""
    survey = read_survey(building)
    wanted = {"shop": Storey("ground floor", 0), "flat": Storey("first floor", 1, (10.0, 0.0))}
    pack(survey, tmp_path / "job.gpkg", "A. Person")
    kept = read_project(tmp_path / "job.gpkg")
    edited = plan_from_plain(plan_to_plain(survey.plan))
    with open_project(tmp_path / "job.gpkg") as project:
        back = read_survey(unpack(project, tmp_path / "out"))
    for plan in (survey.plan, kept.plan, edited, back.plan):
        assert {room.name: room.storey for room in plan.rooms} == wanted


def test_a_storey_that_is_not_listed_is_refused(building: Path, tmp_path: Path) -> None:
    """Room, value and what is known."""
    for path in building.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    wrong = TOML.replace('storey = "ground floor"', 'storey = "grund floor"')
    (tmp_path / "survey.toml").write_text(wrong, encoding="utf-8")
    with pytest.raises(SurveyError, match="grund floor"):
        read_survey(tmp_path)


@pytest.mark.thorough
def test_a_report_lists_the_storeys_and_draws_each_alone(building: Path) -> None:
    """Table, what lies below what, a map of each storey with its own rooms and readings only."""
    found = study(read_survey(building))
    upper, lower = storeys_of(found)
    parts = [on_storey(found, one) for one in (upper, lower)]
    assert [[room.name for room in one.survey.plan.rooms] for one in parts] == [["flat"], ["shop"]]
    assert sum(len(one.readings) for one in parts) == len(found.readings)
    assert sum(len(one.zones) for one in parts) == len(found.zones)
    assert all(one.wet.unsure.within(found.wet.unsure.buffer(1e-6)) for one in parts)
    section = storeys(Material(found))
    assert section is not None
    table, lead, bullets, *maps = section.blocks
    assert isinstance(table, Table)
    assert [row[0] for row in table.rows] == ["first floor", "ground floor"]
    assert "Wet floor below wet floor" in str(lead)
    assert "lies below zone" in str(bullets)
    assert [one.caption for one in maps if isinstance(one, Picture)] == [
        "Relative readings on first floor",
        "Relative readings on ground floor",
    ]
