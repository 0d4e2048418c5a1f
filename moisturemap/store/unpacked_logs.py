"""Loggers and logs of machines as files of a survey folder."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path
from typing import Any

from moisturemap.survey import LoggerSeries, MachineLog, Survey


def write_logs(survey: Survey, folder: Path) -> dict[str, list[dict[str, Any]]]:
    """Write a CSV for each logger and machine, and return what survey.toml says of them.

    Parameters
    ----------
    survey : Survey
    folder : Path
        Folder to write into.
    """
    found = {
        "loggers": [_logger(one, f"logger-{n}.csv", folder) for n, one in _counted(survey.loggers)],
        "machine_logs": [
            _machine(one, f"machine-log-{n}.csv", folder)
            for n, one in _counted(survey.machine_logs)
        ],
    }
    return {name: tables for name, tables in found.items() if tables}


def _counted(logs: Iterable[Any]) -> Iterable[tuple[int, Any]]:
    return enumerate(logs, start=1)


def _logger(one: LoggerSeries, name: str, folder: Path) -> dict[str, Any]:
    entries = zip(one.hours, one.rh_pct, one.temperature_c, strict=True)
    rows = [
        ((one.began + timedelta(hours=hours)).isoformat(), _number(rh), _number(warmth))
        for hours, rh, warmth in entries
    ]
    _write(folder / name, ("time", "RH (%)", "temperature (C)"), rows)
    place: dict[str, object] = {"id": one.id, "place": one.place, "room": one.room}
    place |= {"x": one.x, "y": one.y, "depth_mm": one.depth_mm}
    return {"file": name, **_stated(place)}


def _machine(one: MachineLog, name: str, folder: Path) -> dict[str, Any]:
    rows = [
        (
            entry.when.isoformat(),
            *(_number(v) for v in (entry.litres, entry.run_hours, entry.energy_kwh)),
            _number(entry.current_a),
            entry.note,
        )
        for entry in one.entries
    ]
    _write(folder / name, ("time", "litres", "hours", "kWh", "amperes", "note"), rows)
    return {"file": name, **_stated({"machine": one.machine, "room": one.room})}


def _stated(place: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in place.items() if value is not None and value != ""}


def _number(value: float | None) -> str:
    return "" if value is None or math.isnan(value) else repr(value)


def _write(path: Path, heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(heads)
        writer.writerows(rows)
