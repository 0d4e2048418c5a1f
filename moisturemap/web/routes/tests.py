"""Calibrated tests: the methods and their fields, and the tests made."""

from __future__ import annotations

import hashlib
import json
from typing import Annotated, Any

from fastapi import APIRouter, Query

from moisturemap.errors import OptionError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import CorrectionIn, LimitIn, TestIn
from moisturemap.web.refusals import Changed, NotThere
from moisturemap.web.routes.access import JobHere, RequestKey

router = APIRouter(prefix="/api", tags=["tests"])

PLACE_FIELDS = ("method", "x", "y", "room")


@router.get("/test-methods")
def methods() -> dict[str, Any]:
    """Return the methods of test and what the record of each must and may hold."""
    from moisturemap.survey.test_record import TEST_FIELDS, TEST_METHODS

    return {
        "methods": [
            {
                "key": one.key,
                "label": one.quantity.label,
                "synonyms": list(one.synonyms),
                "units": list(one.units),
                "units_offered": list(one.units_offered),
                "instrument_kinds": list(one.instrument_kinds),
                "required": [list(group) for group in one.required],
                "fields": [
                    _field(TEST_FIELDS[name]) for name in one.fields if name not in PLACE_FIELDS
                ],
            }
            for one in TEST_METHODS.values()
        ]
    }


def _field(field: Any) -> dict[str, Any]:
    return {
        "name": field.name,
        "kind": field.kind,
        "unit": field.unit,
        "meaning": field.meaning,
        "low": field.low,
        "high": field.high,
    }


@router.get("/projects/{project}/tests")
def tests(job: JobHere) -> dict[str, Any]:
    """Return all calibrated tests of the job, and the limits.

    ``seen`` stands for the test as it is: who corrects it or takes it out sends it back, so that
    one made from an older state is told.
    """
    import pandas as pd

    from moisturemap.entry.plan_exchange import stored_plan
    from moisturemap.entry.typed_rows import plain_row
    from moisturemap.results.rule_depth import off_rule_depth

    rows = [
        {**plain_row(row), "id": row["fid"], "seen": _seen(row)}
        for row in job.project.rows("tests")
    ]
    plan = stored_plan(job.project)
    if rows and plan is not None:
        for row, off in zip(rows, off_rule_depth(pd.DataFrame(rows), plan), strict=True):
            row["off_depth_mm"] = off
    limits = [plain_row(row) for row in job.project.rows("limits")]
    return {"tests": rows, "limits": limits}


@router.post("/projects/{project}/tests", status_code=201)
def new_test(job: JobHere, content: TestIn, key: RequestKey = "") -> dict[str, Any]:
    """Store a calibrated test."""
    with job.alone():
        before = job.repeated(key)
        if before is None:
            row = _row(job, content)
            with job.change(content.who, "test entered", key) as made:
                before = made.add("tests", [row])
    return {"id": before[0]}


@router.put("/projects/{project}/tests/{test}")
def correct_test(
    job: JobHere,
    test: int,
    content: TestIn,
    why: Annotated[str, Query(min_length=1, max_length=200)],
    key: RequestKey = "",
    seen: str = "",
) -> dict[str, Any]:
    """Correct a test; the one that was stays in the record."""
    with job.alone():
        if job.repeated(key) is None:
            _known(job, test)
            _unchanged(job, test, seen)
            # What the form holds no more is gone, not kept from before.
            row = {**dict.fromkeys(_cleared(job, test)), **_row(job, content)}
            with job.change(content.who, why, key) as made:
                made.correct("tests", test, row)
    return {"id": test}


@router.delete("/projects/{project}/tests/{test}")
def remove_test(
    job: JobHere, test: int, content: CorrectionIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Take a test out; it stays in the record."""
    with job.alone():
        if job.repeated(key) is None:
            _known(job, test)
            _unchanged(job, test, content.seen or "")
            with job.change(content.who, content.why, key) as made:
                made.remove("tests", [test])
    return {"id": test}


@router.put("/projects/{project}/limit")
def set_limit(job: JobHere, content: LimitIn) -> dict[str, Any]:
    """Set the limit the tests are judged against, for the floor or one room."""
    from moisturemap.survey import Limit
    from moisturemap.survey.test_record import TEST_METHODS

    if content.method not in TEST_METHODS:
        message = "no such method"
        raise OptionError(message, value=content.method, allowed=", ".join(TEST_METHODS))
    limit = Limit(content.method, content.value, content.unit, content.source)
    job.project.set_limit(limit, content.who, "limit set", content.room)
    return tests(job)


def _row(job: Job, content: TestIn) -> dict[str, Any]:
    from moisturemap.entry.plan_exchange import stored_plan
    from moisturemap.entry.project_parts import instrument_of
    from moisturemap.entry.typed_rows import row_of_test
    from moisturemap.workflow.issued_plan import SETTING, check_hole

    visits = [row["id"] for row in job.project.rows("visits")]
    if content.visit not in visits:
        message = "no such visit"
        raise OptionError(message, value=content.visit, allowed=", ".join(visits) or "none yet")
    row = row_of_test(content.fields, content.visit, stored_plan(job.project))
    if row.get("hole") and row.get("x") is not None and row.get("y") is not None:
        issued = job.project.settings().get(SETTING) or ()
        check_hole(issued, row["hole"], row["x"], row["y"])
    if row.get("instrument"):
        instrument_of(job.project, row["instrument"])
    return row


def _cleared(job: Job, fid: int) -> list[str]:
    """Names of what a stored test says that a form can say, too."""
    from moisturemap.entry.typed_rows import plain_row
    from moisturemap.survey.test_record import TEST_FIELDS

    row = next(one for one in job.project.rows("tests") if one["fid"] == fid)
    return [name for name in plain_row(row) if name in TEST_FIELDS]


def _seen(row: dict[str, Any]) -> str:
    """Return what stands for a row as it is."""
    from moisturemap.entry.typed_rows import plain_row

    told = json.dumps(plain_row(row), sort_keys=True, default=str)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def _unchanged(job: Job, fid: int, seen: str) -> None:
    """Refuse to change or take out a test that somebody else corrected meanwhile."""
    row = next(one for one in job.project.rows("tests") if one["fid"] == fid)
    if seen and seen != _seen(row):
        raise Changed(
            f"this test was changed meanwhile, on another device or page: it is now"
            f" {row['value']} {row['unit'] or ''}".rstrip()
            + ". Nothing was stored; open it again and correct what is there now"
        )


def _known(job: Job, fid: int) -> None:
    if all(row["fid"] != fid for row in job.project.rows("tests")):
        message = "there is no such test"
        raise NotThere(message)
