"""A study as open-format files: GeoPackage, GeoJSON, NetCDF, CSV, JSON."""

from __future__ import annotations

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from moisturemap.bundles import Study
from moisturemap.mapping.bands import band_levels, bands
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.summary import records, summarise

PLAN_FRAME = (
    'ENGCRS["floor plan",EDATUM["plan origin"],CS[Cartesian,2],'
    'AXIS["x",unspecified],AXIS["y",unspecified],LENGTHUNIT["metre",1]]'
)
"""A local engineering frame in metres (OGC 18-010r7, engineering CRS)."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def export_study(study: Study, folder: Path) -> list[Path]:
    """Write a study into a folder.

    ``floor.gpkg`` and one GeoJSON a layer (rooms, lines, readings, zones, anomalies, bands,
    drill_plan), ``surface.nc`` (CF), ``drill-plan.csv``, ``summary.json``.

    Returns
    -------
    list of Path
        The files written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = _layers(study, folder)
    written.append(_surface(study, folder / "surface.nc"))
    written.append(write_drill_table(study, folder))
    summary = folder / "summary.json"
    summary.write_text(
        json.dumps(summarise(study), indent=2, ensure_ascii=False, allow_nan=False) + "\n",
        encoding="utf-8",
    )
    return [*written, summary]


def layers(study: Study) -> dict[str, gpd.GeoDataFrame]:
    """Return the vector layers of a study by name, in metres of the plan frame."""
    plan = study.survey.plan
    rooms = gpd.GeoDataFrame(
        {"name": [room.name for room in plan.rooms]},
        geometry=[room.polygon for room in plan.rooms],
    )
    lines = gpd.GeoDataFrame(
        {"kind": [line.kind for line in plan.lines], "name": [line.name for line in plan.lines]},
        geometry=[line.geometry for line in plan.lines],
    )
    return {
        "rooms": rooms,
        "lines": lines,
        "readings": study.readings,
        "zones": study.zones,
        "anomalies": study.anomalies,
        "bands": bands(study.moisture, plan, band_levels(study.moisture)),
        "drill_plan": study.drill_plan,
    }


def _layers(study: Study, folder: Path) -> list[Path]:
    package = folder / "floor.gpkg"
    package.unlink(missing_ok=True)
    written = [package]
    for name, layer in layers(study).items():
        target = folder / f"{name.replace('_', '-')}.geojson"
        target.unlink(missing_ok=True)
        if layer.empty:
            continue
        portable = _portable(layer)
        portable.set_crs(PLAN_FRAME).to_file(package, layer=name, driver="GPKG")
        written.append(write_geojson(layer, target))
    return written


def write_drill_layers(study: Study, folder: Path) -> list[Path]:
    """Write ``drill-plan.geojson``; nothing when there is no hole."""
    holes = study.drill_plan
    return [] if holes.empty else [write_geojson(holes, folder / "drill-plan.geojson")]


def write_geojson(layer: gpd.GeoDataFrame, target: Path) -> Path:
    """Write a layer in plan metres as they are: a floor has no longitude and latitude."""
    text = _portable(layer).to_json(drop_id=True, na="null")
    target.write_text(text, encoding="utf-8")
    return target


def _portable(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer whose columns any GIS can hold: times as text, no CRS (plan frame)."""
    layer = layer.copy()
    for name in layer.columns.drop("geometry"):
        if layer[name].dtype == object or pd.api.types.is_datetime64_any_dtype(layer[name]):
            layer[name] = [_text(value) for value in layer[name]]
    return layer


def _text(value: object) -> str | None:
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return None
    return value.isoformat() if isinstance(value, pd.Timestamp) else str(value)


def _surface(study: Study, path: Path) -> Path:
    dataset = study.surface.copy()
    unit = study.moisture.quantity.unit or "1"
    names = {
        "mean": f"{study.moisture.quantity.label}, kriged mean of the noise-free surface",
        "sd": "standard deviation of the mean",
        "p_wet": "probability that the surface exceeds the wet level",
    }
    for name, label in names.items():
        if name in dataset:
            dataset[name].attrs.update(long_name=label, units="1" if name == "p_wet" else unit)
    for axis in ("x", "y"):
        label = f"{axis} in the plan frame"
        dataset[axis].attrs.update(long_name=label, units="m", axis=axis.upper())
    dataset.attrs.update(
        Conventions="CF-1.11", title=study.survey.name, comment=DISCLAIMER, visit=study.visit.id
    )
    dataset.attrs = {key: value for key, value in dataset.attrs.items() if value is not None}
    path.unlink(missing_ok=True)
    dataset.to_netcdf(path, engine="scipy")
    return path


def write_drill_table(study: Study, folder: Path) -> Path:
    """Write ``drill-plan.csv``, one hole a row."""
    return write_table(study.drill_plan, folder / "drill-plan.csv")


def write_table(table: pd.DataFrame, path: Path) -> Path:
    """Write a table as CSV in UTF-8 that spreadsheets recognise; no cell runs as a formula."""
    rows = [{k: spreadsheet_text(v) for k, v in row.items()} for row in records(table)]
    columns = [name for name in table.columns if name != "geometry"]
    pd.DataFrame(rows, columns=columns).to_csv(path, index=False, encoding="utf-8-sig")
    return path


def spreadsheet_text(value: object) -> object:
    """Return a cell value that a spreadsheet shows as text instead of running it as a formula."""
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return "'" + value
    return value
