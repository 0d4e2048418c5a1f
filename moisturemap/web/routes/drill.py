"""The drill plan: proposed holes, wishes about them, cautions, and the plan issued."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response

from moisturemap.errors import OptionError
from moisturemap.web.payloads import CautionIn, HoleIn, HoleWithdrawnIn, SignedIn, WithdrawIn
from moisturemap.web.refusals import Changed
from moisturemap.web.routes.access import AskerHere, JobHere, RequestKey, handed_on
from moisturemap.web.routes.maps import VisitName

router = APIRouter(prefix="/api/projects/{project}", tags=["drill plan"])


@router.get("/drill")
def drill_plan(request: Request, asker: AskerHere, visit: VisitName = None) -> Response:
    """Return the proposed holes of a visit, what is still to be cleared, and the map below."""
    return handed_on(request, asker.ask("drill", visit=visit or None))


@router.post("/holes", status_code=201)
def wish(job: JobHere, content: HoleIn, key: RequestKey = "") -> dict[str, Any]:
    """Want, reject or move a hole."""
    from moisturemap.bundles import HoleOverride, overrides_of

    if (content.verdict == "moved") != (content.to is not None):
        message = "a moved hole needs the place it goes to, and only a moved one"
        raise OptionError(message, allowed="to with verdict moved")
    if content.verdict == "rejected" and not content.why.strip():
        message = "say why"
        raise OptionError(message, allowed="a reason for a rejected hole")
    if job.repeated(key) is None:
        new = HoleOverride(**content.model_dump(), when=datetime.now(UTC).isoformat("T", "seconds"))
        with job.turn:
            decisions = overrides_of(job.project.settings()).with_hole(new)
            if job.project.rows("readings"):
                job.ask("try_holes", visit=None, decisions=decisions.as_plain())
            job.keep("decisions", decisions.as_plain(), content.who, f"hole {content.verdict}", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/holes/withdraw")
def withdraw(job: JobHere, content: WithdrawIn, key: RequestKey = "") -> dict[str, Any]:
    """Take a wish about a hole back."""
    from moisturemap.bundles import overrides_of

    if job.repeated(key) is None:
        with job.turn:
            decisions = overrides_of(job.project.settings()).without("holes", content.index)
            job.keep("decisions", decisions.as_plain(), content.who, "wish taken back", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/cautions", status_code=201)
def clear_caution(
    job: JobHere, content: CautionIn, visit: VisitName = None, key: RequestKey = ""
) -> dict[str, Any]:
    """Clear a caution for the holes as they are proposed now."""
    from moisturemap.workflow.cautions import SETTING

    cleared = {
        "by": content.by,
        "on": _day(content.on),
        "document": content.document,
        "entered": datetime.now(UTC).isoformat("T", "seconds"),
    }
    with job.turn:
        kept, states = job.ask(
            "clearance", visit=visit or None, caution=content.caution, cleared=cleared
        )
        if job.repeated(key) is None:
            job.keep(SETTING, kept, content.who, "caution cleared", key)
    return {"cautions": states}


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        message = "the day cannot be read"
        raise OptionError(message, value=text, allowed="a day like 2026-03-01") from None


@router.post("/drill/issue", status_code=201)
def issue_plan(
    job: JobHere, content: SignedIn, visit: VisitName = None, key: RequestKey = ""
) -> dict[str, Any]:
    """Issue the drill plan: names and places of its holes are settled from now on."""
    from moisturemap.workflow.issued_plan import SETTING

    with job.turn:
        if job.repeated(key) is None:
            now = datetime.now(UTC).isoformat("T", "seconds")
            new = job.ask("issued_holes", visit=visit or None, issued=now, who=content.who)
            holes = (*job.snapshot().survey.issued_holes, *new)
            job.keep(SETTING, holes, content.who, f"drill plan {new[0].plan} issued", key)
        return {"issued": [asdict(one) for one in job.snapshot().survey.issued_holes]}


@router.get("/issued-holes")
def issued(job: JobHere) -> dict[str, Any]:
    """List the holes of the drill plans that were issued."""
    from moisturemap.workflow.issued_plan import SETTING

    holes = job.project.settings().get(SETTING) or ()
    return {"holes": [asdict(one) for one in holes]}


@router.post("/issued-holes/withdraw")
def withdraw_hole(job: JobHere, content: HoleWithdrawnIn, key: RequestKey = "") -> dict[str, Any]:
    """Say why an issued hole shall not be drilled after all; its name stays taken."""
    from moisturemap.workflow.issued_plan import SETTING, withdrawn

    with job.turn:
        holes = job.project.settings().get(SETTING) or ()
        if job.repeated(key) is None:
            holes = withdrawn(holes, content.hole, content.why)
            job.keep(SETTING, holes, content.who, f"hole {content.hole} withdrawn", key)
    return {"holes": [asdict(one) for one in holes]}


@router.get("/drill/file")
def drill_file(
    job: JobHere,
    asker: AskerHere,
    format: Annotated[Literal["csv", "geojson"], Query()] = "csv",
    visit: VisitName = None,
) -> Response:
    """Return the set-out sheet of the issued holes; refused before a plan is issued."""
    if not job.snapshot().survey.issued_holes:
        message = "no drill plan is issued yet; clear its cautions and issue it first"
        raise Changed(message)
    paper = asker.ask("drill_sheet", visit=visit or None, format=format)
    media_type = {"csv": "text/csv; charset=utf-8", "geojson": "application/geo+json"}[format]
    disposition = {"Content-Disposition": f'attachment; filename="{paper.name}"'}
    return Response(paper.content, media_type=media_type, headers=disposition)
