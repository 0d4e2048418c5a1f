"""The verdict: what the calibrated tests prove, and what the rules say of a test being typed."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from moisturemap.errors import NotEnoughData
from moisturemap.web.payloads import TestIn
from moisturemap.web.routes.access import JobHere
from moisturemap.web.routes.maps import VisitName

router = APIRouter(prefix="/api/projects/{project}", tags=["verdict"])


@router.post("/tests/examine")
def examine(job: JobHere, content: TestIn) -> dict[str, Any]:
    """Say what the rules of its method find in a test as typed so far; nothing is stored."""
    from moisturemap.entry.typed_test import examine_typed

    survey = job.project.survey()
    survey.visit(content.visit)
    return examine_typed(survey, content.fields, content.visit)


@router.get("/verdict")
def verdict(job: JobHere, visit: VisitName = None) -> dict[str, Any]:
    """Judge the floor by its calibrated tests; the scan only shows whether they sit well."""
    from moisturemap.results.summary import records

    found, scan = decision_of(job, visit or None)
    return {
        "verdict": found.verdict,
        "sentence": found.sentence,
        "reasons": list(found.reasons),
        "next_steps": list(found.next_steps),
        "tests": records(found.tests),
        "findings": records(found.findings),
        "coverage": records(found.coverage),
        "checks": records(found.checks),
        "spots": records(found.spot_table),
        "rules": records(found.rules),
        "proof": found.proof,
        "scan": scan,
        "chance": None if found.chance is None else found.chance.how,
        "statements": list(found.statements),
    }


def decision_of(job: Any, visit: str | None) -> tuple[Any, str]:
    """Return the decision, and why the scan could not be used with it, if so."""
    from moisturemap.acceptance import decide

    survey = job.project.survey()
    try:
        study, scan = job.study(visit), ""
    except NotEnoughData as few:
        study, scan = None, str(few)
    decision = job.result(("decision", visit, id(study)), lambda progress: decide(survey, study))
    return decision, scan
