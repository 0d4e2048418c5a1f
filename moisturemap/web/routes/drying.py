"""Drying: visits compared, machines placed and moved."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from moisturemap.errors import OptionError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import CorrectionIn, MachineIn
from moisturemap.web.refusals import NotThere
from moisturemap.web.routes.access import AskerHere, JobHere, RequestKey, handed_on
from moisturemap.web.routes.maps import VisitName

router = APIRouter(prefix="/api/projects/{project}", tags=["drying"])

SHOWN = ("machine", "visit", "kind", "x", "y", "direction_deg", "capacity", "unit")
Count = Annotated[int | None, Query(ge=0, le=50)]


@router.get("/drying")
def drying(
    request: Request, asker: AskerHere, visit: VisitName = None, own_colours: bool = False
) -> Response:
    """Compare the visits up to one, the latest when none is named; colours as on the map."""
    return handed_on(request, asker.ask("drying", visit=visit or None, own=own_colours))


@router.get("/machines")
def machines(job: JobHere, visit: VisitName = None) -> dict[str, Any]:
    """Return the machines of a visit as they stand."""
    rows = [row for row in job.project.rows("equipment") if not visit or row["visit"] == visit]
    return {"machines": [{**{name: row[name] for name in SHOWN}, "id": row["fid"]} for row in rows]}


@router.post("/machines", status_code=201)
def new_machine(job: JobHere, content: MachineIn, key: RequestKey = "") -> dict[str, int]:
    """Place a machine."""
    with job.alone():
        before = job.repeated(key)
        if before is None:
            _known_visit(job, content.visit)
            _in_a_room(job, content)
            with job.change(content.who, "machine placed", key) as made:
                before = made.add("equipment", [content.model_dump(exclude={"who"})])
    return {"id": before[0]}


@router.put("/machines/{machine}")
def move_machine(
    job: JobHere, machine: int, content: MachineIn, key: RequestKey = ""
) -> dict[str, int]:
    """Move or turn a machine."""
    with job.alone():
        if job.repeated(key) is None:
            _known_machine(job, machine)
            _known_visit(job, content.visit)
            _in_a_room(job, content)
            with job.change(content.who, "machine moved", key) as made:
                made.correct("equipment", machine, content.model_dump(exclude={"who"}))
    return {"id": machine}


@router.delete("/machines/{machine}")
def remove_machine(
    job: JobHere, machine: int, content: CorrectionIn, key: RequestKey = ""
) -> dict[str, int]:
    """Take a machine away."""
    with job.alone():
        if job.repeated(key) is None:
            _known_machine(job, machine)
            with job.change(content.who, content.why, key) as made:
                made.remove("equipment", [machine])
    return {"id": machine}


def _in_a_room(job: Job, machine: MachineIn) -> None:
    from moisturemap.entry.machine_place import check_machine_place
    from moisturemap.entry.plan_exchange import stored_plan

    check_machine_place(stored_plan(job.project), machine.x, machine.y)


def _known_visit(job: Job, visit: str) -> None:
    known = [row["id"] for row in job.project.rows("visits")]
    if visit not in known:
        message = "no such visit"
        raise OptionError(message, value=visit, allowed=", ".join(known) or "start a visit first")


def _known_machine(job: Job, fid: int) -> None:
    if all(row["fid"] != fid for row in job.project.rows("equipment")):
        message = "there is no such machine"
        raise NotThere(message)


@router.get("/placement")
def placement(
    request: Request,
    asker: AskerHere,
    visit: VisitName = None,
    dehumidifiers: Count = None,
    air_movers: Count = None,
) -> Response:
    """Propose where machines should stand, with the gain over today's places."""
    wanted = {"dehumidifiers": dehumidifiers, "air_movers": air_movers}
    return handed_on(request, asker.ask("placement", visit=visit or None, **wanted))
