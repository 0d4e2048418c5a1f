"""The only room that draws."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moisturemap.bundles import Study
from moisturemap.figures.captioned import alternative_text, save_captioned_map
from moisturemap.figures.check_figure import check_figure
from moisturemap.figures.decision_figures import save_decision_figures
from moisturemap.figures.depth_profile import depth_profile
from moisturemap.figures.drying_charts import air_figure, outlook_figure
from moisturemap.figures.drying_figures import drying_figures, save_drying_figures
from moisturemap.figures.drying_maps import change_figure, visits_figure
from moisturemap.figures.drying_placement import placement_figure
from moisturemap.figures.investigation_figures import (
    investigation_figures,
    save_investigation_figures,
)
from moisturemap.figures.limit_chart import limit_chart
from moisturemap.figures.map_figure import MapOptions, map_figure
from moisturemap.figures.map_of_tests import map_of_tests
from moisturemap.figures.salt_check import salt_check
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.scan_plan import scan_plan
from moisturemap.figures.set_out import rooms_to_set_out, set_out_sheet
from moisturemap.figures.sheet import Format

__all__ = [
    "air_figure",
    "change_figure",
    "drying_figures",
    "outlook_figure",
    "placement_figure",
    "save_drying_figures",
    "visits_figure",
    "FORMATS",
    "Format",
    "MapOptions",
    "alternative_text",
    "check_figure",
    "depth_profile",
    "investigation_figures",
    "limit_chart",
    "map_figure",
    "rooms_to_set_out",
    "salt_check",
    "scan_plan",
    "set_out_sheet",
    "save_captioned_map",
    "save_decision_figures",
    "save_figure",
    "save_investigation_figures",
    "save_map",
    "save_study_figures",
    "map_of_tests",
]


def save_study_figures(
    study: Study,
    folder: Path,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    *,
    form: Format = Format(),
) -> list[Path]:
    """Write the map (``map``) and the figure that checks it (``map-check``) into a folder."""
    return [
        *save_map(study, folder, formats=formats, dpi=dpi, form=form),
        *save_figure(check_figure(study, form), folder, "map-check", formats, dpi),
    ]


def save_map(
    study: Study,
    folder: Path,
    *,
    name: str = "map",
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    form: Format = Format(),
) -> list[Path]:
    """Write the map of a study into a folder."""
    return save_figure(map_figure(study, MapOptions(form=form)), folder, name, formats, dpi)
