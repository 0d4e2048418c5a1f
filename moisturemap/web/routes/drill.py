"""The drill plan: proposed holes, wishes about them, cautions, and the plan issued."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Response

from moisturemap.errors import OptionError
from moisturemap.web.payloads import CautionIn, HoleIn, WithdrawIn
from moisturemap.web.refusals import Changed
from moisturemap.web.routes.access import JobHere, RequestKey
from moisturemap.web.routes.maps import VisitName, map_answer

router = APIRouter(prefix="/api/projects/{project}", tags=["drill plan"])


@router.get("/drill")
def drill_plan(job: JobHere, visit: VisitName = None) -> dict[str, Any]:
    """Return the proposed holes of a visit, what is still to be cleared, and the map below."""
    from moisturemap.bundles import overrides_of
    from moisturemap.results.summary import records
    from moisturemap.workflow.cautions import caution_states
    from moisturemap.workflow.overridden_study import unmet_hole_overrides

    study = job.study(visit or None)
    unmet = unmet_hole_overrides(study, overrides_of(job.project.settings()))
    states = caution_states(study, job.project.settings())
    answer = map_answer(job, visit or None)
    return {
        "map": answer,
        "holes": records(study.drill_plan),
        "count_rule": study.drilling.count_rule,
        "cautions": [one.as_dict() for one in states],
        "open": sum(one.cleared is None for one in states),
        "statements": list(study.drilling.statements),
        "decisions": answer["decisions"]["holes"],
        "unmet": list(unmet),
    }


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
                job.try_decisions(decisions)
            job.decide(decisions.as_plain(), content.who, f"hole {content.verdict}", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/holes/withdraw")
def withdraw(job: JobHere, content: WithdrawIn, key: RequestKey = "") -> dict[str, Any]:
    """Take a wish about a hole back."""
    from moisturemap.bundles import overrides_of

    if job.repeated(key) is None:
        with job.turn:
            decisions = overrides_of(job.project.settings()).without("holes", content.index)
            job.decide(decisions.as_plain(), content.who, "wish taken back", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/cautions", status_code=201)
def clear_caution(
    job: JobHere, content: CautionIn, visit: VisitName = None, key: RequestKey = ""
) -> dict[str, Any]:
    """Clear a caution for the holes as they are proposed now."""
    from moisturemap.workflow.cautions import SETTING, caution_states, with_clearance

    study = job.study(visit or None)
    if job.repeated(key) is None:
        cleared = {
            "by": content.by,
            "on": _day(content.on),
            "document": content.document,
            "entered": datetime.now(UTC).isoformat("T", "seconds"),
        }
        with job.turn:
            kept = with_clearance(study, job.project.settings(), content.caution, cleared)
            job.decide(kept, content.who, "caution cleared", key, setting=SETTING)
    return {"cautions": [one.as_dict() for one in caution_states(study, job.project.settings())]}


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        message = "the day cannot be read"
        raise OptionError(message, value=text, allowed="a day like 2026-03-01") from None


@router.get("/drill/file")
def drill_file(
    job: JobHere,
    format: Annotated[Literal["csv", "geojson"], Query()] = "csv",
    visit: VisitName = None,
) -> Response:
    """Issue the drill plan; refused while a caution is open."""
    from moisturemap.workflow.cautions import caution_states, drill_sheet

    study = job.study(visit or None)
    states = caution_states(study, job.project.settings())
    still = [one.caution for one in states if one.cleared is None]
    if still:
        message = f"the drill plan is not issued while {len(still)} cautions are open"
        raise Changed(message)
    name, media_type, content = drill_sheet(study, states, format)
    disposition = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=disposition)
