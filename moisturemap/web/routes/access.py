"""What every address needs: the job asked for, and the key of a repeated request."""

from __future__ import annotations

import gzip
import hashlib
from typing import Annotated, Any

from anyio import from_thread
from fastapi import Depends, Header, Path, Request, Response
from starlette.datastructures import UploadFile

from moisturemap.errors import StoreError
from moisturemap.web.jobs import Job, Shelf
from moisturemap.web.work.packed import Packed

ONLY_LOOKS = ("/preview", "/effect", "/examine", "/report")
"""Ends of addresses that are sent something and store nothing (a report does when issued)."""

JobId = Annotated[
    str, Path(description="Name of the project file without its ending", max_length=200)
]


def shelf_of(request: Request) -> Shelf:
    """Return the jobs of this run."""
    shelf: Shelf = request.app.state.shelf
    return shelf


def job_of(request: Request, project: JobId) -> Job:
    """Return the job an address names; what would change one that is only looked at is refused.

    Raises
    ------
    StoreError
        When another program holds the file and the request would write.
    """
    job = shelf_of(request).job(project)
    writes = request.method != "GET" and not request.url.path.endswith(ONLY_LOOKS)
    if writes and not job.project.writable:
        message = (
            "this job can only be looked at: another program, or this one started twice, holds its"
            " file for writing. Nothing was stored; close it there, then store again here"
        )
        raise StoreError(message)
    return job


class Asker:
    """Whoever sent a request and waits for the answer: what they left is computed no further."""

    def __init__(self, request: Request, job: Job) -> None:
        self._request = request
        self._job = job

    def ask(self, task: str, **arguments: Any) -> Any:
        """Return the answer to a question about the job.

        Raises
        ------
        Stopped
            When the connection was closed: stopped, left, or loaded again.
        """
        return self._job.ask(task, self._gone, **arguments)

    def _gone(self) -> bool:
        return from_thread.run(self._request.is_disconnected)


def asker_of(request: Request, job: JobHere) -> Asker:
    """Return who asks about the job of an address."""
    return Asker(request, job)


ShelfHere = Annotated[Shelf, Depends(shelf_of)]
JobHere = Annotated[Job, Depends(job_of)]
AskerHere = Annotated[Asker, Depends(asker_of)]
KEY_WORDS = "Makes a repeat do nothing; the same key with other contents is another request"


KeyAlone = Annotated[
    str, Header(alias="Idempotency-Key", max_length=80, description="Makes a repeat do nothing")
]
"""For what is sent again with another revision in it, under a key that is new with each edit."""


async def request_key(
    request: Request,
    key: Annotated[str, Header(alias="Idempotency-Key", max_length=80, description=KEY_WORDS)] = "",
) -> str:
    """Return the key of a request bound to what it asks; empty when it has none.

    A key sent again with other contents would otherwise be answered as stored and lose them.
    """
    if not key:
        return ""
    told = hashlib.sha256(f"{request.method} {request.url.path}?{request.url.query}\n".encode())
    if request.headers.get("content-type", "").startswith("multipart/"):
        for name, value in (await request.form()).multi_items():
            told.update(f"{name}\n".encode())
            told.update(value.encode() if isinstance(value, str) else await _contents(value))
    else:
        told.update(await request.body())
    return f"{key} {told.hexdigest()}"


async def _contents(file: UploadFile) -> bytes:
    await file.seek(0)
    read = await file.read()
    await file.seek(0)
    return read


RequestKey = Annotated[str, Depends(request_key)]


def handed_on(request: Request, answer: Packed) -> Response:
    """Return a packed answer as it is, or unpacked for the rare client that takes no gzip."""
    if "gzip" in request.headers.get("accept-encoding", ""):
        headers = {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}
        return Response(answer.content, media_type="application/json", headers=headers)
    return Response(gzip.decompress(answer.content), media_type="application/json")
