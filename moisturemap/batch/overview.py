"""All floors on one page that opens offline: sortable, filterable, small maps on one scale."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from datetime import date
from importlib import resources
from pathlib import Path
from typing import Any

from moisturemap.figures.style import RAMP
from moisturemap.quantities import DISCLAIMER

SHOWN = (
    "floor",
    "name",
    "visit",
    "started",
    "verdict",
    "verdict_sentence",
    "holds_until",
    "wet_m2",
    "contested_m2",
    "set_aside_m2",
    "area_m2",
    "readings",
    "tests",
    "tests_valid",
    "oldest_valid_test",
    "calibration_due",
    "stagnant_m2",
    "rising_m2",
    "rose_between_m2",
    "not_before_days",
    "instrument",
    "instrument_model",
    "quality",
    "reports",
)
"""Columns of the table of floors that the page gets."""


def overview_rows(results: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what the page shows of each floor, failed ones too, in plain types."""
    rows = []
    for result in results:
        floors = result["rows"].get("floors") or [{}]
        row = {name: floors[0].get(name) for name in SHOWN}
        row |= {"floor": result["floor"], "survey": result["survey"]}
        rows.append({**row, "error": result["error"], "map": result["map"]})
    return rows


def overview_html(rows: Sequence[dict[str, Any]], today: date) -> str:
    """Return the page: data, style and script in one file, nothing loaded from elsewhere."""
    room = resources.files("moisturemap.batch")
    content = {
        "today": today.isoformat(),
        "disclaimer": DISCLAIMER,
        "ramp": list(RAMP),
        "rows": [{key: one for key, one in row.items() if key != "map"} for row in rows],
    }
    parts = {
        '"DATA"': _in_script(content),
        '"MAPS"': _in_script({row["floor"]: row["map"] for row in rows}),
        "/*STYLE*/": room.joinpath("overview.css").read_text("utf-8"),
        "/*SCRIPT*/": room.joinpath("overview.js").read_text("utf-8"),
    }
    page = room.joinpath("overview.html").read_text("utf-8")
    # in one pass: a floor may bear the name of a mark
    return re.sub("|".join(map(re.escape, parts)), lambda mark: parts[mark[0]], page)


def _in_script(content: Any) -> str:
    """Return JSON that no name in it can end, nor open a comment of the page."""
    return json.dumps(content, ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")


def write_overview(results: Sequence[dict[str, Any]], folder: Path, today: date) -> Path:
    """Write ``overview.html``."""
    path = folder / "overview.html"
    path.write_text(overview_html(overview_rows(results), today), encoding="utf-8")
    return path
