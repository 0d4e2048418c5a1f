"""Logs of drying machines: litres, running hours, energy and current, from CSV or XLSX."""

from __future__ import annotations

import re
from datetime import datetime, time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.errors import SurveyError
from moisturemap.files.record_table import Column, RecordOptions, RecordTable
from moisturemap.files.table import Cell, Table, read_table, shown
from moisturemap.survey import MachineEntry, MachineLog

Array = NDArray[np.float64]

LITRES_PER_UNIT = {"l": 1.0, "litre": 1.0, "liter": 1.0, "ml": 0.001, "kg": 1.0}
LITRES_PER_UNIT |= dict.fromkeys(("gal", "gallon"), 3.785411784)
LITRES_PER_UNIT |= dict.fromkeys(("pt", "pint"), 0.473176473)
"""US gallon and liquid pint by NIST Handbook 44, appendix C; a kilogram of water is a litre."""

IMPERIAL = re.compile(r"\b(imperial|imp|uk)\b", re.IGNORECASE)
IMPERIAL_OVER_US = {"gal": 4.54609 / 3.785411784, "pt": 0.56826125 / 0.473176473}
"""Imperial gallon and pint over those of the US (NIST Handbook 44, appendix C)."""

WATT_HOURS = re.compile(r"\bwh\b", re.IGNORECASE)
"""A heading with this holds watt-hours, a thousandth of a kWh each."""

COUNTED = re.compile(
    r"meter|counter|total|cumul|z[aä]hler|stand|compteur|since|seit|depuis", re.IGNORECASE
)
"""A heading with one of these holds the state of a counter; its differences are what was done."""

MACHINE_LOG_HEADINGS: dict[str, tuple[str, ...]] = {
    "when": ("time", "datetime", "date", "timestamp", "day", "zeit", "zeitpunkt", "datum", "heure"),
    "machine": (
        "id",
        "unitno",
        "equipment",
        "dehumidifier",
        "geraet",
        "gerat",
        "maschine",
        "appareil",
    ),
    "litres": (
        "liters",
        "litre",
        "liter",
        "l",
        "water",
        "waterremoved",
        "watertotal",
        "watermeter",
        "litrestotal",
        "litertotal",
        "condensate",
        "gallons",
        "pints",
        "wasser",
        "kondensat",
        "liter gesamt",
        "eau",
        "condensats",
    ),
    "run_hours": (
        "hours",
        "runhours",
        "runninghours",
        "hourmeter",
        "hourstotal",
        "totalhours",
        "hourcounter",
        "h",
        "stunden",
        "betriebsstunden",
        "stundenzaehler",
        "stundenzahler",
        "heures",
    ),
    "energy_kwh": (
        "kwh",
        "energy",
        "kwhtotal",
        "energytotal",
        "energymeter",
        "kwhmeter",
        "energie",
        "zaehlerstand",
        "zahlerstand",
        "stromzaehler",
        "stromzahler",
    ),
    "current_a": ("amps", "amperes", "ampere", "current", "a", "strom", "courant", "intensite"),
    "room": ("space", "raum", "piece"),
    "note": ("notes", "comment", "remark", "bemerkung", "remarque"),
}
"""Headings of a machine's log in English, German and French."""

_COLUMNS = {
    "when": Column("time"),
    "machine": Column("text"),
    "litres": Column("number", 0),
    "run_hours": Column("number", 0),
    "energy_kwh": Column("number", 0),
    "current_a": Column("number", 0, 1000),
    "room": Column("text"),
    "note": Column("text"),
}
_DONE = ("litres", "run_hours", "energy_kwh")


