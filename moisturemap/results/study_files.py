"""A study as open-format files: GeoPackage, GeoJSON, NetCDF, CSV, JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from scipy.io import netcdf_file

from moisturemap.bundles import Study
from moisturemap.mapping.bands import band_levels, bands
from moisturemap.provenance import run_id
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.run import write_run
from moisturemap.results.summary import records, summarise

PLAN_FRAME = (
    'ENGCRS["floor plan",EDATUM["plan origin"],CS[Cartesian,2],'
    'AXIS["x",unspecified],AXIS["y",unspecified],LENGTHUNIT["metre",1]]'
)
"""A local engineering frame in metres (OGC 18-010r7, engineering CRS)."""

SITE_FRAME = PLAN_FRAME.replace("floor plan", "site grid").replace("plan origin", "site origin")
"""The grid of a site that names no coordinate reference system."""

_STUDY_LAYERS = (
    *(
        f"{name}.geojson"
        for name in ("rooms", "lines", "readings", "zones", "anomalies", "bands", "drill-plan")
    ),
    "site.gpkg",
)
"""Layers a study may leave out, so that those of an earlier one must go."""

WITH_FRAMES = "http://www.opengis.net/spec/json-fg-1/0.2/conf/core"
"""What a GeoJSON file names that states its frame (OGC 21-045)."""

_SYNCHRONOUS = "OGR_SQLITE_SYNCHRONOUS"

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def export_study(study: Study, folder: Path | str) -> list[Path]:
    """Write a study into a folder.

    ``floor.gpkg`` and one GeoJSON a layer (rooms, lines, readings, zones, anomalies, bands,
    drill_plan), ``surface.nc`` (CF), ``drill-plan.csv``, ``summary.json``; ``site.gpkg`` with the
    same layers on the site where the survey states ``[site]``.

    Returns
    -------
    list of Path
        The files written, the manifest of the folder last.

    Raises
    ------
    OutputError
        When they cannot be written; the earlier results are as they were.
    """
    return write_run(
        "map", study.survey, Path(folder), [partial(_study_files, study)], _STUDY_LAYERS
    )


def _study_files(study: Study, folder: Path) -> list[Path]:
    return [
        *_layers(study, folder),
        *_on_site(study, folder),
        _surface(study, folder / "surface.nc"),
        write_drill_table(study, folder),
        write_summary(summarise(study), folder / "summary.json"),
    ]


def write_summary(content: dict[str, Any], path: Path) -> Path:
    """Write a summary as JSON, with the id of the run."""
    run = {"run": run_id()} if run_id() else {}
    text = json.dumps({**run, **content}, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")
    return path


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
    mapped = study.moisture.cells()
    return {
        "rooms": rooms,
        "lines": lines,
        "readings": study.readings,
        "zones": study.zones,
        "anomalies": study.anomalies,
        "bands": bands(mapped, plan, band_levels(mapped.values, least=study.clean.step)),
        "drill_plan": study.drill_plan,
        "sweeps": study.sweeps,
    }


def _on_site(study: Study, folder: Path) -> list[Path]:
    """Write ``site.gpkg``: the layers where they lie on the site, when that is stated."""
    site = study.survey.site
    if site is None:
        return []
    package = folder / "site.gpkg"
    for name, layer in layers(study).items():
        if layer.empty:
            continue
        shapes = [site.placed(shape) for shape in layer.geometry]
        placed = _portable(layer).set_geometry(shapes).set_crs(site.crs or SITE_FRAME)
        _add_layer(placed, package, name)
    return [package]


def _layers(study: Study, folder: Path) -> list[Path]:
    package = folder / "floor.gpkg"
    written = [package]
    for name, layer in layers(study).items():
        if layer.empty:
            continue
        portable = _portable(layer)
        _add_layer(portable.set_crs(PLAN_FRAME), package, name)
        written.append(_geojson(portable, folder / f"{name.replace('_', '-')}.geojson"))
    return written


def _add_layer(framed: gpd.GeoDataFrame, package: Path, name: str) -> None:
    """Write a layer into a GeoPackage."""
    run = {"run": run_id()} if run_id() else None
    # a run forces its files to the disk once, when all are written, not after each layer
    before = pyogrio.get_gdal_config_option(_SYNCHRONOUS)
    pyogrio.set_gdal_config_options({_SYNCHRONOUS: "OFF"})
    try:
        framed.to_file(package, layer=name, driver="GPKG", dataset_metadata=run)
    finally:
        pyogrio.set_gdal_config_options({_SYNCHRONOUS: before})


def write_drill_layers(study: Study, folder: Path) -> list[Path]:
    """Write ``drill-plan.geojson``; nothing when there is no hole."""
    holes = study.drill_plan
    return [] if holes.empty else [write_geojson(holes, folder / "drill-plan.geojson")]


def write_geojson(layer: gpd.GeoDataFrame, target: Path) -> Path:
    """Write a layer in plan metres as they are: a floor has no longitude and latitude."""
    return _geojson(_portable(layer), target)


def _geojson(portable: gpd.GeoDataFrame, target: Path) -> Path:
    run = {"run": run_id()} if run_id() else {}  # a foreign member (RFC 7946, section 6.1)
    # Without a stated frame readers take coordinates for degrees. A null frame states that there is
    # none; the shape then stands as "place", and as "geometry" for readers that know no frames
    # (OGC 21-045, Features and Geometries JSON).
    told = [shape or "null" for shape in shapely.to_geojson(portable.geometry.to_numpy())]
    shapes = json.loads(f"[{','.join(told)}]")
    features = [
        {"type": "Feature", "properties": row, "geometry": shape, "place": shape}
        for row, shape in zip(_properties(portable), shapes, strict=True)
    ]
    content = {"type": "FeatureCollection", "features": features}
    marked = {"conformsTo": [WITH_FRAMES], "coordRefSys": None, **content, **run}
    target.write_text(json.dumps(marked), encoding="utf-8")
    return target


def _properties(portable: gpd.GeoDataFrame) -> list[dict[str, object]]:
    """Return the columns of each row but its shape; what is missing is null."""
    table = pd.DataFrame(portable.drop(columns=portable.geometry.name))
    columns = [
        [
            None if empty else value
            for value, empty in zip(column.tolist(), column.isna(), strict=True)
        ]
        for _, column in table.items()
    ]
    names = [str(name) for name in table.columns]
    return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]


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
    surface = study.moisture
    said = {
        **surface.attributes,
        "Conventions": "CF-1.11",
        "title": study.survey.name,
        "comment": DISCLAIMER,
        "visit": study.visit.id,
        **({"run": run_id()} if run_id() else {}),
    }
    with netcdf_file(path, "w", version=2) as file:
        _tell(file, {key: value for key, value in said.items() if value is not None})
        for name, places in surface.axes.items():
            file.createDimension(name, len(places))
        for name, values in {**surface.axes, **surface.variables}.items():
            made = file.createVariable(name, "f8", (name,) if values.ndim == 1 else ("y", "x"))
            made[:] = values
            missing = {} if values.ndim == 1 else {"_FillValue": np.nan}
            _tell(made, {**missing, **surface.described(name)})
    return path


def _tell(of: Any, attributes: Mapping[str, str | float]) -> None:
    """Write attributes of a NetCDF file or variable, texts in UTF-8."""
    for name, value in attributes.items():
        setattr(of, name, value.encode() if isinstance(value, str) else np.float64(value))


def write_drill_table(study: Study, folder: Path) -> Path:
    """Write ``drill-plan.csv``, one hole a row."""
    return write_table(study.drill_plan, folder / "drill-plan.csv")


def write_table(table: pd.DataFrame, path: Path) -> Path:
    """Write a table as CSV in UTF-8 that spreadsheets recognise; no cell runs as a formula."""
    rows = [{k: spreadsheet_text(v) for k, v in row.items()} for row in records(table)]
    columns = [name for name in table.columns if name != "geometry"]
    made = pd.DataFrame(rows, columns=columns)
    if run_id():
        made["run"] = run_id()
    made.to_csv(path, index=False, encoding="utf-8-sig")
    return path


def spreadsheet_text(value: object) -> object:
    """Return a cell value that a spreadsheet shows as text instead of running it as a formula."""
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return "'" + value
    return value
