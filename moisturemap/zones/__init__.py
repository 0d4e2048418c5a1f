"""Wet zones."""

from moisturemap.zones.corrected_visit import map_corrected
from moisturemap.zones.excursion import excursion_function, joint_threshold
from moisturemap.zones.find import find_zones
from moisturemap.zones.level import (
    choose_wet_level,
    stated_level,
    tolerance_factor,
)
from moisturemap.zones.mapped_visit import (
    MappedVisit,
    VisitOptions,
    cells_for,
    earlier_readings,
    map_visit,
    map_visit_again,
)
from moisturemap.zones.material import levels_by_domain, no_level_words, one_level_for
from moisturemap.zones.options import LevelOptions, ZoneOptions
from moisturemap.zones.statement import hardly_sure_words
from moisturemap.zones.thinning import block_side, thin
from moisturemap.zones.unread import UnreadPart, unread_parts
from moisturemap.zones.wettest_part import wettest_cells, wettest_parts
from moisturemap.zones.zones import ZONE_COLUMNS, WetLevel, WetZones

__all__ = [
    "ZONE_COLUMNS",
    "LevelOptions",
    "MappedVisit",
    "VisitOptions",
    "UnreadPart",
    "WetLevel",
    "WetZones",
    "ZoneOptions",
    "block_side",
    "cells_for",
    "choose_wet_level",
    "earlier_readings",
    "excursion_function",
    "find_zones",
    "joint_threshold",
    "levels_by_domain",
    "map_corrected",
    "map_visit",
    "map_visit_again",
    "no_level_words",
    "one_level_for",
    "thin",
    "stated_level",
    "tolerance_factor",
    "unread_parts",
    "hardly_sure_words",
    "wettest_cells",
    "wettest_parts",
]
