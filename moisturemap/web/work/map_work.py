"""The map and the reason at a place, computed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.packed import Packed, pack
from moisturemap.web.work.visit_words import differing_values, off_the_plan, wet_area_words

if TYPE_CHECKING:
    from moisturemap.bundles import Study


def floor_map(desk: Desk, visit: str | None, own: bool = False) -> Packed:
    """Return everything the map of a visit shows, in colours of its own if wanted."""
    return pack(map_answer(desk, desk.mapped(visit), own), desk.keys.number)


def map_ahead(desk: Desk, visit: str | None) -> None:
    """Have at hand what the map of a visit shows, before it is asked for."""
    map_answer(desk, desk.mapped(visit))


def quick_map(desk: Desk, visit: str | None, own: bool = False) -> Packed:
    """Return the latest map of a visit with the few readings that changed since.

    The answer says so, and the map made anew as a whole is to be asked for after it. Where no map
    is at hand, or more than a few readings changed, it is that one at once.
    """
    corrected = desk.corrected(visit)
    if corrected is None:
        return floor_map(desk, visit, own)
    answer = {**_words(corrected), **_drawn(desk, corrected, own)}
    return pack({**answer, "decisions": desk.overrides.as_plain(), "quick": True}, desk.keys.number)


def proposed_holes(desk: Desk, visit: str | None) -> Packed:
    """Return the proposed holes as a layer of the map."""
    from moisturemap.results.map_layers import collection

    holes = collection(desk.study(visit).drill_plan)
    return pack({"holes": holes}, desk.keys.number)


def remarks(desk: Desk, visit: str | None) -> list[str]:
    """Return what a careful colleague would warn of before leaving site, the most serious first."""
    from moisturemap.workflow.check import check_survey

    found = check_survey(desk.survey, visit=visit).remarks
    return [one.sentence for one in found if one.level != "info"]


def map_answer(desk: Desk, study: Study, own: bool = False) -> dict[str, Any]:
    """Return the map of a visit with its layers, words and decisions."""
    key = ("map", desk.keys.everything, study.visit.id, own)
    drawn = desk.kept(key, lambda: _drawn(desk, study, own))
    wet = desk.kept(("wet area", *key[1:3]), lambda: wet_area_words(study))
    return {
        **_words(study),
        "wet_area": wet,
        **drawn,
        "decisions": desk.overrides.as_plain(),
        "quick": False,
    }


def _drawn(desk: Desk, study: Study, own: bool) -> dict[str, Any]:
    from moisturemap.results.map_layers import map_layers

    desk.say("drawing the map", 0.98)
    levels, layers = map_layers(study, desk.overrides, own=own)
    del layers["holes"]  # planned when somebody asks for them
    return {"levels": levels, "layers": layers, "colours": colour_bands(levels, layers["bands"])}


def colour_bands(levels: list[float], layer: dict[str, Any]) -> list[str]:
    """Give each band its colour of the ramp all figures share; return the colours."""
    from moisturemap.figures.style import band_colours

    count = max(len(levels) - 1, 1)
    shades: Any = band_colours(count).colors
    colours = [f"rgb({red:.1%} {green:.1%} {blue:.1%})" for red, green, blue, _ in shades]
    for feature in layer["features"]:
        feature["properties"]["colour"] = colours[min(feature["properties"]["step"], count - 1)]
    return colours if levels else []


def _words(study: Study) -> dict[str, Any]:
    from moisturemap.quantities import DISCLAIMER

    explanation = study.wet.level.explanation
    return {
        "visit": study.visit.id,
        "instrument": study.clean.instrument.id,
        "disclaimer": DISCLAIMER,
        "wet_level": study.wet.level.value,
        "wet_explanation": "" if explanation == study.wet.statement else explanation,
        "wet_area": "",
        "differing": [*off_the_plan(study.clean), *differing_values(study.clean)],
        "statement": study.wet.statement,
        "quality": study.quality,
        "not_mapped": list(study.moisture.refusals.values()),
        "notes": list(study.notes),
        "anomaly_limits": [
            *study.found.doubted,
            *study.found.remarks,
            *study.found.limits,
        ],
    }


def place(desk: Desk, visit: str | None, x: float, y: float) -> dict[str, Any]:
    """Explain the map at a place."""
    from moisturemap.results.explain_place import explain_place

    return explain_place(desk.mapped(visit), x, y).as_dict()
