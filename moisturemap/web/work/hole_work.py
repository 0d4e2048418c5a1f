"""The drill plan: proposed, tried, cleared and issued."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moisturemap.errors import OptionError
from moisturemap.web.work.desk import Desk
from moisturemap.web.work.map_work import map_answer
from moisturemap.web.work.packed import Packed, Paper, pack


def drill(desk: Desk, visit: str | None) -> Packed:
    """Return the holes of a visit, what is still to be cleared, and the map below."""
    from moisturemap.results.map_layers import collection
    from moisturemap.results.summary import records
    from moisturemap.workflow.cautions import caution_states
    from moisturemap.workflow.overridden_study import unmet_hole_overrides

    study = desk.study(visit)
    states = caution_states(study, desk.settings)
    shown = map_answer(desk, study)
    holes = study.drill_plan.copy()
    blocked = dict(study.drilling.blocked)
    holes.loc[holes["hole"].isin(list(blocked)), "status"] = "blocked"
    shown["layers"] = {**shown["layers"], "holes": collection(holes)}
    answer = {
        "map": shown,
        "holes": records(holes),
        "blocked": list(blocked.values()),
        "warnings": list(study.drilling.warnings),
        "count_rule": study.drilling.count_rule,
        "cautions": [one.as_dict() for one in states],
        "issued_cautions": _issued_cautions(desk, study, states),
        "open": sum(one.cleared is None for one in states),
        "statements": list(study.drilling.statements),
        "decisions": shown["decisions"]["holes"],
        "unmet": list(unmet_hole_overrides(study, desk.overrides)),
        "plans": _plans(desk),
    }
    return pack(answer, desk.keys.number)


def _issued_cautions(desk: Desk, study: Any, states: Any) -> list[dict[str, Any]]:
    """Return who cleared what for the issued holes, where that differs from the holes of now."""
    from moisturemap.workflow.cautions import caution_states
    from moisturemap.workflow.issued_plan import only_issued

    issued = caution_states(only_issued(study), desk.settings)
    return [one.as_dict() for one in issued if one.cleared] if issued != states else []


def _plans(desk: Desk) -> list[dict[str, Any]]:
    plans: dict[int, dict[str, Any]] = {}
    for hole in desk.survey.issued_holes:
        start = {"plan": hole.plan, "issued": hole.issued, "holes": [], "withdrawn": []}
        plan = plans.setdefault(hole.plan, start)
        plan["holes"].append(hole.hole)
        if hole.withdrawn:
            plan["withdrawn"].append({"hole": hole.hole, "reason_given": hole.withdrawn})
    return list(plans.values())


def try_holes(desk: Desk, visit: str | None, decisions: Mapping[str, Any]) -> None:
    """Raise what a plan with these decisions would raise, before they are kept."""
    from moisturemap.bundles import overrides_of
    from moisturemap.workflow.overridden_study import check_hole_wish

    wished = overrides_of({"decisions": dict(decisions)})
    check_hole_wish(desk.study(visit, wished), wished)


def clearance(
    desk: Desk, visit: str | None, caution: str, cleared: Mapping[str, str]
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return the clearances to keep when one more caution is cleared, and where all stand then."""
    from moisturemap.workflow.cautions import SETTING, caution_states, with_clearance

    study = desk.study(visit)
    kept = with_clearance(study, desk.settings, caution, cleared)
    states = caution_states(study, {**desk.settings, SETTING: kept})
    return kept, [one.as_dict() for one in states]


def issued_holes(desk: Desk, visit: str | None, issued: str, who: str) -> list[Any]:
    """Return the holes that issuing the present plan would freeze.

    Raises
    ------
    OptionError
        While a caution is open, or when no hole is proposed that is not issued yet.
    """
    from moisturemap.workflow.cautions import caution_states
    from moisturemap.workflow.issued_plan import newly_issued

    study = desk.study(visit)
    still = sum(one.cleared is None for one in caution_states(study, desk.settings))
    if still:
        message = f"the drill plan is not issued while {still} cautions are open"
        raise OptionError(message, allowed="every caution cleared by a named person")
    return newly_issued(study, issued, who)


def drill_sheet(desk: Desk, visit: str | None, format: str) -> Paper:
    """Return the set-out sheet of the issued holes.

    Raises
    ------
    OptionError
        While one of them lies on something that was found or drawn since, or a caution is open.
    """
    from moisturemap.workflow.cautions import caution_states
    from moisturemap.workflow.cautions import drill_sheet as sheet
    from moisturemap.workflow.issued_plan import only_issued

    study = only_issued(desk.study(visit))
    if study.drilling.blocked:
        raise OptionError(study.drilling.blocked[0][1], allowed="holes clear of what is known")
    states = caution_states(study, desk.settings)
    still = sum(one.cleared is None for one in states)
    if still:
        message = f"no set-out sheet while {still} cautions of its holes are open"
        raise OptionError(message, allowed="every caution cleared by a named person")
    name, _, content = sheet(study, states, format)
    return Paper(name, content, record=desk.keys.number)
