"""Loggers and logs of machines: files that run on between the visits."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, UploadFile

from moisturemap.errors import OptionError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import LogRemovalIn
from moisturemap.web.refusals import NotThere
from moisturemap.web.routes.access import JobHere, RequestKey
from moisturemap.web.uploads import shown_name, uploaded

router = APIRouter(prefix="/api/projects/{project}/logs", tags=["logs"])

LoggerFile = Annotated[UploadFile, File()]
Words = Annotated[str, Form(max_length=120)]
Who = Annotated[str, Form(min_length=1, max_length=120)]
Decimal = Annotated[Literal["", ".", ","], Form()]
Metres = Annotated[float | None, Form(allow_inf_nan=False, ge=-1e6, le=1e6)]
Depth = Annotated[float | None, Form(allow_inf_nan=False, gt=0, le=5000)]


@router.get("")
def logs(job: JobHere) -> dict[str, Any]:
    """Return the loggers with their curves, and the logs of machines with their sums."""
    from moisturemap.entry.logs import logger_shown, machine_shown

    settings = job.project.settings()
    return {
        "loggers": [logger_shown(one) for one in settings.get("loggers") or ()],
        "machine_logs": [machine_shown(one) for one in settings.get("machine_logs") or ()],
    }


@router.post("/logger/preview")
def preview_logger(
    job: JobHere, file: LoggerFile, zone: Words = "", decimal: Decimal = "", channel: Words = ""
) -> dict[str, Any]:
    """Show how the file of a logger is understood; nothing is stored."""
    options = {"name": shown_name(file), "zone": zone, "decimal": decimal}
    with uploaded(file) as path:
        found: dict[str, Any] = job.quick(
            "logger_file", path=str(path), options=options, channel=channel
        )
    return found


@router.post("/logger", status_code=201)
def new_logger(
    job: JobHere,
    file: LoggerFile,
    id: Who,
    who: Who,
    place: Words,
    zone: Words = "",
    decimal: Decimal = "",
    channel: Words = "",
    room: Words = "",
    x: Metres = None,
    y: Metres = None,
    depth_mm: Depth = None,
    instead: Annotated[bool, Form()] = False,
    key: RequestKey = "",
) -> dict[str, Any]:
    """Keep the series of a logger at its place; one it replaces stays in the record."""
    from moisturemap.entry.logs import logger_place, with_loggers
    from moisturemap.entry.plan_exchange import stored_plan

    given = {"id": id.strip(), "place": place, "room": room, "x": x, "y": y, "depth_mm": depth_mm}
    if job.repeated(key) is None:
        where = logger_place(given, stored_plan(job.project))
        options = {"name": shown_name(file), "zone": zone, "decimal": decimal}
        with uploaded(file) as path:
            series = job.quick(
                "logger_series", path=str(path), options=options, channel=channel, place=where
            )
        with job.alone():
            if job.repeated(key) is None:
                kept = with_loggers(job.project.settings().get("loggers") or (), series, instead)
                job.keep("loggers", kept, who, f"logger {series.id} from {shown_name(file)}", key)
    return logs(job)


@router.post("/machines/preview")
def preview_machines(
    job: JobHere,
    file: LoggerFile,
    zone: Words = "",
    decimal: Decimal = "",
    machine: Words = "",
    room: Words = "",
) -> dict[str, Any]:
    """Show how the log of machines is understood; nothing is stored."""
    return _machines(job, file, (zone, decimal, machine, room))[1]


@router.post("/machines", status_code=201)
def new_machine_logs(
    job: JobHere,
    file: LoggerFile,
    who: Who,
    zone: Words = "",
    decimal: Decimal = "",
    machine: Words = "",
    room: Words = "",
    instead: Annotated[bool, Form()] = False,
    key: RequestKey = "",
) -> dict[str, Any]:
    """Keep the logs of machines; those they replace stay in the record."""
    from moisturemap.entry.logs import with_machine_logs

    if job.repeated(key) is None:
        found, _ = _machines(job, file, (zone, decimal, machine, room))
        with job.alone():
            if job.repeated(key) is None:
                before = job.project.settings().get("machine_logs") or ()
                kept = with_machine_logs(before, found, instead)
                job.keep("machine_logs", kept, who, f"log from {shown_name(file)}", key)
    return logs(job)


@router.post("/remove")
def remove(job: JobHere, content: LogRemovalIn, key: RequestKey = "") -> dict[str, Any]:
    """Take a logger or the log of a machine out; it stays in the record."""
    with job.alone():
        if job.repeated(key) is None:
            setting = "loggers" if content.kind == "logger" else "machine_logs"
            name = "id" if content.kind == "logger" else "machine"
            before = job.project.settings().get(setting) or ()
            kept = tuple(one for one in before if getattr(one, name) != content.id)
            if len(kept) == len(before):
                message = f"there is no such {content.kind} log"
                raise NotThere(message)
            job.keep(setting, kept, content.who, content.why, key)
    return logs(job)


def _machines(
    job: Job, file: UploadFile, given: tuple[str, str, str, str]
) -> tuple[Any, dict[str, Any]]:
    zone, decimal, machine, room = given
    rooms = _rooms(job)
    if room and room not in rooms:
        message = "no such room"
        raise OptionError(message, value=room, allowed=", ".join(rooms))
    options = {"name": shown_name(file), "zone": zone, "decimal": decimal}
    with uploaded(file) as path:
        found: tuple[Any, dict[str, Any]] = job.quick(
            "machine_file", path=str(path), options=options, machine=machine, room=room
        )
    return found


def _rooms(job: Job) -> list[str]:
    return [row["name"] for row in job.project.rows("rooms")]
