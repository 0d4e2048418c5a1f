"""Photographs that tests name and that are not there are told, never dropped."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from moisturemap.workflow.photographs import missing_photographs


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
