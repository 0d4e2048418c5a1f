"""A scan layout in plain types, sentences and files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from moisturemap.bundles import LaidOut
from moisturemap.floorplan import CHECK_ONE_WALL
from moisturemap.results.run import write_run
from moisturemap.results.study_files import write_geojson, write_table
from moisturemap.results.summary import records
from moisturemap.results.terminal import Terminal
from moisturemap.scanning import sweep_places
from moisturemap.units import Units


def summarise_layout(laid: LaidOut) -> dict[str, Any]:
    """Return a layout in plain types."""
    return {
        "spacing_m": laid.layout.spacing,
        "walk_m": round(laid.layout.walk_m, 1),
        "places": records(laid.layout.places),
        "no_door_between": [list(rooms) for rooms in laid.layout.apart],
        "limits": list(laid.layout.limits),
        "sweeps": [] if laid.sweeps is None else records(laid.sweeps),
    }


def export_layout(
    laid: LaidOut, folder: Path, more: Sequence[Callable[[Path], list[Path]]] = ()
) -> list[Path]:
    """Write ``scan-sheet.csv`` (with an empty value column) and ``scan-sheet.geojson``.

    Where sweeps are proposed, ``scan-sweeps.csv`` has a row for each of their readings.

    A sheet that was filled in where it lay is kept under another name.
    """
    return write_run("layout", None, folder, [partial(_sheets, laid), *more])


def _sheets(laid: LaidOut, folder: Path) -> list[Path]:
    sheet = laid.layout.places.drop(columns="geometry").assign(value="", note="")
    written = [
        write_table(sheet, folder / "scan-sheet.csv"),
        write_geojson(laid.layout.places, folder / "scan-sheet.geojson"),
    ]
    if laid.sweeps is not None and len(laid.sweeps):
        written.append(write_table(sweep_rows(laid.sweeps), folder / "scan-sweeps.csv"))
    return written


def sweep_rows(sweeps: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return one row for each reading of some sweeps, with an empty value column to fill in."""
    rows = [
        {
            "label": f"{sweep.sweep}-{number}",
            "room": sweep.room,
            "x": round(float(x), 3),
            "y": round(float(y), 3),
            "value": "",
            "note": f"across {sweep.anomaly}",
        }
        for sweep in sweeps.itertuples()
        for number, (x, y) in enumerate(sweep_places(sweep.geometry), 1)
    ]
    return pd.DataFrame(rows)


def _sweep_words(sweeps: gpd.GeoDataFrame) -> list[str]:
    return [f"{one.sweep}: {one.sentence}" for one in sweeps.itertuples()]


def describe_layout(laid: LaidOut, units: Units = Units()) -> str:
    """Return how many places, how far to walk, and what the grid can miss."""
    layout = laid.layout
    counts = layout.places.groupby("room", sort=False).size()
    rooms = ", ".join(f"{room} {count}" for room, count in counts.items())
    parts = [
        *(note for note in laid.plan.notes if CHECK_ONE_WALL in note),
        f"{len(layout.places)} readings every {layout.spacing:g} m ({rooms}); "
        f"{layout.walk_m:.0f} m to walk.",
        *layout.way_words,
        *layout.limits,
        *([] if laid.sweeps is None else _sweep_words(laid.sweeps)),
    ]
    return "\n".join(Terminal(units).paragraph(part) for part in parts)
