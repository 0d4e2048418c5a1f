"""Readings: walked, imported, corrected."""

from __future__ import annotations

import json
import math
import pickle
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, Query, UploadFile

from moisturemap.errors import OptionError, StoreError
from moisturemap.web.answers import ReadingsAnswer
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import CorrectionIn, ReadingsIn
from moisturemap.web.refusals import Changed, NotThere
from moisturemap.web.routes.access import JobHere, RequestKey
from moisturemap.web.uploads import shown_name, uploaded

router = APIRouter(prefix="/api/projects/{project}", tags=["readings"])

WORDS = ("raw", "censored", "room", "label", "instrument", "note")
Turn = Annotated[float, Form(allow_inf_nan=False, ge=-360, le=360)]
Shift = Annotated[float, Form(allow_inf_nan=False, ge=-1e6, le=1e6)]


@router.get("/readings", response_model=ReadingsAnswer)
def readings(
    job: JobHere,
    visit: Annotated[str, Query(max_length=120)],
    after: Annotated[int, Query(ge=0)] = 0,
) -> dict[str, Any]:
    """Return the readings of a visit as they were taken; only those after one, when asked."""
    rows = [
        row for row in job.project.rows("readings") if row["visit"] == visit and row["fid"] > after
    ]
    return {"readings": [_shown(row) for row in rows]}


def _shown(row: dict[str, Any]) -> dict[str, Any]:
    # A file another program wrote may leave words and the number of a repeat empty.
    words = {name: row[name] or "" for name in WORDS}
    rest = {name: row[name] for name in ("x", "y", "value", "time")}
    return {**words, **rest, "reading": row["fid"], "repeat": row["repeat"] or 0}


@router.get("/walk")
def walk(
    job: JobHere,
    spacing: Annotated[float | None, Query(allow_inf_nan=False, gt=0, le=100)] = None,
    room: Annotated[str | None, Query(max_length=200)] = None,
    edge: bool = True,
    repeats: Annotated[int, Query(ge=0, le=200)] = 10,
    start: Annotated[str, Query(max_length=20)] = "bottom-left",
    rows: Annotated[str, Query(max_length=10)] = "long",
    visit: Annotated[str, Query(max_length=120)] = "",
) -> dict[str, Any]:
    """Lay a grid over the rooms and put what was not read on a visit in walking order."""
    from moisturemap.entry.plan_exchange import stored_plan
    from moisturemap.floorplan import FloorPlan

    plan = stored_plan(job.project)
    if plan is None:
        message = "the job has no room yet; draw or import the plan first"
        raise StoreError(message)
    if room:
        chosen = [one for one in plan.rooms if one.name == room]
        if not chosen:
            message = "no such room"
            raise OptionError(message, value=room, allowed=", ".join(r.name for r in plan.rooms))
        plan = FloorPlan(tuple(chosen), plan.lines)
    options = {"spacing": spacing, "edge": edge, "repeats": repeats, "start": start, "rows": rows}
    read = [
        (row["room"] or "", row["label"] or "", row["x"], row["y"])
        for row in job.project.rows("readings")
        if row["visit"] == visit
    ]
    laid: dict[str, Any] = job.quick("walk", plan=pickle.dumps(plan), options=options, read=read)
    return laid


@router.get("/walk/begun")
def begun(job: JobHere, visit: Annotated[str, Query(max_length=120)]) -> dict[str, Any]:
    """Return how the last walk of a visit was laid out, on whichever device; None if none was."""
    return {"walk": job.walks.get(visit)}


@router.post("/readings", status_code=201)
def add_readings(job: JobHere, content: ReadingsIn, key: RequestKey = "") -> dict[str, Any]:
    """Store typed readings; a repeat with the same key stores nothing more."""
    from moisturemap.entry.typed_rows import reading_rows

    with job.alone():
        before = job.repeated(key)
        if before is None:
            instrument = _instrument(job, content.instrument)
            _visit(job, content.visit)
            if content.walk is not None:
                job.walks[content.visit] = content.walk.model_dump()
            typed = [one.model_dump() for one in content.readings]
            rows = reading_rows(typed, content.visit, instrument)
            old = _standing(job, content)
            with job.change(content.who, "reading typed", key) as made:
                if content.instead_of and old:
                    made.remove("readings", [row["fid"] for row in old])
                before = made.add("readings", rows)
            if not content.instead_of and old:
                # Nothing is lost when two devices read one place: both stand, and both are told.
                return {"readings": before, "also": [_told(row) for row in old]}
        return {"readings": before}


