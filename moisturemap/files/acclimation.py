"""The acclimation log: the air of rooms before and during tests, written by hand or by a logger."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.record_table import Column, RecordOptions, RecordTable
from moisturemap.files.table import read_table
from moisturemap.survey import AmbientReading

LOG_HEADINGS: dict[str, tuple[str, ...]] = {
    "when": ("time", "datetime", "date", "timestamp", "zeit", "zeitpunkt", "datum", "heure"),
    "air_temperature_c": (
        "airtemperature",
        "air temperature",
        "temperature",
        "temp",
        "temperatur",
        "lufttemperatur",
        "temperature ambiante",
    ),
    "air_rh_pct": (
        "airrh",
        "air rh",
        "rh",
        "rhpct",
        "humidity",
        "relativehumidity",
        "luftfeuchte",
        "humidite",
    ),
    "slab_temperature_c": ("slabtemperature", "slab temperature", "surfacetemperature"),
    "room": ("space", "raum", "piece"),
    "note": ("notes", "comment", "remark", "bemerkung", "remarque"),
}
"""Headings of a log in English, German and French."""

_COLUMNS = {
    "when": Column("time"),
    "air_temperature_c": Column("number", -40, 90),
    "air_rh_pct": Column("number", 0, 100),
    "slab_temperature_c": Column("number", -40, 90),
    "room": Column("text"),
    "note": Column("text"),
}


def read_acclimation(
    path: Path | str, options: RecordOptions | None = None, *, room: str = ""
) -> tuple[tuple[AmbientReading, ...], tuple[str, ...]]:
    """Read the log of a climate logger from CSV or XLSX.

    Parameters
    ----------
    path : Path or str
    options : RecordOptions, optional
    room : str
        Room of entries that name none; "" for the whole floor.

    Returns
    -------
    log : tuple of AmbientReading
        In order of time.
    notes : tuple of str

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    options = options or RecordOptions()
    table = read_table(Path(path), options.sheet, options.name)
    records = RecordTable.find(table, _COLUMNS, LOG_HEADINGS, ("when",), options)
    frame, notes = records.frame()
    known = [name for name in _COLUMNS if name in frame]
    log = []
    for row in frame.to_dict("records"):
        stated = {name: row[name] for name in known if not _blank(row[name])}
        if "when" not in stated:
            raise SurveyError(
                "the time is missing",
                source=table.source,
                place=f"row {row['row']}",
                allowed="a time in every row of the log",
            )
        log.append(AmbientReading(**{"room": room, **stated}))
    return tuple(sorted(log, key=lambda one: one.when)), notes


def _blank(value: Any) -> bool:
    return value is None or value == "" or (not isinstance(value, str) and bool(pd.isna(value)))
