"""Files beside a survey that nobody named."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from moisturemap.survey.own_words import LEFT_UNREAD
from moisturemap.workflow.read import read_survey

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("services.csv", True),
        ("UFH_loops.dxf", True),
        ("Gasleitung.geojson", True),
        ("MEP-ground.ifc", True),
        ("drill_plan.csv", False),
        ("old readings.csv", False),
        ("services.png", False),
    ],
)
def test_a_list_of_services_nobody_named_is_told(name: str, told: bool, tmp_path: Path) -> None:
    """It may draw what a drill would hit."""
    folder = tmp_path / "job"
    shutil.copytree(DEMO, folder)
    (folder / name).write_text("kind,x1,y1,x2,y2\ngas,0,2,4,2\n")
    notes = [one for one in read_survey(folder).notes if LEFT_UNREAD in one]
    assert bool(notes) is told
    assert all(one.startswith(name) for one in notes)
