"""Where the water comes from, computed."""

from __future__ import annotations

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.packed import Packed, pack

ANSWERS = "answers"
"""Setting of the project that holds the answers."""


def investigation(desk: Desk, place: str | None) -> Packed:
    """Weigh the causes with the answers kept in the project."""
    from moisturemap.results.investigation import summarise_investigation
    from moisturemap.workflow.investigate import investigate

    read = set(desk.survey.readings["visit"])
    scanned = [one.id for one in desk.survey.visits if one.id in read]
    study = desk.study(scanned[-1]) if scanned else None
    answers = desk.settings.get(ANSWERS) or {}
    found = investigate(desk.survey, answers, place=place, study=study, progress=desk.say)
    return pack(summarise_investigation(found, desk.survey.name), desk.keys.number)
