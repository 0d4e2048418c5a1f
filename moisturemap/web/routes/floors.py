"""All floors of the folder at a glance."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from fastapi import APIRouter, Request

from moisturemap.web.floors import Floors
from moisturemap.web.jobs import SUFFIX
from moisturemap.web.refusals import NotThere

router = APIRouter(prefix="/api/floors", tags=["floors"])


def _floors(request: Request) -> Floors:
    if request.app.state.settings.only is not None:
        message = "one project file is served; start without naming a file to see all floors"
        raise NotThere(message)
    floors: Floors = request.app.state.floors
    return floors


@router.get("")
def known(request: Request) -> dict[str, Any]:
    """Return what is known of every floor: wet, proven, drying, tests and probes by age."""
    floors, today = _floors(request), date.today()
    rows = floors.known(today)
    for row in rows:
        survey = str(row["survey"])
        own = survey.endswith(SUFFIX) and "/" not in survey
        row["project"] = survey.removesuffix(SUFFIX) if own else ""
    return {"today": today.isoformat(), "round": asdict(floors.state), "floors": rows}


@router.post("/study")
def study(request: Request) -> dict[str, bool]:
    """Study the floors that changed since they were studied last, one after another."""
    return {"begun": _floors(request).begin()}


@router.post("/stop")
def stop(request: Request) -> dict[str, Any]:
    """Stop the round over the floors."""
    _floors(request).stop()
    return asdict(_floors(request).state)
