"""Where a subfloor is wet, how sure that is, and where to drill."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from moisturemap.acceptance import decide as decide
    from moisturemap.bundles import Study as Study
    from moisturemap.bundles import StudyOptions as StudyOptions
    from moisturemap.figures import MapOptions as MapOptions
    from moisturemap.figures import check_figure as check_figure
    from moisturemap.figures import map_figure as map_figure
    from moisturemap.geostat import Covariance as Covariance
    from moisturemap.geostat import map_points as map_points
    from moisturemap.report import write_report as write_report
    from moisturemap.results.study_files import export_study as export_study
    from moisturemap.results.summary import summarise as summarise
    from moisturemap.workflow.drying import compare_visits as compare_visits
    from moisturemap.workflow.investigate import investigate as investigate
    from moisturemap.workflow.placement import place_equipment as place_equipment
    from moisturemap.workflow.read import read_survey as read_survey
    from moisturemap.workflow.study import study as study

__version__ = "0.1.0"

_PUBLIC = {
    "Covariance": "moisturemap.geostat",
    "Study": "moisturemap.bundles",
    "StudyOptions": "moisturemap.bundles",
    "check_figure": "moisturemap.figures",
    "decide": "moisturemap.acceptance",
    "compare_visits": "moisturemap.workflow.drying",
    "export_study": "moisturemap.results.study_files",
    "investigate": "moisturemap.workflow.investigate",
    "map_figure": "moisturemap.figures",
    "map_points": "moisturemap.geostat",
    "MapOptions": "moisturemap.figures",
    "place_equipment": "moisturemap.workflow.placement",
    "read_survey": "moisturemap.workflow.read",
    "study": "moisturemap.workflow.study",
    "summarise": "moisturemap.results.summary",
    "write_report": "moisturemap.report",
}
"""Public names and where they live; loaded on first use so that importing stays fast."""

__all__ = ["__version__", *_PUBLIC]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    message = f"module 'moisturemap' has no attribute {name!r}"
    raise AttributeError(message)


def __dir__() -> list[str]:
    return sorted(__all__)
