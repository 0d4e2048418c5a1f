"""The drill plan on its own: options from words, summary, files."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from moisturemap.bundles import Study
from moisturemap.results.run import write_run
from moisturemap.results.study_files import write_drill_layers, write_drill_table
from moisturemap.results.summary import summarise

DRILL_KEYS = (
    "survey",
    "visit",
    "instrument",
    "disclaimer",
    "holes",
    "hole_count_rule",
    "cautions",
    "drilling_statements",
    "anomalies",
)


def summarise_drilling(study: Study) -> dict[str, Any]:
    """Return the drill plan in plain types."""
    summary = summarise(study)
    return {key: summary[key] for key in DRILL_KEYS}


def export_drill_plan(study: Study, folder: Path) -> list[Path]:
    """Write ``drill-plan.csv`` and ``drill-plan.geojson`` into a folder."""
    writers = (partial(_drill_table, study), partial(write_drill_layers, study))
    return write_run("drill", study.survey, folder, writers, ("drill-plan.geojson",))


def _drill_table(study: Study, folder: Path) -> list[Path]:
    return [write_drill_table(study, folder)]
