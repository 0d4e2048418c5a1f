"""Areas, moves and maps of change as files."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import xarray as xr

from moisturemap.bundles import VisitComparison
from moisturemap.drying import DryingProgress
from moisturemap.provenance import run_id
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.study_files import write_geojson

LONG_NAMES = {
    "mean": "change of the relative reading, negative where the floor dries",
    "sd": "standard deviation of the change, common error of the visits included",
    "verdict": "-1 shown to have dried, 0 no change shown, 1 shown to have risen",
}


def write_drying_shapes(
    drying: DryingProgress, moves: gpd.GeoDataFrame | None, folder: Path
) -> list[Path]:
    """Write ``drying-areas.geojson`` and ``drying-moves.geojson`` where there are any."""
    written = []
    for name, layer in (("areas", drying.areas), ("moves", moves)):
        target = folder / f"drying-{name}.geojson"
        if layer is not None and not layer.empty:
            written.append(write_geojson(layer, target))
    return written


def write_change_grid(comparison: VisitComparison, folder: Path) -> Path:
    """Write ``drying.nc`` (CF): the level of each visit, change, step and rate on the cells."""
    drying = comparison.drying
    levels = np.stack([one.dataset["mean"].to_numpy() for one in drying.levels])
    sds = np.stack([one.dataset["sd"].to_numpy() for one in drying.levels])
    grid = drying.levels[-1].dataset
    name = "relative reading of each visit, on the scale of the latest"
    dataset = xr.Dataset(
        {
            "level": (("visit", "y", "x"), levels, {"long_name": name, "units": "1"}),
            "level_sd": (("visit", "y", "x"), sds, {"long_name": f"{name}, sd", "units": "1"}),
        },
        coords={"visit": np.arange(1, len(levels) + 1), "y": grid["y"], "x": grid["x"]},
    )
    dataset["visit"].attrs["long_name"] = ", ".join(one.id for one in drying.series.visits)
    for change in (drying.change, drying.step, drying.rate):
        if change is None or not change.known:
            continue
        for part, label in LONG_NAMES.items():
            unit = "week-1" if change.name == "rate" and part != "verdict" else "1"
            key = change.name if part == "mean" else f"{change.name}_{part}"
            values = change.dataset[part].to_numpy()
            dataset[key] = (("y", "x"), values, {"long_name": label, "units": unit})
    for axis in ("x", "y"):
        dataset[axis].attrs.update(units="m", axis=axis.upper())
    dataset.attrs = {
        "Conventions": "CF-1.11",
        "title": comparison.survey.name,
        "comment": DISCLAIMER,
    }
    path = folder / "drying.nc"
    if run_id():
        dataset.attrs["run"] = run_id()
    dataset.to_netcdf(path, engine="scipy")
    return path
