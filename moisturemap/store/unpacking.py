"""A project file back into a survey folder that people can read and write by hand."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, tzinfo
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import Any

import pandas as pd
import shapely
import tomli_w

from moisturemap.errors import OutputError, StoreError
from moisturemap.floorplan import FloorPlan
from moisturemap.outputs import new_folder
from moisturemap.store.former import BEFORE_FILE, fingerprint_of
from moisturemap.store.project import Project
from moisturemap.store.unpacked_logs import write_logs
from moisturemap.store.values import missing_name
from moisturemap.survey import Survey, Visit, survey_tables

SOURCES = "as-received"
"""Folder the files the project was packed from are written to, byte for byte."""

Tables = dict[str, Any]
_READING_COLUMNS = ("x", "y", "value", "room", "label", "repeat", "time", "note")
_OURS = ("test", "visit", "source", "row", "censored", "instrument_id")


def unpack(project: Project, folder: str | Path) -> Path:
    """Write a project as a survey folder and return the path of its survey.toml.

    The present state is written: survey.toml, plan.geojson and a CSV for each visit and meter.
    Files kept with the project (as received, photographs) are written beside them, and what was
    changed and may speak against the floor: a folder keeps no record of changes.

    Parameters
    ----------
    project : Project
    folder : str or Path
        Folder to write into.

    Raises
    ------
    StoreError
        If the folder exists and is not empty, or cannot be written; nothing is left behind then.
    """
    folder = Path(folder)
    try:
        with new_folder(folder) as unfinished:
            _write_survey(project, project.survey(), unfinished)
    except OutputError as error:
        raise StoreError(str(error)) from error
    return folder / "survey.toml"


def _write_survey(project: Project, survey: Survey, folder: Path) -> None:
    content = survey_tables(survey)
    (folder / "plan.geojson").write_text(_geojson(survey.plan), encoding="utf-8")
    for table, visit in zip(content["visits"], survey.visits, strict=True):
        table.update(_visit_files(survey, visit, folder))
    content.update(write_logs(survey, folder))
    before = project.changed_before()
    if before["told"]:
        content["survey"]["changed_before"] = fingerprint_of(before)
        text = json.dumps(before, ensure_ascii=False, indent=1)
        (folder / BEFORE_FILE).write_text(text, encoding="utf-8")
    (folder / "survey.toml").write_text(tomli_w.dumps(content), encoding="utf-8")
    _write_attachments(project, folder)


def _geojson(plan: FloorPlan) -> str:
    shapes = [({"name": room.name}, room.polygon) for room in plan.rooms]
    shapes += [({"kind": line.kind, "name": line.name}, line.geometry) for line in plan.lines]
    features = [
        {"type": "Feature", "properties": about, "geometry": shapely.geometry.mapping(shape)}
        for about, shape in shapes
    ]
    content = {"type": "FeatureCollection", "features": features}
    return json.dumps(content, ensure_ascii=False, indent=1)


def _visit_files(survey: Survey, visit: Visit, folder: Path) -> Tables:
    """Write the tables of one visit and return what survey.toml says of them."""
    found: Tables = {}
    here = partial(_in_zone, zone=(visit.started and visit.started.tzinfo) or UTC)
    number = [one.id for one in survey.visits].index(visit.id) + 1
    readings = survey.readings[survey.readings["visit"] == visit.id]
    entries = []
    for part, (meter, rows) in enumerate(_runs(readings), 1):
        name = f"readings-{number}-{part}.csv"
        _write_csv(folder / name, _READING_COLUMNS, map(here, map(_reading, rows)))
        entries.append({"file": name, "instrument": meter})
    if entries:
        found["readings"] = entries
    for kind in ("tests", "equipment"):
        table = getattr(survey, kind)
        table = table[table["visit"] == visit.id]
        if len(table):
            columns = [name for name in table.columns if name not in _OURS]
            written = map(here, map(_record, _records(table)))
            _write_csv(folder / f"{kind}-{number}.csv", columns, written)
            found[kind] = [{"file": f"{kind}-{number}.csv"}]
    return found


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): value for name, value in row.items()} for row in table.to_dict("records")]


def _runs(readings: pd.DataFrame) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Yield readings in their order, cut where the meter changes."""
    for meter, rows in groupby(_records(readings), key=lambda row: str(row["instrument"])):
        yield meter, list(rows)


def _reading(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "value": _value(row), "repeat": row["repeat"] or ""}


def _record(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "value": _value(row)} if "value" in row else row


def _in_zone(row: dict[str, Any], zone: tzinfo) -> dict[str, Any]:
    """Return the row with its times in the zone of the visit, as they were written on site."""
    return {
        name: value.astimezone(zone)
        if isinstance(value, datetime) and not missing_name(value)
        else value
        for name, value in row.items()
    }


def _value(row: dict[str, Any]) -> Any:
    """Return the value as it was written, where a decimal point leaves no doubt of it."""
    raw, value = str(row.get("raw") or ""), row["value"]
    if missing_name(value):
        return raw
    sign = {"above": ">", "below": "<"}.get(row.get("censored") or "", "")
    try:
        as_written = not sign and float(raw) == value
    except ValueError:
        as_written = False
    return raw if as_written else f"{sign}{value!r}"


def _write_csv(path: Path, columns: Iterable[str], rows: Iterable[dict[str, Any]]) -> None:
    names = list(columns)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(names)
        writer.writerows([_cell(row.get(name)) for name in names] for row in rows)


def _cell(value: Any) -> Any:
    if missing_name(value):
        return ""
    if isinstance(value, datetime):
        return value.isoformat()
    return ("yes" if value else "no") if isinstance(value, bool) else value


def _write_attachments(project: Project, folder: Path) -> None:
    for row in project.rows("attachments"):
        source = row["of_layer"] == "settings"
        # A number in front keeps files of one name apart; names were cut to their last part.
        name = row["name"] if source else f"{row['fid']}-{row['name']}"
        path = folder / (SOURCES if source else "attachments") / name
        if not path.resolve().is_relative_to(folder.resolve()):
            message = f"the name of the kept file {row['name']!r} leads out of the folder"
            raise StoreError(message)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(project.content(row["sha256"]))
