"""What every address needs: the job asked for, and the key of a repeated request."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Header, Path, Request

from moisturemap.web.jobs import Job, Shelf

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
