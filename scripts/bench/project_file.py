"""Time and size of the project file and the reports.

    python scripts/bench/project_file.py [readings]

Prints processor time for packing, adding, reading and verifying so many readings (target: 100,000
imported in 5 s), and for writing each kind of report on the bakery demo.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import pandas as pd

from moisturemap import store
from moisturemap.report import write_report
from moisturemap.survey import Survey
from moisturemap.workflow.judge import judge_or_map
from moisturemap.workflow.read import read_survey

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "bakery"
T = TypeVar("T")


def timed(what: str, do: Callable[[], T]) -> T:
    """Run, print the processor time, return the result."""
    start = time.process_time()
    result = do()
    print(f"{what:<44} {time.process_time() - start:6.2f} s")
    return result


def many(survey: Survey, count: int) -> Survey:
    """Repeat the readings of a survey until there are so many."""
    source = survey.readings
    readings = source.iloc[np.arange(count) % len(source)].reset_index(drop=True)
    return replace(survey, readings=readings.assign(reading=np.arange(1, count + 1)))


def project_file(survey: Survey, count: int, folder: Path) -> None:
    """Print times of the project file."""
    large, path = many(survey, count), folder / "large.gpkg"
    timed(f"pack {count:,} readings", lambda: store.pack(large, path, "bench"))
    print(f"{'size':<44} {path.stat().st_size / 1e6:6.1f} MB")
    back = timed("read them", lambda: store.read_project(path))
    pd.testing.assert_frame_equal(back.readings, large.readings)
    with store.open_project(path, writable=True) as project:
        timed("hold the file against its record", project.verify)
        more = large.readings.drop(columns="reading")
        timed(f"add {count:,} readings", lambda: project.add_readings(more, "bench"))
        timed("correct one", lambda: project.correct("readings", 7, {"value": 1}, "bench", "x"))
        timed("save a copy", lambda: project.save_copy(folder / "copy.gpkg"))


def reports(survey: Survey, folder: Path) -> None:
    """Print times of the reports."""
    found = judge_or_map(survey)
    for kind in ("pdf", "docx", "html"):
        path = folder / f"report.{kind}"
        timed(
            f"report as {kind}",
            lambda path=path: write_report(found.study, path, decision=found.decision),
        )


if __name__ == "__main__":
    bakery = read_survey(DEMO)
    with tempfile.TemporaryDirectory() as made:
        project_file(bakery, int(sys.argv[1]) if len(sys.argv) > 1 else 100_000, Path(made))
        reports(bakery, Path(made))
