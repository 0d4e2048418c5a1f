"""Change between visits, and forecast."""

from moisturemap.drying.air import (
    AIR_COLUMNS,
    DRIVE_COLUMNS,
    SlabHumidity,
    air_sentences,
    air_table,
    zone_drives,
)
from moisturemap.drying.air_history import AirHistory
from moisturemap.drying.areas import AREA_COLUMNS
from moisturemap.drying.change_map import DRIED, NOT_SHOWN, ROSE, ChangeMap, Floor
from moisturemap.drying.changes import Changes, find_changes, floor_of
from moisturemap.drying.compare import DryingProgress, FloorRecords, compare
from moisturemap.drying.courses import KnownSlab
from moisturemap.drying.depth_courses import DepthCourse, depth_courses, humidity_limits
from moisturemap.drying.depth_curves import CURVE_COLUMNS
from moisturemap.drying.depth_evidence import ROOM_RH_PCT, DepthTest
from moisturemap.drying.discovery import discoveries
from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.feature import FEATURE_COLUMNS
from moisturemap.drying.forecast import Forecast, ForecastBasis
from moisturemap.drying.forecast_words import RELATIVE_ONLY
from moisturemap.drying.leak import WHOLE_FLOOR, ActiveLeak, took_up_sentence
from moisturemap.drying.log_findings import MACHINE_COLUMNS, LogFindings
from moisturemap.drying.mean_change import MEAN_COLUMNS
from moisturemap.drying.mixture import CourseMixture
from moisturemap.drying.not_read import NotRead, not_read_again
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.panel import Panel, make_panel
from moisturemap.drying.part_lower import lower_sentence, without_lower_parts
from moisturemap.drying.rises import Rise
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.stop import Stop, find_stop
from moisturemap.drying.water_balance import WaterBalance
from moisturemap.drying.wet_area import WetArea, wet_area_of
from moisturemap.drying.zone_course import ZoneCourse

__all__ = [
    "AIR_COLUMNS",
    "AREA_COLUMNS",
    "CURVE_COLUMNS",
    "DRIED",
    "DRIVE_COLUMNS",
    "FEATURE_COLUMNS",
    "FloorRecords",
    "MACHINE_COLUMNS",
    "MEAN_COLUMNS",
    "NOT_SHOWN",
    "RELATIVE_ONLY",
    "ROOM_RH_PCT",
    "ROSE",
    "WHOLE_FLOOR",
    "ActiveLeak",
    "AirHistory",
    "ChangeMap",
    "Changes",
    "CourseMixture",
    "DepthCourse",
    "DepthTest",
    "DryLevel",
    "DryingOptions",
    "DryingProgress",
    "Floor",
    "Forecast",
    "ForecastBasis",
    "KnownSlab",
    "LogFindings",
    "Panel",
    "Rise",
    "SlabHumidity",
    "Stop",
    "VisitSeries",
    "WaterBalance",
    "WetArea",
    "ZoneCourse",
    "air_sentences",
    "air_table",
    "compare",
    "find_changes",
    "find_stop",
    "floor_of",
    "depth_courses",
    "discoveries",
    "humidity_limits",
    "make_panel",
    "took_up_sentence",
    "zone_drives",
    "wet_area_of",
    "NotRead",
    "without_lower_parts",
    "lower_sentence",
    "not_read_again",
]
