"""Photographs of a survey folder stand in its report."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from PIL import Image
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.report.folder_photographs import folder_photographs
from moisturemap.report.material import Material, Supplement
from moisturemap.report.sections.tested import photographs
from moisturemap.report.wording import Wording
from moisturemap.report.write import _with_photographs
from moisturemap.survey import READING_COLUMNS, TEST_COLUMNS, Survey, Visit


def picture(path: Path) -> None:
    """Write an invented photograph."""
    path.parent.mkdir(parents=True, exist_ok=True)
    held = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(held, "JPEG" if path.suffix != ".png" else "PNG")
    path.write_bytes(held.getvalue())


@pytest.fixture
def survey(tmp_path: Path) -> Survey:
    """A folder whose tests name one photograph twice and one that is no picture."""
    rows = [
        {"hole": "K1", "depth_mm": 64.0, "photo": "k1.jpg", "source": "tests.csv"},
        {"hole": "K1a", "depth_mm": 20.0, "photo": "k1.jpg", "source": "tests.csv"},
        {"hole": "K2", "depth_mm": float("nan"), "photo": "text.jpg", "source": "tests.csv"},
        {"hole": "K3", "depth_mm": 64.0, "photo": None, "source": "tests.csv"},
    ]
    tests = pd.DataFrame(rows).reindex(columns=[*TEST_COLUMNS, "photo"])
    empty = pd.DataFrame(columns=list(READING_COLUMNS))
    picture(tmp_path / "k1.jpg")
    (tmp_path / "text.jpg").write_text("no picture")
    plan = FloorPlan((Room("hall", box(0, 0, 4, 3)),))
    return Survey("invented", plan, {}, (Visit("v1"),), empty, tests=tests, folder=tmp_path)


def test_a_photograph_is_shown_once_with_all_holes_that_name_it(survey: Survey) -> None:
    """And one that is no picture is told, not dropped."""
    shown, refused = folder_photographs(survey, Wording())
    assert [one.caption for one in shown] == [
        "Hole K1, 64 mm deep, Hole K1a, 20 mm deep, file k1.jpg"
    ]
    assert refused == ("The photograph text.jpg is not shown: it is no readable JPEG or PNG.",)


def test_pictures_of_the_folder_are_shown_by_the_hole_or_reading_their_names_tell(
    survey: Survey, tmp_path: Path
) -> None:
    """``K12`` is no ``K1``; what names nothing comes last."""
    for name in ("K3 before.jpg", "7-reading 12.png", "K12.jpg", "hall.png"):
        picture(tmp_path / "photographs" / name)
    captions = [one.caption for one in folder_photographs(survey, Wording())[0]]
    assert captions[1:] == [
        "Hole K3, file K3 before.jpg",
        "Reading 12, file 7-reading 12.png",
        "file K12.jpg",
        "file hall.png",
    ]


def test_no_picture_from_outside_the_folder_is_shown(survey: Survey, tmp_path: Path) -> None:
    """A path that leads out of it is told."""
    inner = tmp_path / "job"
    inner.mkdir()
    tests = survey.tests.assign(photo=["../k1.jpg", None, None, None])
    shown, refused = folder_photographs(replace(survey, folder=inner, tests=tests), Wording())
    assert not shown
    assert "k1.jpg is not shown: it lies outside" in refused[0]


def test_the_report_has_them_and_a_project_adds_none(survey: Survey, tmp_path: Path) -> None:
    """The file of a project is no folder: it holds its photographs itself."""
    section = photographs(_with_photographs(Material(survey, supplement=Supplement())))
    assert section is not None
    assert "Hole K1" in str(section.blocks)
    assert "no readable JPEG" in str(section.blocks)
    file = replace(survey, folder=tmp_path / "job.gpkg")
    assert photographs(_with_photographs(Material(file))) is None
