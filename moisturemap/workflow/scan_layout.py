"""A scan laid out before it is walked: places, sheet to fill in, what it can miss."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import Any

from moisturemap.files import read_plan
from moisturemap.floorplan import FloorPlan
from moisturemap.scanning import LayoutOptions, ScanLayout, lay_out
from moisturemap.workflow.export import write_geojson, write_table
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.summary import records


@dataclass(frozen=True)
class LaidOut:
    """A layout with the plan it is for."""

    plan: FloorPlan
    layout: ScanLayout


def lay_out_scan(
    path: Path, *, spacing: float | None = None, margin: float = 0.15, unit: str = "m"
) -> LaidOut:
    """Lay out a scan on the plan of a file or of a survey folder."""
    if path.is_dir() or path.suffix.lower() == ".toml":
        plan = read_survey(path).plan
    else:
        plan, _ = read_plan(path, coordinates=unit)
    return LaidOut(plan, lay_out(plan, LayoutOptions(spacing=spacing, margin=margin)))


def summarise_layout(laid: LaidOut) -> dict[str, Any]:
    """Return a layout in plain types."""
    return {
        "spacing_m": laid.layout.spacing,
        "walk_m": round(laid.layout.walk_m, 1),
        "places": records(laid.layout.places),
        "limits": list(laid.layout.limits),
    }


def export_layout(laid: LaidOut, folder: Path) -> list[Path]:
    """Write ``scan-sheet.csv`` (with an empty value column) and ``scan-sheet.geojson``."""
    folder.mkdir(parents=True, exist_ok=True)
    sheet = laid.layout.places.drop(columns="geometry").assign(value="", note="")
    return [
        write_table(sheet, folder / "scan-sheet.csv"),
        write_geojson(laid.layout.places, folder / "scan-sheet.geojson"),
    ]


def describe_layout(laid: LaidOut) -> str:
    """Return how many places, how far to walk, and what the grid can miss."""
    layout = laid.layout
    counts = layout.places.groupby("room", sort=False).size()
    rooms = ", ".join(f"{room} {count}" for room, count in counts.items())
    parts = [
        f"{len(layout.places)} readings every {layout.spacing:g} m ({rooms}); "
        f"{layout.walk_m:.0f} m to walk.",
        *layout.limits,
    ]
    return "\n".join(fill(part, 96) for part in parts)
