"""Floor that another scan or another meter read high, and that the map shows as usual."""

from __future__ import annotations

from moisturemap.zones.fell_fast import fell_fast
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.other_meter import places_of_other_meters
from moisturemap.zones.part_fell import part_fell


def read_high_elsewhere(mapped: MappedVisit) -> tuple[HighPlace, ...]:
    """Return what stood high in a scan before, or for a meter without a map.

    Parameters
    ----------
    mapped : MappedVisit

    Returns
    -------
    tuple of HighPlace
        Each with a value and places; the verdict asks for a test at each.
    """
    survey = mapped.survey
    lower = part_fell(survey, mapped.clean, mapped.wet.level.value)
    return (*fell_fast(survey, mapped), *lower, *places_of_other_meters(survey, mapped))
