"""What leaves the job: report, figure, data, photographs."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, Query, Response, UploadFile

from moisturemap.web.jobs import Job
from moisturemap.web.payloads import ReportIn
from moisturemap.web.refusals import NotThere
from moisturemap.web.routes.access import AskerHere, JobHere, RequestKey
from moisturemap.web.routes.maps import VisitName
from moisturemap.web.uploads import shown_name
from moisturemap.web.work.packed import Paper

router = APIRouter(prefix="/api/projects/{project}", tags=["report"])

TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "png": "image/png",
    "docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    "html": "text/html; charset=utf-8",
    "zip": "application/zip",
    "csv": "text/csv; charset=utf-8",
    "geojson": "application/geo+json",
}


def _download(name: str, content: bytes, **more: str) -> Response:
    """Return bytes as a download: never shown inside the page's own origin."""
    safe = re.sub(r"[^A-Za-z0-9._-]+", "-", name)
    headers = {"Content-Disposition": f'attachment; filename="{safe}"', **more}
    return Response(content, media_type=TYPES[safe.rsplit(".", 1)[-1]], headers=headers)


def _paper(paper: Paper) -> Response:
    told = " ".join(paper.notes).encode("ascii", "replace").decode()
    return _download(paper.name, paper.content, **({"X-Notes": told} if told else {}))


@router.get("/figure")
def figure(
    job: JobHere,
    asker: AskerHere,
    format: Annotated[Literal["png", "svg", "pdf"], Query()] = "png",
    dpi: Annotated[float, Query(ge=50, le=600)] = 200,
    visit: VisitName = None,
    units: Annotated[Literal["", "metric", "us"], Query()] = "",
    language: Annotated[Literal["en", "de"], Query()] = "en",
) -> Response:
    """Return the map of a visit as a figure for somebody's report, in the units of the job."""
    wanted = {"format": format, "dpi": dpi, "units": units, "language": language}
    return _paper(asker.ask("figure", visit=visit or None, **wanted))


@router.get("/data")
def data(asker: AskerHere, visit: VisitName = None) -> Response:
    """Return all results of a visit as open formats in one ZIP."""
    return _paper(asker.ask("data", visit=visit or None))


@router.post("/report")
def report(job: JobHere, asker: AskerHere, content: ReportIn, visit: VisitName = None) -> Response:
    """Write the report of a visit; issuing it freezes a copy in the project."""
    from moisturemap.store import revisions_of

    holes = _holes(job)
    photos = [
        (job.project.content(row["sha256"]), _caption(row, holes))
        for row in job.project.rows("attachments")
        if row["media_type"].startswith("image/") and row["of_layer"] != "settings"
    ]
    revisions = revisions_of(job.project)
    asked = {"wanted": content.model_dump(), "photos": photos, "revisions": revisions}
    paper = asker.ask("report", visit=visit or None, **asked)
    if content.issue:
        _issue(job, paper, content)
    return _paper(paper)


def _issue(job: Job, paper: Paper, content: ReportIn) -> None:
    from moisturemap.store import Issue, issue

    options = {
        "visit": paper.visit,
        "paper": content.paper,
        "units": content.units,
        "language": content.language,
        "report": paper.number,
    }
    made_with = Issue(paper.numbers or {}, options, paper.record)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / paper.name
        path.write_bytes(paper.content)
        issue(job.project, path, made_with, content.who, "report issued")


@router.get("/documents")
def documents(job: JobHere) -> dict[str, Any]:
    """List the documents that were issued, with how often the data were changed since."""
    made = [one.number for one in job.project.record() if one.layer != "issued_documents"]
    shown = ("fid", "name", "issued", "who", "size", "record_number", "sha256")
    return {
        "documents": [
            {
                **{name: row[name] for name in shown},
                "changes_since": sum(number > row["record_number"] for number in made),
            }
            for row in job.project.rows("issued_documents")
        ]
    }


@router.get("/documents/{document}")
def document(job: JobHere, document: int) -> Response:
    """Return a document as it was issued."""
    row = next((r for r in job.project.rows("issued_documents") if r["fid"] == document), None)
    if row is None:
        message = "there is no such document"
        raise NotThere(message)
    return _download(str(row["name"]), job.project.content(row["sha256"]))


@router.get("/photos")
def photos(job: JobHere) -> dict[str, Any]:
    """List photographs and files."""
    shown = (
        "fid",
        "name",
        "media_type",
        "size",
        "width",
        "height",
        "taken",
        "of_layer",
        "of_row",
        "note",
    )
    holes = _holes(job)
    return {
        "photos": [
            {**{name: row[name] for name in shown}, "hole": _hole(row, holes)}
            for row in job.project.rows("attachments")
            if row["of_layer"] != "settings"  # files of the job itself, such as a plan traced over
        ]
    }


def _holes(job: Job) -> dict[str, str]:
    return {str(row["fid"]): str(row["hole"] or "") for row in job.project.rows("tests")}


def _hole(row: dict[str, Any], holes: dict[str, str]) -> str:
    """Return the name its test has now; "" for a photograph of something else."""
    return holes.get(str(row["of_row"]), "") if row["of_layer"] == "tests" else ""


def _caption(row: dict[str, Any], holes: dict[str, str]) -> str:
    """Return what a photograph is called; a test that was renamed by both its names."""
    told, hole = str(row["note"] or row["name"]), _hole(row, holes)
    return told if not hole or hole in told.split() else f"{told} (now {hole})"


@router.post("/photos", status_code=201)
def new_photo(
    job: JobHere,
    file: Annotated[UploadFile, File()],
    who: Annotated[str, Form(min_length=1, max_length=120)],
    note: Annotated[str, Form(max_length=500)] = "",
    of_layer: Annotated[Literal["", "readings", "tests", "rooms"], Form()] = "",
    of_row: Annotated[str, Form(max_length=60)] = "",
    keep_origin: Annotated[bool, Form()] = False,
    key: RequestKey = "",
) -> dict[str, int]:
    """Keep a photograph, of a reading, test or room when one is named.

    What it tells of its place and camera is left out, unless that is to be kept.
    """
    from moisturemap.store.attachment import received

    kept = received(file.file.read(), shown_name(file), keep_origin=keep_origin)
    made = job.attach(kept, who, key, (of_layer, of_row), note)
    return {"photo": made}


@router.get("/photos/{photo}")
def one_photo(job: JobHere, photo: int) -> Response:
    """Return a photograph."""
    row = next((r for r in job.project.rows("attachments") if r["fid"] == photo), None)
    if row is None:
        message = "there is no such photograph"
        raise NotThere(message)
    content = job.project.content(row["sha256"])
    if row["media_type"] not in ("image/jpeg", "image/png"):
        return _download(str(row["name"] or "file.pdf"), content)
    headers = {
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Cache-Control": "private, max-age=31536000, immutable",
    }
    return Response(content, media_type=row["media_type"], headers=headers)
