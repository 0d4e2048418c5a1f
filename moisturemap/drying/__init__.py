"""Change between visits, forecast, equipment placement."""

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
from moisturemap.drying.compare import DryingProgress, LatestVisit, compare
from moisturemap.drying.decay import Decay, DecayBlend, blend_decays, fit_decay, time_to_target
from moisturemap.drying.demand import Demand, find_demand
from moisturemap.drying.discovery import discoveries
from moisturemap.drying.facility import (
    Choice,
    choose,
    enumerate_all,
    exchange,
    greedy,
    searched,
    worth,
)
from moisturemap.drying.feature import FEATURE_COLUMNS
from moisturemap.drying.fieller import RatioInterval, fieller
from moisturemap.drying.forecast import RELATIVE_ONLY, DryLevel, Forecast, ZoneCourse
from moisturemap.drying.machine import Machine, machines_of
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.panel import Panel, make_panel
from moisturemap.drying.place import (
    CAUTIONS,
    MOVE_COLUMNS,
    RANKING,
    Placement,
    place_machines,
)
from moisturemap.drying.placement_options import PlacementOptions
from moisturemap.drying.score import PlacementScore
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.service import HALF_ANGLE_DEG
from moisturemap.drying.sizing import SizingRule, size_machines
from moisturemap.drying.wet_area import WetArea

__all__ = [
    "AIR_COLUMNS",
    "AREA_COLUMNS",
    "CAUTIONS",
    "DRIED",
    "DRIVE_COLUMNS",
    "FEATURE_COLUMNS",
    "HALF_ANGLE_DEG",
    "MOVE_COLUMNS",
    "NOT_SHOWN",
    "RANKING",
    "RELATIVE_ONLY",
    "ROSE",
    "ChangeMap",
    "Choice",
    "Decay",
    "DecayBlend",
    "Demand",
    "DryLevel",
    "DryingOptions",
    "DryingProgress",
    "Forecast",
    "LatestVisit",
    "Machine",
    "Panel",
    "Placement",
    "PlacementOptions",
    "PlacementScore",
    "RatioInterval",
    "SizingRule",
    "SlabHumidity",
    "VisitSeries",
    "WetArea",
    "ZoneCourse",
    "air_sentences",
    "air_table",
    "blend_decays",
    "choose",
    "compare",
    "discoveries",
    "enumerate_all",
    "exchange",
    "fieller",
    "find_demand",
    "fit_decay",
    "greedy",
    "machines_of",
    "make_panel",
    "place_machines",
    "searched",
    "size_machines",
    "time_to_target",
    "worth",
    "zone_drives",
]
