"""The picture a plan is traced over: kept with the job, placed, seen from straight above."""

from __future__ import annotations

import hashlib
from pathlib import PurePath
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Query, Response, UploadFile
from pydantic import ValidationError

from moisturemap.errors import OptionError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import BackdropIn, RectangleIn
from moisturemap.web.refusals import NotThere
from moisturemap.web.routes.access import JobHere, RequestKey
from moisturemap.web.uploads import shown_name, uploaded

router = APIRouter(prefix="/api/projects/{project}/backdrop", tags=["plan"])

OF = ("settings", "backdrop")
"""What the kept picture is of: it is no photograph of the floor."""


@router.get("")
def backdrop(job: JobHere) -> dict[str, Any]:
    """Return the picture under the plan and where it lies; null when there is none."""
    return {"backdrop": job.project.settings().get("backdrop") or None}


@router.put("")
def put_backdrop(job: JobHere, content: BackdropIn) -> dict[str, Any]:
    """Keep where the picture lies, or take it away; the picture itself stays in the record."""
    placed = content.backdrop
    if placed is not None:
        _row(job, placed.photo)
    kept = None if placed is None else placed.model_dump(mode="json")
    if kept != (job.project.settings().get("backdrop") or None):
        why = "picture to trace over taken away" if kept is None else "picture to trace over placed"
        job.keep("backdrop", kept, content.who, why)
    return {"backdrop": kept}


@router.post("/pictures", status_code=201)
def new_picture(
    job: JobHere,
    file: Annotated[UploadFile, File()],
    who: Annotated[str, Form(min_length=1, max_length=120)],
    page: Annotated[int, Form(ge=1, le=100_000)] = 1,
    key: RequestKey = "",
) -> dict[str, Any]:
    """Keep a photograph, scan or page of a document to trace over, without where it was taken."""
    from moisturemap.files import PICTURE_ENDINGS
    from moisturemap.store.attachment import received

    name = shown_name(file)
    with uploaded(file, PICTURE_ENDINGS) as path:
        content, known = job.quick("plan_picture", path=str(path), page=page)
    ending = ".png" if content.startswith(b"\x89PNG") else ".jpg"
    note = f"to trace over, page {page}" if known["pages"] > 1 else "to trace over"
    kept = received(content, f"{PurePath(name).stem}{ending}")
    made = job.attach(kept, who, key, OF, note)
    return {"photo": made, "name": name, **known}


@router.get("/pictures/{photo}")
def picture(
    job: JobHere, photo: int, rectangle: Annotated[str, Query(max_length=400)] = ""
) -> Response:
    """Return the picture, drawn as from straight above when a rectangle in it is given."""
    row = _row(job, photo)
    content, kind = job.project.content(row["sha256"]), str(row["media_type"])
    if rectangle:
        content, _ = _from_above(job, content, _rectangle(rectangle))
        kind = "image/jpeg"
    headers = {
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Cache-Control": "private, max-age=31536000, immutable",
        "ETag": f'"{hashlib.sha256(content).hexdigest()[:24]}"',
    }
    return Response(content, media_type=kind, headers=headers)


@router.post("/pictures/{photo}/straightened")
def straightened(job: JobHere, photo: int, content: RectangleIn) -> dict[str, Any]:
    """Say how the picture looks from straight above, by a rectangle of known sides in it."""
    row = _row(job, photo)
    _, known = _from_above(job, job.project.content(row["sha256"]), content)
    return known


def _from_above(job: Job, content: bytes, by: RectangleIn) -> tuple[bytes, dict[str, Any]]:
    found: tuple[bytes, dict[str, Any]] = job.quick(
        "straightened", content=content, corners=by.corners, sides=by.sides
    )
    return found


def _rectangle(text: str) -> RectangleIn:
    try:
        return RectangleIn.model_validate_json(text)
    except ValidationError:
        message = "the rectangle in the address is not understood"
        raise OptionError(message, allowed='{"corners": [[u, v], ...], "sides": [m, m]}') from None


def _row(job: Job, photo: int) -> dict[str, Any]:
    for row in job.project.rows("attachments"):
        if row["fid"] == photo and (row["of_layer"], row["of_row"]) == OF:
            return row
    message = "this picture is not kept in the job"
    raise NotThere(message)
