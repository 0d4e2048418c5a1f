"""Floors that borrow from the floors of an earlier run."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner

from moisturemap.batch import BatchOptions, run_batch
from moisturemap.cli import main

pytestmark = pytest.mark.thorough

DAY = date(2026, 3, 20)


@pytest.fixture
def told(finished: Any, tmp_path: Path) -> Path:
    """Floors of an earlier run, as if read more closely: few lend nothing."""
    table = pd.read_csv(finished[0] / "covariances.csv")
    assert len(table), "some floor shows a pattern"
    table["readings"], table["readings_key"] = 300, "elsewhere"
    path = tmp_path / "covariances.csv"
    table.to_csv(path, index=False)
    return path


def test_floors_borrow_and_say_so_and_are_not_borrowed_from_again(
    floors: Path, told: Path, tmp_path: Path
) -> None:
    """A changed file of earlier floors does the floors again; the same one does not."""
    out, options = tmp_path / "out", BatchOptions(workers=1, earlier=told)
    first = run_batch(floors, out, options=options, today=DAY)
    rows = pd.read_csv(out / "covariances.csv")
    assert set(rows["borrowed_floors"]) == {len(pd.read_csv(told))}
    again = run_batch(floors, out, options=options, today=DAY)
    assert (again.done, len(again.failures)) == (0, 1), "only the broken one was tried again"
    own = CliRunner().invoke(
        main, ["map", str(floors / "f1"), "--earlier", str(out / "covariances.csv")]
    )
    assert own.exit_code != 0
    assert "100 readings" in own.output
    table = pd.read_csv(told)
    table["noise_sd"] *= 2.0
    table.to_csv(told, index=False)
    assert run_batch(floors, out, options=options, today=DAY).done == first.done


def test_map_borrows_from_a_file(floors: Path, told: Path) -> None:
    """The note stands in the full account of the map."""
    asked = ["map", str(floors / "f1"), "--earlier", str(told), "--full"]
    answer = CliRunner().invoke(main, asked)
    assert answer.exit_code == 0, answer.output
    assert "earlier floors read with Model A" in " ".join(answer.output.split())


@pytest.mark.parametrize(
    ("column", "value", "part"),
    [
        ("practical_range_m", "two", "row 2, practical_range_m"),
        ("practical_range_m", "-2", "practical_range_m"),
        ("noise_sd", "", "row 2, noise_sd"),
        ("readings", "", "row 2, readings"),
    ],
)
def test_a_row_that_cannot_be_is_refused_by_name(
    floors: Path, told: Path, column: str, value: str, part: str
) -> None:
    """File, row and column are named."""
    table = pd.read_csv(told, dtype=str).head(1)
    table[column] = value
    table.to_csv(told, index=False)
    answer = CliRunner().invoke(main, ["map", str(floors / "f1"), "--earlier", str(told)])
    assert answer.exit_code != 0
    assert part in answer.output
    assert "covariances.csv" in answer.output


def test_a_file_of_something_else_is_refused(floors: Path, tmp_path: Path) -> None:
    """A table without the columns, and no file at all."""
    other = tmp_path / "floors.csv"
    other.write_text("floor,name\nA,B\n")
    for path, part in ((other, "lacks a column"), (tmp_path / "none.csv", "cannot be read")):
        answer = CliRunner().invoke(
            main, ["batch", str(floors), "--out", str(tmp_path / "out"), "--earlier", str(path)]
        )
        assert answer.exit_code != 0
        assert part in answer.output
