"""The drill plan on its own: options from words, summary, files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moisturemap.errors import OptionError
from moisturemap.workflow.export import write_drill_layers, write_drill_table
from moisturemap.workflow.study import Study, StudyOptions
from moisturemap.workflow.summary import summarise

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


def drill_options(
    *,
    count: int | None = None,
    clearance_m: float | None = None,
    pinned: Sequence[str] = (),
    rejected: Sequence[str] = (),
) -> StudyOptions:
    """Return study options for a drill plan; places are texts like ``"3.2,1.5"`` [m]."""
    options = StudyOptions()
    drilling = replace(
        options.drilling,
        count=count,
        pinned=tuple(_place(text) for text in pinned),
        rejected=tuple(_place(text) for text in rejected),
    )
    if clearance_m is not None:
        drilling = replace(drilling, clearance_m=clearance_m)
    return replace(options, drilling=drilling)


def _place(text: str) -> tuple[float, float]:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        message = "a place is two numbers in metres with a comma between"
        raise OptionError(message, value=text, allowed="x,y such as 3.2,1.5") from None
    return x, y


def summarise_drilling(study: Study) -> dict[str, Any]:
    """Return the drill plan in plain types."""
    summary = summarise(study)
    return {key: summary[key] for key in DRILL_KEYS}


def export_drill_plan(study: Study, folder: Path) -> list[Path]:
    """Write ``drill-plan.csv`` and ``drill-plan.geojson`` into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    return [write_drill_table(study, folder), *write_drill_layers(study, folder)]
