"""Change between visits, and forecast."""

from moisturemap.drying.air import (
    AIR_COLUMNS,
    DRIVE_COLUMNS,
    SlabHumidity,
    air_sentences,
    air_table,
    zone_drives,
)
from moisturemap.drying.areas import AREA_COLUMNS
from moisturemap.drying.change_map import DRIED, NOT_SHOWN, ROSE, ChangeMap
from moisturemap.drying.compare import DryingProgress, compare
from moisturemap.drying.decay import Decay, DecayBlend, blend_decays, fit_decay, time_to_target
from moisturemap.drying.discovery import discoveries
from moisturemap.drying.feature import FEATURE_COLUMNS
from moisturemap.drying.fieller import RatioInterval, fieller
from moisturemap.drying.forecast import RELATIVE_ONLY, DryLevel, Forecast, ZoneCourse
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.panel import Panel, make_panel
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.wet_area import WetArea

__all__ = [
    "AIR_COLUMNS",
    "AREA_COLUMNS",
    "DRIED",
    "DRIVE_COLUMNS",
    "FEATURE_COLUMNS",
    "NOT_SHOWN",
    "RELATIVE_ONLY",
    "ROSE",
    "ChangeMap",
    "Decay",
    "DecayBlend",
    "DryLevel",
    "DryingOptions",
    "DryingProgress",
    "Forecast",
    "Panel",
    "RatioInterval",
    "SlabHumidity",
    "VisitSeries",
    "WetArea",
    "ZoneCourse",
    "air_sentences",
    "air_table",
    "blend_decays",
    "compare",
    "discoveries",
    "fieller",
    "fit_decay",
    "make_panel",
    "time_to_target",
    "zone_drives",
]