def read_machine_logs(
    path: Path | str, options: RecordOptions | None = None, *, machine: str = "", room: str = ""
) -> tuple[tuple[MachineLog, ...], tuple[str, ...]]:
    """Read the logs of one machine or of several.

    Each row tells what was done since the row before of the same machine; a row that names a day
    without a time, what was done on that day. Where the heading names
    a counter (``hour meter``, ``kWh total``), differences are taken; a counter that fell was reset.

    Parameters
    ----------
    path : Path or str
    options : RecordOptions, optional
    machine : str
        Whose log it is, where the file does not say.
    room : str
        Where the file does not say; "" for the whole floor.

    Returns
    -------
    logs : tuple of MachineLog
    notes : tuple of str

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    options = options or RecordOptions()
    table = read_table(Path(path), options.sheet, options.name)
    records = RecordTable.find(table, _COLUMNS, MACHINE_LOG_HEADINGS, ("when",), options)
    if not any(name in records.header.columns for name in (*_DONE, "current_a")):
        raise SurveyError(
            "the log tells neither litres nor hours, energy or current",
            source=table.source,
            place=f"row {records.header.row + 1}",
            allowed="a column litres, hours, kWh or amperes",
        )
    frame, notes = records.frame()
    _refuse_blanks(frame, machine, records)
    if "machine" not in frame:
        frame["machine"] = machine
    frame["machine"] = [str(one) or machine for one in frame["machine"]]
    said = list(notes)
    if _days_only(records.cells("when")):
        # a day's litres were taken out by its end
        frame["when"] += pd.Timedelta(days=1)
    logs = []
    for name, rows in frame.groupby("machine", sort=False):
        ordered = _once(rows.sort_values("when", kind="stable"), table, str(name), said)
        for column in _DONE:
            if column in ordered:
                ordered[column] = _done(ordered, column, records, str(name), said)
        rooms = [str(one) for one in ordered.get("room", pd.Series(dtype=str)) if one]
        entries = tuple(_entry(row) for row in _rows(ordered))
        where = rooms[-1] if rooms else room
        logs.append(MachineLog(machine=str(name), entries=entries, room=where, source=table.source))
    return tuple(logs), tuple(said)


def _days_only(cells: list[Cell]) -> bool:
    """Whether entries are named by their day alone."""
    return all(
        cell.time() == time() if isinstance(cell, datetime) else ":" not in shown(cell)
        for cell in cells
    )


def _refuse_blanks(frame: pd.DataFrame, machine: str, records: RecordTable) -> None:
    blank = frame["when"].isna().to_numpy()
    if blank.any():
        raise records.refuse("the time is missing", "when", int(np.argmax(blank)), "a date or time")
    named = frame["machine"].astype(bool).to_numpy() if "machine" in frame else np.zeros(len(frame))
    if not machine and not named.all():
        raise SurveyError(
            "it is not told which machine this is",
            source=records.table.source,
            place=f"row {frame['row'].iloc[int(np.argmin(named))]}",
            allowed="a column machine, or the name of the machine given for the file",
        )


def _done(
    rows: pd.DataFrame, name: str, records: RecordTable, machine: str, notes: list[str]
) -> Array:
    """Return what was done in each interval, in our unit."""
    heading = shown(records.table.rows[records.header.row][records.header.columns[name]])
    values = rows[name].to_numpy(dtype=float) * _unit(heading, name)
    if not COUNTED.search(heading):
        if name != "run_hours" or not _counts_on(rows["when"], values):
            return values
        notes.append(
            f"{records.table.source}: {heading!r} of {machine} rises by less than it holds and is "
            "more than the hours between entries: it was taken for a counter."
        )
    known = np.flatnonzero(np.isfinite(values))
    steps = np.diff(values[known])
    if (steps < 0.0).any():
        count = int((steps < 0.0).sum())
        times = "once" if count == 1 else f"{count} times"
        notes.append(
            f"{records.table.source}: the counter {heading!r} of {machine} fell {times}; it was "
            "taken as started anew from nought."
        )
    done = np.full(values.size, np.nan)
    done[known[1:]] = np.where(steps < 0.0, values[known[1:]], steps)
    return done


def _counts_on(when: pd.Series, hours: Array) -> bool:
    """Whether hours are the state of a counter: they never fall, and pass the time gone by."""
    known = np.isfinite(hours)
    between = np.diff(when[known]).astype("timedelta64[s]").astype(float) / 3600.0
    read = hours[known]
    return bool(read.size > 1 and (np.diff(read) >= 0.0).all() and (read[1:] > between + 1.0).all())


def _unit(heading: str, name: str) -> float:
    """Litres, hours or kWh in the unit that a heading names."""
    if name == "energy_kwh":
        return 0.001 if WATT_HOURS.search(heading) else 1.0
    if name != "litres":
        return 1.0
    words = [word.removesuffix("s") for word in re.findall(r"[a-z]+", heading.casefold())]
    unit = next((word for word in words if word in LITRES_PER_UNIT), "l")
    imperial = IMPERIAL.search(heading) is not None
    kind = {"gallon": "gal", "pint": "pt"}.get(unit, unit)
    return LITRES_PER_UNIT[unit] * (IMPERIAL_OVER_US.get(kind, 1.0) if imperial else 1.0)


def _once(rows: pd.DataFrame, table: Table, machine: str, notes: list[str]) -> pd.DataFrame:
    """Leave out rows that stand twice word for word: their litres would count twice."""
    told = [name for name in ("when", "machine", *_DONE, "current_a") if name in rows]
    twice = rows.duplicated(told)
    if twice.any():
        count = "1 row stands" if twice.sum() == 1 else f"{twice.sum()} rows stand"
        notes.append(f"{table.source}: {count} twice for {machine} and counts once.")
    return rows[~twice]


def _rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]


def _entry(row: dict[str, Any]) -> MachineEntry:
    told = [name for name in (*_DONE, "current_a") if name in row]
    numbers = {name: float(row[name]) for name in told if np.isfinite(float(row[name]))}
    when = pd.Timestamp(row["when"]).to_pydatetime()
    return MachineEntry(when=when, note=str(row.get("note") or ""), **numbers)
