"""The map: layers, the reason at a place, decisions about anomalies."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query

from moisturemap.errors import OptionError
from moisturemap.web.jobs import Job
from moisturemap.web.payloads import AnomalyIn, WithdrawIn
from moisturemap.web.routes.access import JobHere, RequestKey

router = APIRouter(prefix="/api/projects/{project}", tags=["map"])

VisitName = Annotated[str | None, Query(max_length=120)]
Coordinate = Annotated[float, Query(allow_inf_nan=False, ge=-1e6, le=1e6)]


@router.get("/map")
def floor_map(job: JobHere, visit: VisitName = None) -> dict[str, Any]:
    """Return everything the map of a visit shows; the latest visit when none is named."""
    return map_answer(job, visit or None)


def map_answer(job: Job, visit: str | None) -> dict[str, Any]:
    """Return the map of a visit with its layers, words and decisions."""
    from moisturemap.bundles import overrides_of
    from moisturemap.figures.map_figure import poorly_known_area, unsure_area, wet_line
    from moisturemap.results.map_layers import map_layers, one_shape

    study = job.study(visit)
    decisions = overrides_of(job.project.settings())

    def draw(progress: Any) -> dict[str, Any]:
        levels, layers = map_layers(study, decisions)
        layers["wet_line"] = one_shape(wet_line(study))
        layers["unsure"] = one_shape(unsure_area(study))
        layers["unknown"] = one_shape(poorly_known_area(study))
        colours = colour_bands(levels, layers["bands"])
        return {"levels": levels, "layers": layers, "colours": colours}

    drawn = job.result(("map", study.visit.id, repr(decisions)), draw)
    return {**_words(study), **drawn, "decisions": decisions.as_plain()}


def colour_bands(levels: list[float], layer: dict[str, Any]) -> list[str]:
    """Give each band its colour of the ramp all figures share; return the colours."""
    from moisturemap.figures.style import band_colours

    count = max(len(levels) - 1, 1)
    shades: Any = band_colours(count).colors
    colours = [f"rgb({red:.1%} {green:.1%} {blue:.1%})" for red, green, blue, _ in shades]
    for feature in layer["features"]:
        feature["properties"]["colour"] = colours[min(feature["properties"]["step"], count - 1)]
    return colours if levels else []


def _words(study: Any) -> dict[str, Any]:
    from moisturemap.quantities import DISCLAIMER

    return {
        "visit": study.visit.id,
        "instrument": study.clean.instrument.id,
        "disclaimer": DISCLAIMER,
        "wet_level": study.wet.level.value,
        "wet_explanation": study.wet.level.explanation,
        "statement": study.wet.statement,
        "quality": study.quality,
        "not_mapped": list(study.moisture.refusals.values()),
        "notes": list(study.notes),
        "anomaly_limits": [*study.found.remarks, *study.found.limits],
    }


@router.get("/place")
def place(job: JobHere, x: Coordinate, y: Coordinate, visit: VisitName = None) -> dict[str, Any]:
    """Explain the map at a place."""
    from moisturemap.results.explain_place import explain_place

    return explain_place(job.study(visit or None), x, y).as_dict()


@router.get("/live")
def live(job: JobHere, visit: Annotated[str, Query(max_length=120)]) -> dict[str, Any]:
    """Return a quick map of the readings so far."""
    survey = job.project.survey()
    survey.visit(visit)
    with job.live_turn:
        drawn = job.live_map.draw(survey, visit)
    if drawn["bands"] is not None:
        drawn["colours"] = colour_bands(drawn["levels"], drawn["bands"])
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
            job.decide(decisions.as_plain(), content.who, f"anomaly {content.verdict}", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}


@router.post("/anomalies/withdraw")
def withdraw(job: JobHere, content: WithdrawIn, key: RequestKey = "") -> dict[str, Any]:
    """Take a decision about an anomaly back."""
    from moisturemap.bundles import overrides_of

    if job.repeated(key) is None:
        with job.turn:
            decisions = overrides_of(job.project.settings()).without("anomalies", content.index)
            job.decide(decisions.as_plain(), content.who, "decision taken back", key)
    return {"decisions": overrides_of(job.project.settings()).as_plain()}
