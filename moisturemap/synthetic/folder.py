"""Write an invented survey as the folder a person would have brought home."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import tomli_w
from shapely.geometry import mapping

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Instrument, Survey, Visit

TEST_FIELDS = (
    "hole",
    "x",
    "y",
    "method",
    "depth_mm",
    "value",
    "unit",
    "temperature_c",
    "air_temperature_c",
    "drilled",
    "placed",
    "read",
    "instrument",
    "note",
)


def _plain(table: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in table.items() if value not in (None, "", (), [])}


def _plan_features(plan: FloorPlan) -> dict[str, Any]:
    features = [
        {"type": "Feature", "properties": {"name": room.name}, "geometry": mapping(room.polygon)}
        for room in plan.rooms
    ]
    for line in plan.lines:
        properties = _plain({"kind": line.kind, "name": line.name})
        features.append(
            {"type": "Feature", "properties": properties, "geometry": mapping(line.geometry)}
        )
    return {"type": "FeatureCollection", "features": features}


def _room_table(room: Room) -> dict[str, Any]:
    slab = room.slab
    return _plain(
        {
            "name": room.name,
            "base": slab.base,
            "thickness_mm": slab.thickness_mm,
            "drying_faces": slab.drying_faces,
            "heated": slab.heated,
            "placed": slab.placed,
            "pour": slab.pour,
            "covered": slab.covered,
            "lifted": slab.lifted,
            "first_fault": slab.first_fault,
            "membrane": slab.membrane,
            "build_up": slab.build_up,
        }
    )


def _instrument_table(instrument: Instrument) -> dict[str, Any]:
    return _plain(
        {
            "id": instrument.id,
            "kind": instrument.kind,
            "scale": list(instrument.scale) if instrument.scale else None,
            "step": instrument.step,
            "serial": instrument.serial,
            "certificate": instrument.certificate,
            "uncertainty": instrument.uncertainty,
        }
    )


def _visit_table(visit: Visit, readings: list[dict[str, str]], tests: str) -> dict[str, Any]:
    table = _plain(
        {
            "id": visit.id,
            "started": visit.started,
            "operator": visit.operator,
            "air_temperature_c": visit.air_temperature_c,
            "air_rh_pct": visit.air_rh_pct,
            "slab_temperature_c": visit.slab_temperature_c,
            "dry_reference": list(visit.dry_reference),
        }
    )
    table["readings"] = readings
    if tests:
        table["tests"] = [{"file": tests}]
    return table


def _write_readings(survey: Survey, visit: Visit, path: Path) -> list[dict[str, str]]:
    files = []
    for instrument, part in survey.readings_of(visit.id).groupby("instrument", sort=False):
        name = f"readings-{visit.id}-{instrument}.csv"
        table = part[["x", "y", "raw", "room", "label", "repeat", "time", "note"]]
        table = table.rename(columns={"raw": "value"})
        table["time"] = [time.isoformat() if pd.notna(time) else "" for time in table["time"]]
        table.to_csv(path / name, index=False)
        files.append({"file": name, "instrument": str(instrument)})
    return files


def _write_tests(survey: Survey, visit: Visit, path: Path) -> str:
    tests = survey.tests[survey.tests["visit"] == visit.id]
    if tests.empty:
        return ""
    name = f"tests-{visit.id}.csv"
    table = tests[list(TEST_FIELDS)].copy()
    for column in ("drilled", "placed", "read"):
        table[column] = [time.isoformat() if pd.notna(time) else "" for time in table[column]]
    table.to_csv(path / name, index=False)
    return name


def write_folder(survey: Survey, path: Path | str) -> Path:
    """Write a survey as ``survey.toml``, ``plan.geojson`` and CSV files.

    Parameters
    ----------
    survey : Survey
    path : Path or str
        Folder to write into; made when missing. Files of the same names are replaced.

    Returns
    -------
    Path
        The ``survey.toml``.
    """
    path = Path(path)
    path.mkdir(parents=True, exist_ok=True)
    (path / "plan.geojson").write_text(json.dumps(_plan_features(survey.plan), indent=1) + "\n")
    scan = _plain(
        {"wet_level": survey.scan.wet_level, "dry_reference": list(survey.scan.dry_reference)}
    )
    content: dict[str, Any] = {
        "survey": {"name": survey.name, "coordinates": "m"},
        "plan": {"file": "plan.geojson"},
        "rooms": [_room_table(room) for room in survey.plan.rooms],
        "instruments": [_instrument_table(one) for one in survey.instruments.values()],
        "visits": [
            _visit_table(
                visit, _write_readings(survey, visit, path), _write_tests(survey, visit, path)
            )
            for visit in survey.visits
        ],
    }
    if scan:
        content["scan"] = scan
    if survey.limit is not None:
        limit = survey.limit
        content["limit"] = {
            "method": limit.method,
            "value": limit.value,
            "unit": limit.unit,
            "source": limit.source,
        }
    target = path / "survey.toml"
    target.write_text(tomli_w.dumps(content))
    return target
