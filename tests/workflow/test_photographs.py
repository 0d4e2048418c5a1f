"""Photographs that tests name and that are not there are told, never dropped."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd

import moisturemap as mm
from moisturemap.results.brief import brief_study
from moisturemap.results.study_words import describe
from moisturemap.workflow.photographs import missing_photographs

BAKERY = Path(__file__).resolve().parents[2] / "demo_plans" / "bakery"


def test_a_missing_photograph_is_told_with_file_and_row(tmp_path: Path) -> None:
    """It was cited in a record, and nothing said that it is in no folder."""
    (tmp_path / "h1.jpg").write_bytes(b"x")
    tests = pd.DataFrame(
        {
            "hole": ["H1", "H2", "H3", "H4"],
            "photo": ["h1.jpg", "h2.jpg", "", "x" * 300],
            "source": "tests.csv",
            "row": [2, 3, 4, 5],
        }
    )
    told = missing_photographs(tests, tmp_path)
    assert len(told) == 2
    assert told[0].startswith("The photograph 'h2.jpg' of hole H2 (tests.csv, row 3) is missing")
    assert missing_photographs(tests.drop(columns="photo"), tmp_path) == ()


def test_the_terminal_tells_of_it_in_short_and_in_full(tmp_path: Path) -> None:
    """It stood among the remarks of the report alone."""
    folder = tmp_path / "bakery"
    shutil.copytree(BAKERY, folder)
    head, first, *rest = (folder / "tests.csv").read_text().splitlines()
    lines = (f"{head},photo", f"{first},h1.jpg", *(f"{one}," for one in rest))
    (folder / "tests.csv").write_text("\n".join(lines))
    study = mm.study(mm.read_survey(folder))
    for words in (brief_study(study), describe(study)):
        assert "The photograph 'h1.jpg' of hole H1" in " ".join(words.split())
