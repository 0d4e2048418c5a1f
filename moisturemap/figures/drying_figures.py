"""The figures of a drying plan, written as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.figure import Figure

from moisturemap.bundles import DryingPlan
from moisturemap.figures.drying_charts import air_figure, outlook_figure
from moisturemap.figures.drying_maps import change_figure, visits_figure
from moisturemap.figures.drying_placement import placement_figure
from moisturemap.figures.save import FORMATS, save_figure


def drying_figures(plan: DryingPlan) -> dict[str, Figure]:
    """Return the figures of a drying plan by name; those without content are left out."""
    drying, survey = plan.comparison.drying, plan.comparison.survey
    figures = {"drying-visits": visits_figure(drying, survey.plan, survey.name)}
    for name, change in (("change", drying.change), ("step", drying.step), ("rate", drying.rate)):
        if change is not None and change.known:
            figures[f"drying-{name}"] = change_figure(change, drying, survey.plan, survey.name)
    if drying.wet_areas:
        figures["drying-outlook"] = outlook_figure(drying, survey.name)
    if drying.air["air_temperature_c"].notna().any():
        figures["drying-air"] = air_figure(drying, survey.name)
    if plan.equipment is not None and len(plan.equipment.placement.moves):
        figures["drying-placement"] = placement_figure(plan.equipment)
    return figures


def save_drying_figures(
    plan: DryingPlan, folder: Path, formats: Sequence[str] = FORMATS, dpi: float = 200
) -> list[Path]:
    """Write the figures of a drying plan into a folder."""
    return [
        path
        for name, figure in drying_figures(plan).items()
        for path in save_figure(figure, folder, name, formats, dpi)
    ]
