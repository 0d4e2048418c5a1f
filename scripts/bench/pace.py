"""Measure how long each long work takes by the number of readings: the figures commands tell.

    python scripts/bench/pace.py 500 2000 10000
    python scripts/bench/pace.py 50000
    python scripts/bench/pace.py 200000 --study-only

Prints processor seconds, one thread of linear algebra, warm: those of an idle machine whatever else
runs on it. A hall read on a square grid, twice as wide as deep, one wet zone at an edge; two visits
for drying. The figures are kept in ``moisturemap/workflow/pace.py``.
"""

from __future__ import annotations

import argparse
import math
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pandas as pd

from moisturemap.bundles import Study
from moisturemap.figures import save_study_figures
from moisturemap.report import write_report
from moisturemap.results.study_files import export_study
from moisturemap.survey import Survey
from moisturemap.synthetic import FloorRecipe, make_floor
from moisturemap.workflow.placement import plan_drying
from moisturemap.workflow.study import study

SPACING_M = 0.3


def hall(readings: int) -> Survey:
    """Make a hall of about so many readings."""
    depth = math.sqrt(readings / 2.0) * SPACING_M
    recipe = FloorRecipe(width=2.0 * depth, depth=depth, spacing=SPACING_M, plumes=("edge",))
    return make_floor(recipe, 1).survey


def twice(survey: Survey) -> Survey:
    """Read the floor again a week later, a little drier."""
    first = survey.visits[-1]
    later = replace(first, id="later", started=(first.started or pd.Timestamp(0)) + timedelta(7))
    again = survey.readings.assign(visit="later", value=survey.readings["value"] - 2.0)
    again["reading"] += len(survey.readings)
    both = pd.concat([survey.readings, again], ignore_index=True)
    return replace(survey, visits=(*survey.visits, later), readings=both)


def spent(work: Callable[[], object]) -> tuple[float, object]:
    """Return the processor seconds of a piece of work, and what it gave."""
    begun = time.process_time()
    made = work()
    return time.process_time() - begun, made


def write_as_map(made: Study, folder: Path) -> None:
    """Write what ``map`` writes unless asked for more: layers, tables and figures as PNG."""
    export_study(made, folder)
    save_study_figures(made, folder, formats=("png",))


def measure(readings: int, *, only_study: bool) -> None:
    """Print one row."""
    survey = hall(readings)
    count = len(survey.readings)
    seconds, made = spent(lambda: study(survey))
    row = f"{count:8d}  study {seconds:7.1f}"
    if not only_study:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            files, _ = spent(lambda: write_as_map(made, folder))
            report, _ = spent(lambda: write_report(made, folder / "report.pdf"))
        drying, _ = spent(lambda: plan_drying(twice(survey), study=None))
        row += f"  files {files:6.1f}  report {report:6.1f}  drying {drying:6.1f}"
    print(row, flush=True)


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("readings", type=int, nargs="+")
    parser.add_argument("--study-only", action="store_true")
    wishes = parser.parse_args()
    study(hall(200))
    for readings in wishes.readings:
        measure(readings, only_study=wishes.study_only)


if __name__ == "__main__":
    main()
