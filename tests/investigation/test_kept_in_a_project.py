"""What an investigation is asked of comes back from a project file, and from its folder again."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import moisturemap as mm
from moisturemap.investigation.other_clues import sample_clues
from moisturemap.store import open_project, unpack
from moisturemap.workflow.pack import pack_survey

FLOOR = Path(__file__).parents[2] / "demo_plans" / "clinic"
SAMPLE = "S1,6.7,4.1,oven-dry,40.0,160.0,4.2,mass-%,0.6,3.1,chlorides,2025-11-13T11:00:00+01:00"
COLUMNS = (
    "hole,x,y,method,depth_mm,thickness_mm,value,unit,free_water_pct,hygroscopic_pct,salts,read"
)


@pytest.mark.thorough
def test_samples_dates_and_surface_temperatures_come_back(tmp_path: Path) -> None:
    """Salts, free and hygroscopic water, dates of the covering, surface temperatures by place."""
    folder = tmp_path / "clinic"
    shutil.copytree(FLOOR, folder)
    (folder / "samples.csv").write_text(f"{COLUMNS}\n{SAMPLE}\n", encoding="utf-8")
    setting = folder / "survey.toml"
    told = setting.read_text(encoding="utf-8")
    told = told.replace(
        '[{ file = "tests-v3.csv" }]', '[{ file = "tests-v3.csv" }, { file = "samples.csv" }]'
    )
    setting.write_text(told, encoding="utf-8")
    first = mm.read_survey(folder)
    packed = tmp_path / "clinic.gpkg"
    pack_survey(folder, packed)
    with open_project(packed) as project:
        again = mm.read_survey(unpack(project, tmp_path / "again"))
    for other in (mm.read_survey(packed), again):
        row = other.tests[other.tests["hole"] == "S1"].iloc[0]
        assert (row["free_water_pct"], row["hygroscopic_pct"]) == (0.6, 3.1)
        assert row["salts"] == "chlorides"
        clue = sample_clues(other.tests)[0]
        assert clue.speaks_for == ("salts",)
        assert clue.value == sample_clues(first.tests)[0].value
        for mine, its in zip(first.plan.rooms, other.plan.rooms, strict=True):
            for field in ("covered", "lifted", "first_fault", "membrane", "build_up"):
                assert getattr(mine.slab, field) == getattr(its.slab, field), field
        for mine, its in zip(first.visits, other.visits, strict=True):
            assert mine.surface_temperatures == its.surface_temperatures
