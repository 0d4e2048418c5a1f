"""The floor plan: read, store, and preview from a file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import PurePath
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, UploadFile

from moisturemap.web.jobs import Job
from moisturemap.web.payloads import BeyondIn, PlanIn
from moisturemap.web.refusals import Changed
from moisturemap.web.routes.access import JobHere, KeyAlone, ShelfHere
from moisturemap.web.uploads import uploaded
from moisturemap.web.work import Question

router = APIRouter(prefix="/api", tags=["plan"])


@router.get("/projects/{project}/plan")
def plan(job: JobHere) -> dict[str, Any]:
    """Return the plan as drawn, and the revision to name when it is changed."""
    return _stored(job)


@router.put("/projects/{project}/plan")
def put_plan(job: JobHere, content: PlanIn, key: KeyAlone = "") -> dict[str, Any]:
    """Store a plan in place of the one it was made from, with what moves along with it."""
    from moisturemap.entry.carried import Carried, carry, refuse_left_behind
    from moisturemap.entry.plan_exchange import plan_from_plain, plan_to_plain, stored_plan
    from moisturemap.store import edits, survey_rows

    new = plan_from_plain(content.plan.model_dump())
    carried = [Carried(**one.model_dump()) for one in content.carried]
    with job.alone():
        before = _stored(job)
        repeated = job.repeated(key) is not None
        if repeated and before["plan"] == plan_to_plain(new):
            return before
        if repeated or before["revision"] != content.revision:
            message = "the plan was changed somewhere else meanwhile"
            raise Changed(message)
        why = "plan drawn, what was placed beyond the wall moved along" if carried else "plan drawn"
        drawn = stored_plan(job.project)
        if carried and drawn is not None:
            refuse_left_behind(job.project, drawn, new, carried)
        with job.change(content.who, why, key) as made:
            edits.put_plan(made, new)
            settings = survey_rows.settings_of(made.rows("settings"))
            for one in carried:
                settings = carry(made, settings, one)
        return {**_stored(job), "notes": list(new.notes)}


@router.post("/projects/{project}/plan/beyond")
def beyond(job: JobHere, content: BeyondIn) -> dict[str, Any]:
    """Name what is placed beyond a line across the floor; nothing is stored."""
    from moisturemap.entry.carried import placed_beyond

    with job.alone():
        return placed_beyond(job.project, content.start, content.direction, content.least)


@router.post("/projects/{project}/plan/effect")
def effect(job: JobHere, content: PlanIn) -> dict[str, Any]:
    """Say what a plan would replace, leave in no room and set out anew; nothing is stored.

    ``set_out`` names the issued holes whose distances from the walls change, those that are
    carried along at their new places.
    """
    from moisturemap.entry.plan_exchange import left_out, plan_from_plain, stored_plan
    from moisturemap.workflow.issued_plan import SETTING
    from moisturemap.workflow.set_out_changes import set_out_changes

    new, before = plan_from_plain(content.plan.model_dump()), stored_plan(job.project)
    readings, tests = job.project.rows("readings"), job.project.rows("tests")
    holes = job.project.settings().get(SETTING) or ()
    moved: dict[str, tuple[float, float]] = {}
    for part in content.carried:
        for name in part.holes:
            dx, dy = moved.get(name, (0.0, 0.0))
            moved[name] = (dx + part.by[0], dy + part.by[1])
    changes = [] if before is None else set_out_changes(before, new, holes, moved)
    return {
        "set_out": [
            {"hole": one.hole, "before": _tapes(one.before), "after": _tapes(one.after)}
            for one in changes
        ],
        "rooms": 0 if before is None else len(before.rooms),
        "readings": len(readings),
        "tests": len(tests),
        "readings_out": left_out(readings, new),
        "tests_out": left_out(tests, new),
    }


def _tapes(tapes: Sequence[tuple[str, float]]) -> list[dict[str, Any]]:
    return [{"from_a": name, "distance_m": distance} for name, distance in tapes]


def _stored(job: Job) -> dict[str, Any]:
    from moisturemap.entry.plan_exchange import plan_to_plain, stored_plan

    with job.alone():  # rooms, lines and notes of one moment
        found = stored_plan(job.project)
        kept = job.project.settings().get("plan") or {}
    content = {"rooms": [], "lines": []} if found is None else plan_to_plain(found)
    seal = hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:24]
    return {"plan": content, "revision": seal, "notes": list(kept.get("notes") or ())}


@router.post("/preview/plan")
def preview_plan(
    shelf: ShelfHere,
    file: Annotated[UploadFile, File()],
    coordinates: Annotated[str | None, Form(max_length=8)] = None,
    otherwise: Annotated[Literal["m", "ft"], Form()] = "m",
    rotate_deg: Annotated[float, Form(allow_inf_nan=False, ge=-360, le=360)] = 0.0,
    mirror: Annotated[bool, Form()] = False,
    layer: Annotated[str | None, Form(max_length=120)] = None,
) -> dict[str, Any]:
    """Show how a plan file is understood; nothing is stored.

    It is read in ``coordinates``; without them in the unit the file states, else ``otherwise``.
    """
    with uploaded(file) as path:
        question = Question(
            "plan_file",
            arguments={
                "path": str(path),
                "units": (coordinates or None, otherwise),
                "layer": layer or None,
                "turn": (rotate_deg, mirror),
            },
        )
        shown: dict[str, Any] = shelf.quick(question)
    return {**shown, "name": PurePath(file.filename or "plan").stem}


@router.post("/preview/plan/layers")
def preview_layers(shelf: ShelfHere, file: Annotated[UploadFile, File()]) -> dict[str, Any]:
    """List the layers of a drawing or the storeys of a building model; nothing is stored."""
    with uploaded(file) as path:
        shown: dict[str, Any] = shelf.quick(Question("plan_layers", arguments={"path": str(path)}))
    return shown


@router.post("/preview/page")
def preview_page(
    shelf: ShelfHere,
    file: Annotated[UploadFile, File()],
    page: Annotated[int, Form(ge=1, le=100_000)] = 1,
) -> dict[str, Any]:
    """Show a page of a document in small, to choose the one to trace over; nothing is stored."""
    from moisturemap.files import PICTURE_ENDINGS

    with uploaded(file, PICTURE_ENDINGS) as path:
        question = Question("page_shown", arguments={"path": str(path), "page": page})
        shown: dict[str, Any] = shelf.quick(question)
    return shown
