"""Where the water comes from, computed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.packed import Packed, pack

if TYPE_CHECKING:
    from moisturemap.bundles import Study

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
    summary = summarise_investigation(found, desk.survey.name)
    # the page shows them in one list, before the finding
    summary["cautions"] = [*summary["doubts"], *summary["cautions"]]
    words = {one["cause"]: one["words"] for one in summary["causes"]}
    for one in summary["causes"]:
        # the page names causes, files keep their keys
        alike = [key for key in one["cannot_be_told_from"].split(", ") if key]
        one["cannot_be_told_from"] = "; ".join(words[key] for key in alike)
    summary["layers"] = {} if study is None else _layers(study)
    return pack(summary, desk.keys.number)


def _layers(study: Study) -> dict[str, Any]:
    """Return what the plan shows beside the causes: the wet zones and the tests."""
    from moisturemap.mapping.areas import wet_line
    from moisturemap.results.map_layers import collection, layer_of_tests, one_shape

    wet = study.wet.level.value
    return {
        "wet_line": one_shape(wet_line(study.moisture, study.survey.plan, wet)),
        "zones": collection(study.zones),
        "tests": layer_of_tests(study),
    }
