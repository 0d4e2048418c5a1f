"""Write an invented survey as the folder a person would have brought home."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import tomli_w
from shapely.geometry import mapping

from moisturemap.floorplan import FloorPlan
from moisturemap.survey import TEST_FIELDS, Survey, Visit, survey_tables


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
    table = tests[[column for column in TEST_FIELDS if column in tests]].copy()
    for column, field in TEST_FIELDS.items():
        if field.kind == "time" and column in table:
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
    content = survey_tables(survey)
    for table, visit in zip(content["visits"], survey.visits, strict=True):
        table["readings"] = _write_readings(survey, visit, path)
        tests = _write_tests(survey, visit, path)
        if tests:
            table["tests"] = [{"file": tests}]
    target = path / "survey.toml"
    target.write_text(tomli_w.dumps(content))
    return target
