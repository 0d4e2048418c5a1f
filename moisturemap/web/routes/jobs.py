"""Jobs: list, make, summarise, undo."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Literal

from fastapi import APIRouter, Request

from moisturemap.web.answers import JobAnswer, StepsAnswer
from moisturemap.web.first_page import await_first_page, begin_first_page
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import JobIn, StepIn
from moisturemap.web.refusals import Changed
from moisturemap.web.routes.access import JobHere, RequestKey, ShelfHere

if TYPE_CHECKING:
    from moisturemap.store import RecordEntry

router = APIRouter(prefix="/api", tags=["jobs"])


@router.get("/health")
async def health(request: Request) -> dict[str, str]:
    """Say that the program is there."""
    return {"status": "running", "version": request.app.version}


@router.get("/projects")
def projects(request: Request, shelf: ShelfHere) -> dict[str, Any]:
    """List the jobs of the folder."""
    return {
        "folder": str(shelf.settings.folder),
        "projects": [asdict(one) for one in shelf.listing()],
        "invitation": shelf.settings.lan,
        "new": shelf.settings.only is None,
    }


@router.post("/projects", status_code=201, response_model=JobAnswer)
def new_project(content: JobIn, shelf: ShelfHere, key: RequestKey = "") -> dict[str, Any]:
    """Make a job; a repeat with the same key returns the one that was made."""
    job = shelf.create(content.name, content.who, key, _known_zone(content.timezone))
    with job.alone():
        if content.units != _units(job):
            job.keep("units", content.units, content.who, "units of the job")
    return summary(job)


def _known_zone(name: str) -> str:
    """Return the zone of a device where it is known here; else its files are read as UTC."""
    from moisturemap.errors import SurveyError
    from moisturemap.files.moment import zone_of

    try:
        zone_of(name, "new job")
    except SurveyError:
        return ""
    return name


def _units(job: Job) -> str:
    return str(job.project.settings().get("units") or "metric")


@router.get("/projects/{project}", response_model=JobAnswer)
def one_project(job: JobHere, opens: Literal["", "map", "drying"] = "") -> dict[str, Any]:
    """Summarise a job; which page is asked for next is said by ``opens``."""
    told = summary(job)
    if opens and told["rooms"] and told["readings"]:
        begin_first_page(job, opens)
    return told


@router.get("/projects/{project}/head")
def head(job: JobHere) -> dict[str, int]:
    """Return the number of the last entry of the record of changes."""
    return {"record": job.project.head().number}


@router.get("/projects/{project}/faults")
def faults(job: JobHere) -> dict[str, list[str]]:
    """Say what in the file is not as its record of changes led to."""
    await_first_page(job)  # it would take the time in which that is begun
    return {"faults": list(job.record_faults())}


@router.get("/projects/{project}/progress")
def progress(job: JobHere) -> dict[str, Any]:
    """Say what is being computed and how far it is."""
    phrase, fraction = job.doing
    return {"phrase": phrase, "fraction": fraction}


@router.get("/projects/{project}/undo", response_model=StepsAnswer)
def steps(job: JobHere) -> dict[str, Any]:
    """Name the change an undo would take back and the one a redo would make again."""
    with job.alone():
        return {
            "undo": _step(job.project.next_undone()),
            "redo": _step(job.project.next_redone()),
        }


@router.post("/projects/{project}/undo")
def undo(job: JobHere, content: StepIn) -> dict[str, str]:
    """Take the last change back."""
    with job.alone():
        _still(job.project.next_undone(), content.change)
        return _told(job.project.undo(content.who), "taken back")


@router.post("/projects/{project}/redo")
def redo(job: JobHere, content: StepIn) -> dict[str, str]:
    """Make the change undone last again."""
    with job.alone():
        _still(job.project.next_redone(), content.change)
        return _told(job.project.redo(content.who), "made again")


def _step(entries: list[RecordEntry]) -> dict[str, Any] | None:
    if not entries:
        return None
    first = entries[0]
    return {
        "change": first.change,
        "layers": sorted({one.layer for one in entries}),
        "why": first.signature.why,
        "who": first.signature.who,
        "made": first.made,
        "what": _words(entries),
    }


def _still(entries: list[RecordEntry], change: int | None) -> None:
    if change is not None and (not entries or entries[0].change != change):
        message = "something else was changed in the job meanwhile; look what is the last change"
        raise Changed(message)


def _told(entries: list[RecordEntry], what: str) -> dict[str, str]:
    return {"sentence": f"{what}: {_words(entries)}"}


def _words(entries: list[RecordEntry]) -> str:
    """Return what a change did; how a table is kept, and other settings, come last."""
    ordered = sorted(entries, key=lambda one: one.layer == "settings")
    return "; ".join(one.sentence for one in ordered[:3])


@router.get("/projects/{project}/changes")
def changes(job: JobHere, most: int = 200) -> dict[str, Any]:
    """Return the end of the record of changes."""
    entries = job.project.record()
    head = job.project.head()
    shown = entries[-max(1, min(most, 2000)) :]
    told = [
        {
            "number": one.number,
            "change": one.change,
            "made": one.made,
            "who": one.signature.who,
            "why": one.signature.why,
            "what": one.sentence,
        }
        for one in reversed(shown)
    ]
    return {
        "head": {"number": head.number, "hash": head.hash},
        "count": len(entries),
        "record": head.number,
        "entries": told,
    }


def summary(job: Job) -> dict[str, Any]:
    """Return what the head of the page shows about a job."""
    with job.alone():
        return _summary(job)


def _summary(job: Job) -> dict[str, Any]:
    from moisturemap.store import with_extra

    project = job.project
    readings = project.counts("readings", "visit")
    visits = [with_extra(row) for row in project.rows("visits")]
    visits.sort(key=lambda row: (row["started"] or "", row["fid"]))
    return {
        "id": job.id,
        "name": str(project.settings().get("name") or job.id),
        "file": project.path.name,
        "units": _units(job),
        "rooms": [row["name"] for row in project.rows("rooms")],
        "visits": [
            {
                **{name: row.get(name) for name in VISIT_FIELDS},
                "operator": row["operator"] or "",
                "dry_reference": list(row.get("dry_reference") or ()),
                "acclimation": [_log_entry(one) for one in row.get("acclimation") or ()],
                "readings": readings.get(row["id"], 0),
            }
            for row in visits
        ],
        "instruments": instruments(job),
        "readings": sum(readings.values()),
        "tests": len(project.rows("tests")),
        "machines": len(project.rows("equipment")),
        "read_only": not project.writable,
    }


VISIT_FIELDS = (
    "id",
    "started",
    "air_temperature_c",
    "air_rh_pct",
    "slab_temperature_c",
    "service_temperature_c",
    "service_rh_pct",
    "note",
)
INSTRUMENT_FIELDS = (
    "id",
    "kind",
    "step",
    "model",
    "serial",
    "certificate",
    "calibrated",
    "uncertainty",
    "footprint_m",
)
CHECK_FIELDS = ("when", "reference", "read", "expected", "temperature_c", "uncertainty")


def _log_entry(entry: Any) -> dict[str, Any]:
    return {**asdict(entry), "when": entry.when.isoformat()}


def instruments(job: Job) -> list[dict[str, Any]]:
    """Return the instruments of a job with their checks."""
    from moisturemap.store import with_extra

    checks: dict[str, list[dict[str, Any]]] = {}
    for row in map(with_extra, job.project.rows("instrument_checks")):
        told = {"id": row["fid"], **{name: row.get(name) for name in CHECK_FIELDS}}
        checks.setdefault(row["instrument"], []).append(told)
    return [
        {
            **{name: row.get(name) for name in INSTRUMENT_FIELDS},
            "scale": None if row["scale_low"] is None else [row["scale_low"], row["scale_high"]],
            "checks": sorted(checks.get(row["id"], ()), key=lambda one: one["when"]),
        }
        for row in map(with_extra, job.project.rows("instruments"))
    ]
