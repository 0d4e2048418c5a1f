"""What every address needs: the job asked for, and the key of a repeated request."""

from __future__ import annotations

import gzip
from typing import Annotated

from fastapi import Depends, Header, Path, Request, Response

from moisturemap.web.jobs import Job, Shelf
from moisturemap.web.work.packed import Packed

JobId = Annotated[
    str, Path(description="Name of the project file without its ending", max_length=200)
]


def shelf_of(request: Request) -> Shelf:
    """Return the jobs of this run."""
    shelf: Shelf = request.app.state.shelf
    return shelf


def job_of(request: Request, project: JobId) -> Job:
    """Return the job an address names."""
    return shelf_of(request).job(project)


ShelfHere = Annotated[Shelf, Depends(shelf_of)]
JobHere = Annotated[Job, Depends(job_of)]
RequestKey = Annotated[
    str, Header(alias="Idempotency-Key", max_length=80, description="Makes a repeat do nothing")
]


def handed_on(request: Request, answer: Packed) -> Response:
    """Return a packed answer as it is, or unpacked for the rare client that takes no gzip."""
    if "gzip" in request.headers.get("accept-encoding", ""):
        headers = {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}
        return Response(answer.content, media_type="application/json", headers=headers)
    return Response(gzip.decompress(answer.content), media_type="application/json")
