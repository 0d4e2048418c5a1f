"""What is said of a floor that gives little or nothing to map."""

from __future__ import annotations

from pathlib import Path

import pytest

from moisturemap.bundles import Study
from moisturemap.figures import check_figure, map_figure
from moisturemap.figures.floor_map import caption
from moisturemap.mapping.areas import poorly_known_area
from moisturemap.results.brief import brief_study
from moisturemap.results.study_words import describe, not_numeric_words
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

SURVEY = """
[survey]
name = "Store"
[plan]
file = "plan.wkt"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "v1"
started = 2026-03-04T09:00:00+01:00
readings = "readings.csv"
"""


def floor(folder: Path, readings: str, more: str = "") -> Study:
    """Study a room of 5 x 4 m with the readings given."""
    (folder / "plan.wkt").write_text("POLYGON ((0 0, 5 0, 5 4, 0 4, 0 0))")
    (folder / "readings.csv").write_text("x,y,value\n" + readings)
    (folder / "survey.toml").write_text(SURVEY + more)
    return study(read_survey(folder))


@pytest.mark.thorough
def test_three_readings_give_a_map_that_says_how_little_it_rests_on(tmp_path: Path) -> None:
    """Floor far from all three is dotted as hardly known, and the caption warns."""
    few = floor(tmp_path, "1,1,30\n4,1,60\n2,3,45\n")
    assert "Only 3 places read" in caption(few)
    assert poorly_known_area(few.moisture, few.survey.plan, few.readings).area > 3.0
    words = " ".join(item.get_text() for axes in check_figure(few).axes for item in axes.texts)
    assert "too few readings for a variogram" in words


def test_a_floor_at_full_scale_is_not_called_free_of_wet_zones(tmp_path: Path) -> None:
    """Every reading at the top: wet all over is a possibility, and no map is claimed."""
    rows = "".join(f"{x / 2},{y / 2},100\n" for x in range(1, 10) for y in range(1, 8))
    full = floor(tmp_path, rows)
    assert full.wet.level.value is None
    assert "wet all over" in full.wet.statement
    assert "o distinct wet zone" not in describe(full)
    assert "no part of the floor could be mapped" in caption(full)
    assert "reads highest" not in describe(full)
    map_figure(full)


def test_no_map_leaves_a_stated_level_open(tmp_path: Path) -> None:
    """With a wet level but one reading, nothing is said to lie below it."""
    one = floor(tmp_path, "1,1,30\n", more="[scan]\nwet_level = 50\n")
    assert "neither be outlined nor ruled out" in one.wet.statement
    assert "below" not in one.wet.statement
    assert one.zones.empty


@pytest.mark.parametrize("readings", ["1,1,30\n", "1,1,30\n4,1,60\n2,3,45\n"])
def test_nothing_is_said_twice(tmp_path: Path, readings: str) -> None:
    """Each sentence on the level stands once, in good grammar."""
    words = " ".join(describe(floor(tmp_path, readings)).split())
    assert words.count("the survey states no wet level") == 1
    assert "1 readings" not in words


@pytest.mark.thorough
def test_readings_that_are_no_number_are_named(tmp_path: Path) -> None:
    """File, row and value of the first ones, and how many more; nothing where all are numbers."""
    good = "".join(f"{x},{y},{30 + x + y}\n" for x in (1, 2, 3, 4) for y in (1, 2, 3))
    assert not_numeric_words(floor(tmp_path, good)) == ""
    bad = "".join(f"{x / 2},0.5,{value}\n" for x, value in enumerate(("abc", "", "x", "-", "?"), 1))
    told = not_numeric_words(floor(tmp_path, good + bad))
    assert "readings.csv row 14: 'abc' is not a reading" in told
    assert "readings.csv row 15: no value was written" in told
    assert "and 2 more" in told
    assert "readings.csv row 14" in brief_study(floor(tmp_path, good + bad))
