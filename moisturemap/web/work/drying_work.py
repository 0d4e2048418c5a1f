"""Visits compared and machines placed, computed."""

from __future__ import annotations

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.map_work import colour_bands
from moisturemap.web.work.packed import Packed, pack
from moisturemap.web.work.visit_words import differing_values, level_words


def drying(desk: Desk, visit: str | None, own: bool = False) -> Packed:
    """Compare the visits up to one."""
    from moisturemap.results.map_layers import anomaly_layer
    from moisturemap.results.visit_layers import change_layers, summarise_comparison, visit_layers

    comparison = desk.comparison(visit)
    chosen = comparison.latest.visit.id
    key = ("drying answer", desk.keys.everything, desk.keys.number, chosen, own)

    def answer() -> Packed:
        desk.say("drawing the visits", 0.98)
        levels, visits = visit_layers(comparison, own=own)
        shown = {
            **summarise_comparison(comparison),
            "levels": levels,
            "colours": [colour_bands(levels, one["bands"]) for one in visits][-1],
            "maps": visits,
            "layers": {
                **change_layers(comparison),
                "things": anomaly_layer(comparison.latest, desk.overrides),
            },
            "wet_level": comparison.latest.wet.level.value,
            "level_words": level_words(comparison),
            "differing": differing_values(*comparison.drying.series.clean),
            "instrument": comparison.latest.clean.instrument.id,
        }
        return pack(shown, desk.keys.number)

    kept: Packed = desk.kept(key, answer)
    return kept


def drying_ahead(desk: Desk, visit: str | None) -> None:
    """Have at hand what Drying shows of the visits up to one, before it is asked for."""
    drying(desk, visit)


def placement(
    desk: Desk, visit: str | None, dehumidifiers: int | None, air_movers: int | None
) -> Packed:
    """Propose where machines should stand, with the gain over today's places."""
    from moisturemap.equipment import PlacementOptions
    from moisturemap.results.visit_layers import summarise_placement
    from moisturemap.workflow.placement import place_equipment

    comparison = desk.comparison(visit)
    options = PlacementOptions(dehumidifiers=dehumidifiers, air_movers=air_movers)
    desk.say("placing machines", 0.98)
    plan = place_equipment(desk.survey, comparison=comparison, options=options)
    return pack(summarise_placement(plan), desk.keys.number)
