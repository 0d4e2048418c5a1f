"""The results of many floors as tables that pandas, a database and a GIS open."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from moisturemap.errors import MissingExtra

SCHEMA_VERSION = "3"
"""Grows when a column changes its meaning or goes; a new column alone does not change it."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the dataset: its name, pandas type, and what it holds."""

    name: str
    kind: str
    words: str


TEXT, NUMBER, WHOLE = "string", "Float64", "Int64"


def _columns(*rows: tuple[str, str, str]) -> tuple[Column, ...]:
    return tuple(Column(*row) for row in rows)


TABLES: dict[str, tuple[Column, ...]] = {
    "floors": _columns(
        ("floor", TEXT, "name of the floor, its own within the run"),
        ("survey", TEXT, "path of the survey, relative to the folder or list of the run"),
        ("name", TEXT, "name written in the survey"),
        ("visit", TEXT, "visit that was mapped"),
        ("started", TEXT, "start of that visit, ISO 8601 with zone"),
        ("instrument", TEXT, "id of the instrument that was mapped"),
        ("instrument_model", TEXT, "its model, empty when not stated"),
        ("scale_low", NUMBER, "lowest value of its scale [reading units]"),
        ("scale_high", NUMBER, "highest value of its scale [reading units]"),
        ("readings", WHOLE, "readings of the visit"),
        ("used", WHOLE, "readings that make the map"),
        ("area_m2", NUMBER, "area of the floor [m2]"),
        ("wet_level", NUMBER, "relative reading above which floor counts as wet"),
        ("mapped_m2", NUMBER, "area of the floor that could be mapped [m2]"),
        (
            "wet_m2",
            NUMBER,
            "area of all zones above the wet level, contested ones among them [m2]; empty where "
            "nothing could be mapped or no level is known",
        ),
        (
            "contested_m2",
            NUMBER,
            "of these, area of zones that may be an embedded thing instead [m2]",
        ),
        ("zones", WHOLE, "wet and contested zones; empty as wet_m2"),
        (
            "set_aside_readings",
            WHOLE,
            "readings above the wet level that left the map as things; empty without a level",
        ),
        ("set_aside_m2", NUMBER, "floor these stand for, a square of the spacing each [m2]"),
        ("peak", NUMBER, "highest mapped reading in a zone"),
        ("anomalies", WHOLE, "flagged lines, spots, meshes and stray readings"),
        ("holes", WHOLE, "holes proposed; empty when none were planned"),
        ("tests", WHOLE, "calibrated tests on record"),
        ("tests_valid", WHOLE, "tests valid by the rules of their method"),
        ("oldest_valid_test", TEXT, "day the oldest valid test was read"),
        ("calibration_due", TEXT, "earliest day a probe is due: a year after its calibration"),
        (
            "verdict",
            TEXT,
            "meets | exceeds | not proven | not proven: conflicting evidence; empty without a test",
        ),
        ("holds_until", TEXT, "day until which a verdict that meets holds by its documents"),
        ("verdict_sentence", TEXT, "the verdict in a sentence"),
        ("visits", WHOLE, "visits with readings"),
        ("stagnant_m2", NUMBER, "wet floor that hardly dries [m2], when drying was followed"),
        ("rising_m2", NUMBER, "floor that grows wetter [m2], when drying was followed"),
        (
            "rose_between_m2",
            NUMBER,
            "most floor that took up water between two consecutive visits [m2]",
        ),
        ("not_before_days", NUMBER, "latest of the zones' earliest days to the wet level [d]"),
        ("quality", TEXT, "how far the map's interval can be relied on"),
        ("reports", TEXT, "reports written, relative to the folder of the run"),
    ),
    "zones": _columns(
        ("floor", TEXT, "floor"),
        ("zone", TEXT, "name of the zone"),
        ("room", TEXT, "room of its peak"),
        ("standing", TEXT, "wet | contested"),
        ("area_m2", NUMBER, "area [m2]"),
        ("area_low_m2", NUMBER, "lower end of its 90% interval [m2]"),
        ("area_high_m2", NUMBER, "upper end [m2]"),
        ("peak", NUMBER, "highest mapped reading"),
        ("peak_x", NUMBER, "where [m]"),
        ("peak_y", NUMBER, "where [m]"),
        ("confidence", NUMBER, "probability that it holds wet floor at all"),
        ("geometry", "geometry", "outline in metres of the floor's own plan"),
    ),
    "tests": _columns(
        ("floor", TEXT, "floor"),
        ("test", TEXT, "key of the test"),
        ("hole", TEXT, "hole or place"),
        ("room", TEXT, "room"),
        ("method", TEXT, "method"),
        ("depth_mm", NUMBER, "depth from the top face [mm]"),
        ("value", NUMBER, "result"),
        ("unit", TEXT, "unit of the result"),
        ("read", TEXT, "time it was read"),
        ("standing", TEXT, "valid | valid with remarks | invalid"),
        ("verdict", TEXT, "meets | exceeds | not proven | not judged"),
        ("limit", NUMBER, "limit it was held against, in the unit of the result"),
        ("geometry", "geometry", "place in metres of the floor's own plan"),
    ),
    "visits": _columns(
        ("floor", TEXT, "floor"),
        ("visit", TEXT, "visit"),
        ("started", TEXT, "start, ISO 8601 with zone"),
        ("readings", WHOLE, "readings"),
        ("air_temperature_c", NUMBER, "room air [C]"),
        ("air_rh_pct", NUMBER, "room air [%RH]"),
        ("slab_temperature_c", NUMBER, "surface of the slab [C]"),
    ),
    "covariances": _columns(
        ("floor", TEXT, "floor; only those whose readings show a pattern"),
        ("readings_key", TEXT, "hash of its readings, so that no floor borrows from itself"),
        ("instrument_model", TEXT, "model of the instrument, empty when not stated"),
        ("scale_low", NUMBER, "lowest value of its scale [reading units]"),
        ("scale_high", NUMBER, "highest value of its scale [reading units]"),
        ("readings", WHOLE, "readings of the most read part of the floor"),
        ("practical_range_m", NUMBER, "distance at which readings are hardly alike any more [m]"),
        ("range_log_sd", NUMBER, "sd of its natural logarithm"),
        ("noise_sd", NUMBER, "sd of one reading about the map [reading units]"),
        ("noise_log_sd", NUMBER, "sd of its natural logarithm"),
        ("chance_of_direction", NUMBER, "probability that the range differs by direction"),
        ("borrowed_floors", WHOLE, "earlier floors it borrowed from; 0 for none"),
        ("footprint_m", NUMBER, "footprint of the scanner as stated [m], empty when it is not"),
    ),
}
"""The tables of the dataset and their columns, in order."""


