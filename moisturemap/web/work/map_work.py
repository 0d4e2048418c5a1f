"""The map and the reason at a place, computed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.packed import Packed, pack

if TYPE_CHECKING:
    from moisturemap.bundles import Study


def floor_map(desk: Desk, visit: str | None, own: bool = False) -> Packed:
    """Return everything the map of a visit shows, in colours of its own if wanted."""
    return pack(map_answer(desk, desk.study(visit), own), desk.keys.number)


def map_answer(desk: Desk, study: Study, own: bool = False) -> dict[str, Any]:
    """Return the map of a visit with its layers, words and decisions."""
    key = ("map", desk.keys.everything, study.visit.id, own)
    drawn = desk.kept(key, lambda: _drawn(desk, study, own))
    return {**_words(study), **drawn, "decisions": desk.overrides.as_plain()}


def _drawn(desk: Desk, study: Study, own: bool) -> dict[str, Any]:
    from moisturemap.results.map_layers import map_layers

    desk.say("drawing the map", 0.98)
    levels, layers = map_layers(study, desk.overrides, own=own)
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


def place(desk: Desk, visit: str | None, x: float, y: float) -> dict[str, Any]:
    """Explain the map at a place."""
    from moisturemap.results.explain_place import explain_place

    return explain_place(desk.study(visit), x, y).as_dict()
