"""Every task a process of the app knows, by name."""

from __future__ import annotations

from importlib import import_module

from moisturemap.web.work.drying_work import drying, drying_ahead, placement
from moisturemap.web.work.file_work import (
    examine,
    file_rows,
    live,
    page_shown,
    plan_file,
    plan_layers,
    plan_picture,
    readings_file,
    straightened,
    walk,
)
from moisturemap.web.work.hole_work import clearance, drill, drill_sheet, issued_holes, try_holes
from moisturemap.web.work.log_work import logger_file, logger_series, machine_file
from moisturemap.web.work.map_work import (
    floor_map,
    map_ahead,
    place,
    proposed_holes,
    quick_map,
    remarks,
)
from moisturemap.web.work.paper_work import data, figure, report, verdict
from moisturemap.web.work.source_work import investigation

__all__ = [
    "clearance",
    "data",
    "drill",
    "drill_sheet",
    "drying",
    "drying_ahead",
    "examine",
    "figure",
    "file_rows",
    "floor_map",
    "investigation",
    "issued_holes",
    "live",
    "load",
    "logger_file",
    "logger_series",
    "machine_file",
    "map_ahead",
    "page_shown",
    "place",
    "placement",
    "proposed_holes",
    "quick_map",
    "plan_file",
    "plan_layers",
    "plan_picture",
    "readings_file",
    "remarks",
    "report",
    "straightened",
    "try_holes",
    "verdict",
    "walk",
]


def load() -> None:
    """Load what the first map and the first comparison need."""
    rooms = ("workflow.study", "workflow.overridden_study", "workflow.drying", "drying")
    for room in (*rooms, "results.map_layers", "results.visit_layers", "figures.style"):
        import_module(f"moisturemap.{room}")
    import_module("moisturemap.provenance").versions()  # each study names those of its libraries
    # The first data set made looks for array libraries it may hold, and loads those that are there.
    import_module("xarray").Dataset({"one": ("x", [0.0])})