def write_dataset(results: Iterable[dict[str, Any]], folder: Path) -> list[Path]:
    """Write the tables of finished floors, each as Parquet and as CSV, and the schema.

    Parameters
    ----------
    results : iterable of dict
        Kept results in the order of the floors; those with an error go into ``failures.csv``.
    folder : Path

    Returns
    -------
    list of Path
        Files written.

    """
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    failures = []
    for result in results:
        if result["error"]:
            failures.append({key: result[key] for key in ("survey", "error", "floor")})
            continue
        for name, table in rows.items():
            table += result["rows"][name]
    written = []
    for name, columns in TABLES.items():
        written += _write_table(rows[name], columns, folder / name)
    failed = pd.DataFrame(failures, columns=["survey", "error", "floor"])
    failed.to_csv(folder / "failures.csv", index=False)
    return [*written, folder / "failures.csv", _write_schema(folder / "schema.json")]


def _write_table(rows: list[dict[str, Any]], columns: tuple[Column, ...], stem: Path) -> list[Path]:
    names = [one.name for one in columns]
    frame = pd.DataFrame(rows, columns=names)
    plain = [one for one in columns if one.kind != "geometry"]
    frame = frame.astype({one.name: one.kind for one in plain})
    flat = frame.drop(columns="geometry") if "geometry" in names else frame
    table: pd.DataFrame = frame
    if "geometry" in names:
        texts = [text if isinstance(text, str) and text else None for text in frame["geometry"]]
        shapes = shapely.from_wkt(texts)
        table = gpd.GeoDataFrame(flat, geometry=gpd.GeoSeries(shapes, dtype="geometry"))
    files = [stem.with_suffix(".parquet"), stem.with_suffix(".csv")]
    table.to_parquet(files[0], index=False)
    flat.to_csv(files[1], index=False)
    return files


def need_pyarrow() -> None:
    """Refuse before any work is done when the dataset could not be written.

    Raises
    ------
    MissingExtra
    """
    if find_spec("pyarrow") is None:
        raise MissingExtra("the dataset of many floors", "batch")


def _write_schema(path: Path) -> Path:
    content = {
        "version": SCHEMA_VERSION,
        "tables": {
            name: [{"name": one.name, "type": one.kind, "words": one.words} for one in columns]
            for name, columns in TABLES.items()
        },
    }
    text = json.dumps(content, indent=1)
    path.write_text(text, encoding="utf-8")
    return path
