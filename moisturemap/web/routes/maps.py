"""The map: layers, the reason at a place, decisions about anomalies."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from moisturemap.errors import OptionError
from moisturemap.web.payloads import AnomalyIn, WithdrawIn
from moisturemap.web.routes.access import AskerHere, JobHere, RequestKey, handed_on

router = APIRouter(prefix="/api/projects/{project}", tags=["map"])

VisitName = Annotated[str | None, Query(max_length=120)]
Coordinate = Annotated[float, Query(allow_inf_nan=False, ge=-1e6, le=1e6)]


@router.get("/map")
def floor_map(
    request: Request,
    job: JobHere,
    asker: AskerHere,
    visit: VisitName = None,
    own_colours: bool = False,
    quick: bool = False,
) -> Response:
    """Return everything the map of a visit shows; the latest visit when none is named.

    Colours span the scale of the instrument, so that all its visits and jobs share them, or with
    ``own_colours`` what was read on this floor. With ``quick`` a map that is at hand comes at once
    with the few readings that changed since: ``quick`` of the answer says so, and the map made
    anew as a whole is to be asked for after it.
    """
    wanted = {"visit": visit or None, "own": own_colours}
    if quick and not job.at_hand("floor_map", **wanted):
        return handed_on(request, asker.ask("quick_map", **wanted))
    return handed_on(request, asker.ask("floor_map", **wanted))


@router.get("/map/holes")
def proposed_holes(request: Request, asker: AskerHere, visit: VisitName = None) -> Response:
    """Return the holes proposed on the map, as a layer of it."""
    return handed_on(request, asker.ask("proposed_holes", visit=visit or None))


@router.get("/remarks")
def remarks(asker: AskerHere, visit: VisitName = None) -> dict[str, list[str]]:
    """Return what a careful colleague would warn of before leaving site."""
    return {"remarks": asker.ask("remarks", visit=visit or None)}


@router.get("/place")
def place(
    asker: AskerHere, x: Coordinate, y: Coordinate, visit: VisitName = None
) -> dict[str, Any]:
    """Explain the map at a place."""
    told: dict[str, Any] = asker.ask("place", visit=visit or None, x=x, y=y)
    return told


@router.get("/live")
def live(job: JobHere, visit: Annotated[str, Query(max_length=120)]) -> dict[str, Any]:
    """Return a quick map of the readings so far."""
    drawn: dict[str, Any] = job.ask_quick("live", visit=visit)
    return drawn


@router.post("/anomalies", status_code=201)
def decide(job: JobHere, content: AnomalyIn, key: RequestKey = "") -> dict[str, Any]:
    """Accept or dismiss an anomaly, or mark one."""
    from moisturemap.bundles import AnomalyOverride, overrides_of
    from moisturemap.workflow.overridden_study import check_override

    if content.verdict != "accepted" and not content.why.strip():
        message = "say why"
        raise OptionError(message, allowed="a reason for what is dismissed or marked")
    if job.repeated(key) is None:
        when = datetime.now(UTC).isoformat("T", "seconds")
        new = AnomalyOverride(**content.model_dump(), when=when)
        check_override(new)
        with job.turn:
            decisions = overrides_of(job.project.settings()).with_anomaly(new)
            job.keep(
                "decisions", decisions.as_plain(), content.who, f"anomaly {content.verdict}", key
            )
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/anomalies/withdraw")
def withdraw(job: JobHere, content: WithdrawIn, key: RequestKey = "") -> dict[str, Any]:
    """Take a decision about an anomaly back."""
    from moisturemap.bundles import overrides_of

    if job.repeated(key) is None:
        with job.turn:
            decisions = overrides_of(job.project.settings()).without("anomalies", content.index)
            job.keep("decisions", decisions.as_plain(), content.who, "decision taken back", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}
