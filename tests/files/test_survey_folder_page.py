"""The page on the survey folder: its example is read, and it names every key there is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from moisturemap.files import survey_toml
from moisturemap.survey import CLEANING_FLAGS, TEST_METHODS, clean_readings
from moisturemap.workflow.read import read_survey

PAGE = (Path(__file__).parents[2] / "docs" / "survey-folder.md").read_text(encoding="utf-8")
EXAMPLE = dict(re.findall(r"^`([\w.-]+)`\n\n```\w+\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL))


def test_the_example_is_a_survey(tmp_path: Path) -> None:
    """Written out as it stands on the page, it is read without a word of complaint."""
    assert set(EXAMPLE) == {
        "survey.toml",
        "plan.geojson",
        "readings.csv",
        "tests.csv",
        "equipment.csv",
    }
    for name, content in EXAMPLE.items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    survey = read_survey(tmp_path)
    assert survey.notes == ()
    clean = clean_readings(survey)
    assert clean.readings["flag"].tolist() == ["clear"] * 3 + ["full-scale", "clear"]
    assert clean.repeat_pairs == 1
    assert len(survey.tests) == 1
    assert len(survey.equipment) == 2


@pytest.mark.parametrize("table", [name for name in vars(survey_toml) if name.endswith("_KEYS")])
def test_every_key_is_on_the_page(table: str) -> None:
    """A key nobody can look up is no key."""
    missing = [key for key in getattr(survey_toml, table) if f"`{key}`" not in PAGE]
    assert missing == []


def test_every_method_and_its_fields_are_on_the_page() -> None:
    """All that a record may state."""
    for method in TEST_METHODS.values():
        assert f"`{method.key}`" in PAGE
        assert [field for field in method.fields if f"`{field}`" not in PAGE] == []


def test_every_flag_of_cleaning_is_on_the_page() -> None:
    """What happens to a reading can be looked up."""
    assert [flag for flag in CLEANING_FLAGS if f"`{flag}`" not in PAGE] == []