def _told(row: dict[str, Any]) -> dict[str, Any]:
    return {"reading": row["fid"], **{name: row[name] for name in ("label", "room", "raw", "time")}}


def _standing(job: Job, content: ReadingsIn) -> list[dict[str, Any]]:
    """Return the readings that stand at the places of new ones on this visit."""
    from moisturemap.scanning import ONE_PLACE_M

    meant = {(one.label, one.room, one.repeat): one for one in content.readings if one.label}

    def same(row: dict[str, Any]) -> bool:
        new = meant.get((row["label"], row["room"], row["repeat"]))
        return new is not None and math.dist((new.x, new.y), (row["x"], row["y"])) <= ONE_PLACE_M

    rows = job.project.rows("readings")
    return [row for row in rows if row["visit"] == content.visit and same(row)]


def _instrument(job: Job, id: str) -> Any:
    from moisturemap.entry.project_parts import instrument_of

    return instrument_of(job.project, id)


def _visit(job: Job, id: str) -> None:
    known = [row["id"] for row in job.project.rows("visits")]
    if id not in known:
        message = "no such visit"
        raise OptionError(message, value=id, allowed=", ".join(known) or "start a visit first")


@router.patch("/readings/{reading}")
def correct_reading(
    job: JobHere, reading: int, content: CorrectionIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Correct a reading; the one that was stays in the record."""
    from moisturemap.entry.typed_rows import typed_value

    with job.alone():
        if job.repeated(key) is None:
            row = _reading(job, reading, content.seen)
            instrument = _instrument(job, row["instrument"])
            value, censored = typed_value(content.raw, instrument, place=row["label"] or "")
            new = {"value": value, "censored": censored, "raw": content.raw}
            with job.change(content.who, content.why, key) as made:
                made.correct("readings", reading, new)
    return {"reading": reading}


@router.delete("/readings/{reading}")
def remove_reading(
    job: JobHere, reading: int, content: CorrectionIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Take a reading out; it stays in the record."""
    with job.alone():
        if job.repeated(key) is None:
            _reading(job, reading, content.seen)
            with job.change(content.who, content.why, key) as made:
                made.remove("readings", [reading])
    return {"reading": reading}


def _reading(job: Job, fid: int, seen: str | None) -> dict[str, Any]:
    """Return a reading; refused where another value stands there than the one that was seen."""
    found = next((row for row in job.project.rows("readings") if row["fid"] == fid), None)
    if found is None:
        message = "there is no such reading"
        raise NotThere(message)
    if seen is not None and seen != (found["raw"] or "").strip():
        raise Changed(
            f"this reading was corrected meanwhile, on another device or page: it is now"
            f" {found['raw'] or found['value']}"
            ". Nothing was stored; open it again and correct what is there now"
        )
    return found


@router.post("/readings/preview")
def preview(
    job: JobHere,
    file: Annotated[UploadFile, File()],
    coordinates: Annotated[str, Form(max_length=8)] = "m",
    layout: Annotated[str, Form(max_length=8)] = "auto",
    decimal: Annotated[Literal["", ".", ","], Form()] = "",
    sheet: Annotated[str, Form(max_length=120)] = "",
    columns: Annotated[str, Form(max_length=4000)] = "{}",
    origin_x: Shift = 0.0,
    origin_y: Shift = 0.0,
    rotate_deg: Turn = 0.0,
    mirror: Annotated[bool, Form()] = False,
    visit: Annotated[str, Form(max_length=120)] = "",
) -> dict[str, Any]:
    """Show how a file of readings is understood; nothing is stored.

    Times that state no zone are in that of the job, bare times of day on the day of the visit.
    """
    placed = (origin_x, origin_y, rotate_deg, mirror)
    options = _options(file, (coordinates, layout, decimal, sheet), columns, placed)
    options["reading"] |= _clock(job, visit)
    with uploaded(file) as path:
        plan = _packed_plan(job)
        shown: dict[str, Any] = job.quick(
            "readings_file", path=str(path), plan=plan, options=options
        )
    return shown


@router.post("/readings/file", status_code=201)
def add_file(
    job: JobHere,
    file: Annotated[UploadFile, File()],
    visit: Annotated[str, Form(max_length=120)],
    instrument: Annotated[str, Form(max_length=120)],
    who: Annotated[str, Form(min_length=1, max_length=120)],
    coordinates: Annotated[str, Form(max_length=8)] = "m",
    layout: Annotated[str, Form(max_length=8)] = "auto",
    decimal: Annotated[Literal["", ".", ","], Form()] = "",
    sheet: Annotated[str, Form(max_length=120)] = "",
    columns: Annotated[str, Form(max_length=4000)] = "{}",
    origin_x: Shift = 0.0,
    origin_y: Shift = 0.0,
    rotate_deg: Turn = 0.0,
    mirror: Annotated[bool, Form()] = False,
    twice: Annotated[bool, Form()] = False,
    key: RequestKey = "",
) -> dict[str, Any]:
    """Store the readings of a file as the preview showed them.

    What the visit holds already at the same place with the same value is left out, unless it is
    wanted ``twice``.
    """
    stored, rows = job.repeated(key), []
    if stored is None:
        _visit(job, visit)
        _instrument(job, instrument)
        placed = (origin_x, origin_y, rotate_deg, mirror)
        options = _options(file, (coordinates, layout, decimal, sheet), columns, placed)
        options["reading"] |= _clock(job, visit)
        with uploaded(file) as path:
            plan, of = _packed_plan(job), (visit, instrument)
            rows = job.quick("file_rows", path=str(path), plan=plan, options=options, of=of)
        with job.alone():
            stored = job.repeated(key)  # the same file sent twice at once
            if stored is None:
                new = rows if twice else _not_held(job, rows, visit)
                if not new:
                    return {"stored": 0, "left_out": len(rows)}
                with job.change(who, f"readings from {shown_name(file)}", key) as made:
                    stored = made.add("readings", new)
    return {"stored": len(stored), "left_out": max(0, len(rows) - len(stored)) if rows else 0}


def _not_held(job: Job, rows: list[dict[str, Any]], visit: str) -> list[dict[str, Any]]:
    """Return the rows whose place and value the visit does not hold already."""

    def known(row: dict[str, Any]) -> tuple[float, float, str]:
        return round(row["x"], 2), round(row["y"], 2), f"{row['value']} {row['censored'] or ''}"

    held = {known(row) for row in job.project.rows("readings") if row["visit"] == visit}
    return [row for row in rows if known(row) not in held]


def _clock(job: Job, visit: str) -> dict[str, Any]:
    from moisturemap.entry.project_parts import clock_of

    zone, day = clock_of(job.project, visit)
    return {"zone": zone, "day": day}


def _options(
    file: UploadFile,
    reading: tuple[str, str, str, str],
    columns: str,
    placed: tuple[float, float, float, bool],
) -> dict[str, Any]:
    try:
        chosen = json.loads(columns)
        well_made = isinstance(chosen, dict) and all(isinstance(v, str) for v in chosen.values())
    except ValueError:
        well_made = False
    if not well_made:
        message = "the chosen columns cannot be read"
        raise OptionError(message, value=columns[:80], allowed='an object such as {"x": "Easting"}')
    coordinates, layout, decimal, sheet = reading
    origin_x, origin_y, rotate_deg, mirror = placed
    return {
        "reading": {
            "coordinates": coordinates,
            "layout": layout,
            "decimal": decimal or None,
            "sheet": sheet or None,
            "name": shown_name(file),
        },
        "columns": chosen,
        "placement": {
            "origin_x": origin_x,
            "origin_y": origin_y,
            "rotate_deg": rotate_deg,
            "mirror": mirror,
        },
    }


def _packed_plan(job: Job) -> bytes:
    from moisturemap.entry.plan_exchange import stored_plan

    return pickle.dumps(stored_plan(job.project))
