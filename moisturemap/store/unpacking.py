"""A project file back into a survey folder that people can read and write by hand."""

from __future__ import annotations

import csv
import dataclasses
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import Any

import pandas as pd
import shapely
import tomli_w

from moisturemap.errors import OutputError, StoreError
from moisturemap.floorplan import FloorPlan
from moisturemap.outputs import new_folder
from moisturemap.store.project import Project
from moisturemap.store.unpacked_logs import write_logs
from moisturemap.store.values import missing_name
from moisturemap.survey import Instrument, Limit, Survey, Visit

SOURCES = "as-received"
"""Folder the files the project was packed from are written to, byte for byte."""

Tables = dict[str, Any]
_READING_COLUMNS = ("x", "y", "value", "room", "label", "repeat", "time", "note")
_OURS = ("test", "visit", "source", "row", "censored", "instrument_id")


def unpack(project: Project, folder: str | Path) -> Path:
    """Write a project as a survey folder and return the path of its survey.toml.

    The present state is written: survey.toml, plan.geojson and a CSV for each visit and meter.
    Files kept with the project (as received, photographs) are written beside them.

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
    content = _survey_tables(survey)
    (folder / "plan.geojson").write_text(_geojson(survey.plan), encoding="utf-8")
    for table, visit in zip(content["visits"], survey.visits, strict=True):
        table.update(_visit_files(survey, visit, folder))
    content.update(write_logs(survey, folder))
    (folder / "survey.toml").write_text(tomli_w.dumps(content), encoding="utf-8")
    _write_attachments(project, folder)


def _stated(bundle: Any, *leave: str) -> Tables:
    """Return the fields of a bundle that say something, as TOML can hold them."""
    fields = {one.name: getattr(bundle, one.name) for one in dataclasses.fields(bundle)}
    return {
        name: list(value) if isinstance(value, tuple) else value
        for name, value in fields.items()
        if name not in leave and value is not None and value not in ("", ())
    }


def _survey_tables(survey: Survey) -> Tables:
    # Written in UTC, whatever zone the job is in: each time carries its own offset.
    head = {"name": survey.name, "coordinates": "m", "timezone": "UTC", **survey.details}
    content: Tables = {"survey": head, "plan": {"file": "plan.geojson"}}
    content["rooms"] = [
        {
            "name": room.name,
            **({"storey": room.storey.name} if room.storey else {}),
            **_stated(room.slab),
            **_room_limit(survey.room_limits.get(room.name)),
        }
        for room in survey.plan.rooms
    ]
    storeys = {room.storey.name: room.storey for room in survey.plan.rooms if room.storey}
    content["storeys"] = [_stated(one) for one in storeys.values()]
    content["instruments"] = [_instrument(one) for one in survey.instruments.values()]
    content["visits"] = [_visit(visit) for visit in survey.visits]
    content["scan"] = _stated(survey.scan)
    if survey.limit is not None:
        content["limit"] = _stated(survey.limit)
    return {name: table for name, table in content.items() if table}


def _room_limit(limit: Limit | None) -> Tables:
    return {} if limit is None else {"limit": _stated(limit)}


def _instrument(instrument: Instrument) -> Tables:
    checks = [_stated(check) for check in instrument.checks]
    return {**_stated(instrument, "checks"), **({"checks": checks} if checks else {})}


def _visit(visit: Visit) -> Tables:
    log = [_stated(one) for one in visit.acclimation]
    return {**_stated(visit, "acclimation"), **({"acclimation": log} if log else {})}


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
    number = [one.id for one in survey.visits].index(visit.id) + 1
    readings = survey.readings[survey.readings["visit"] == visit.id]
    entries = []
    for part, (meter, rows) in enumerate(_runs(readings), 1):
        name = f"readings-{number}-{part}.csv"
        _write_csv(folder / name, _READING_COLUMNS, map(_reading, rows))
        entries.append({"file": name, "instrument": meter})
    if entries:
        found["readings"] = entries
    for kind in ("tests", "equipment"):
        table = getattr(survey, kind)
        table = table[table["visit"] == visit.id]
        if len(table):
            columns = [name for name in table.columns if name not in _OURS]
            _write_csv(folder / f"{kind}-{number}.csv", columns, map(_record, _records(table)))
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
