"""Visits and instruments: whole records, added and corrected."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from moisturemap.errors import OptionError, StoreError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import CheckIn, CorrectionIn, InstrumentIn, VisitIn
from moisturemap.web.refusals import NotThere
from moisturemap.web.routes.access import JobHere, RequestKey
from moisturemap.web.routes.jobs import summary

router = APIRouter(prefix="/api/projects/{project}", tags=["visits and instruments"])


@router.post("/visits", status_code=201)
def new_visit(job: JobHere, content: VisitIn, key: RequestKey = "") -> dict[str, Any]:
    """Start a visit."""
    with job.alone():
        if job.repeated(key) is None:
            _refuse_taken(job, "visits", content.id)
            row = _visit_row(content)
            with job.change(content.who, "visit started", key) as made:
                made.add("visits", [row])
    return summary(job)


@router.put("/visits/{visit}")
def correct_visit(
    job: JobHere, visit: str, content: VisitIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Correct a visit, or add what was measured of the air since; its name stays."""
    with job.alone():
        if job.repeated(key) is None:
            fid = _fid(job, "visits", visit)
            row = {**_visit_row(content), "id": visit}
            with job.change(content.who, "visit corrected", key) as made:
                made.correct("visits", fid, row)
    return summary(job)


def _visit_row(content: VisitIn) -> dict[str, Any]:
    from moisturemap.store.survey_rows import visit_row
    from moisturemap.survey import AmbientReading, Visit

    given = content.model_dump(exclude={"who", "acclimation", "dry_reference"})
    log = tuple(AmbientReading(**one.model_dump()) for one in content.acclimation)
    ordered = tuple(sorted(log, key=lambda one: one.when))
    return visit_row(
        Visit(**given, dry_reference=tuple(content.dry_reference), acclimation=ordered)
    )


@router.post("/instruments", status_code=201)
def new_instrument(job: JobHere, content: InstrumentIn, key: RequestKey = "") -> dict[str, Any]:
    """Add a meter or probe."""
    row = _instrument_row(content)
    with job.alone():
        if job.repeated(key) is None:
            _refuse_taken(job, "instruments", content.id)
            with job.change(content.who, "instrument added", key) as made:
                made.add("instruments", [row])
    return summary(job)


@router.put("/instruments/{instrument}")
def correct_instrument(
    job: JobHere, instrument: str, content: InstrumentIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Correct what is recorded of an instrument; its name stays."""
    row = {**_instrument_row(content), "id": instrument}
    with job.alone():
        if job.repeated(key) is None:
            fid = _fid(job, "instruments", instrument)
            with job.change(content.who, "instrument corrected", key) as made:
                made.correct("instruments", fid, row)
    return summary(job)


def _instrument_row(content: InstrumentIn) -> dict[str, Any]:
    from moisturemap.store.survey_rows import instrument_row
    from moisturemap.survey import INSTRUMENT_KINDS, Instrument

    if content.kind not in INSTRUMENT_KINDS:
        message = "no such kind of instrument"
        raise OptionError(message, value=content.kind, allowed=", ".join(INSTRUMENT_KINDS))
    if content.scale is not None and content.scale[0] >= content.scale[1]:
        message = "the scale must end above its start"
        raise OptionError(message, value=content.scale)
    return instrument_row(Instrument(**content.model_dump(exclude={"who"})))


@router.post("/instruments/{instrument}/checks", status_code=201)
def new_check(
    job: JobHere, instrument: str, content: CheckIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Record a check of an instrument against a salt, a chamber, a block or a dry reference."""
    from moisturemap.store.survey_rows import check_row
    from moisturemap.survey import InstrumentCheck

    with job.alone():
        if job.repeated(key) is None:
            _fid(job, "instruments", instrument)
            check = InstrumentCheck(**content.model_dump(exclude={"who"}))
            with job.change(content.who, "instrument checked", key) as made:
                made.add("instrument_checks", [check_row(instrument, check)])
    return summary(job)


@router.delete("/instruments/{instrument}/checks/{check}")
def remove_check(
    job: JobHere, instrument: str, check: int, content: CorrectionIn, key: RequestKey = ""
) -> dict[str, Any]:
    """Take a check out that was recorded by mistake; it stays in the record of changes."""
    with job.alone():
        if job.repeated(key) is None:
            rows = job.project.rows("instrument_checks")
            if all(row["fid"] != check or row["instrument"] != instrument for row in rows):
                message = "there is no such check"
                raise NotThere(message)
            with job.change(content.who, content.why, key) as made:
                made.remove("instrument_checks", [check])
    return summary(job)


def _refuse_taken(job: Job, layer: str, id: str) -> None:
    if any(row["id"] == id for row in job.project.rows(layer)):
        message = "this name is taken already"
        raise StoreError(message)


def _fid(job: Job, layer: str, id: str) -> int:
    found = next((row["fid"] for row in job.project.rows(layer) if row["id"] == id), None)
    if found is None:
        message = f"no {layer.removesuffix('s')} of this name"
        raise NotThere(message)
    return int(found)
