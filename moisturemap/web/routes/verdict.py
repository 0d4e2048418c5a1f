"""The verdict: what the calibrated tests prove, and what the rules say of a test being typed."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response

from moisturemap.web.payloads import TestIn
from moisturemap.web.routes.access import AskerHere, JobHere, handed_on
from moisturemap.web.routes.maps import VisitName

router = APIRouter(prefix="/api/projects/{project}", tags=["verdict"])


@router.post("/tests/examine")
def examine(job: JobHere, content: TestIn) -> dict[str, Any]:
    """Say what the rules of its method find in a test as typed so far; nothing is stored."""
    found: dict[str, Any] = job.ask_quick("examine", fields=content.fields, visit=content.visit)
    return found


@router.get("/verdict")
def verdict(request: Request, asker: AskerHere, visit: VisitName = None) -> Response:
    """Judge the floor by its calibrated tests; the scan only shows whether they sit well."""
    return handed_on(request, asker.ask("verdict", visit=visit or None))
