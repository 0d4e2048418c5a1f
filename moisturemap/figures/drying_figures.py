"""The figures of a drying plan, written as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.figure import Figure

from moisturemap.acceptance import Decision
from moisturemap.bundles import DryingPlan
from moisturemap.drying import depth_courses
from moisturemap.figures.drying_charts import air_figure, outlook_figure
from moisturemap.figures.drying_depths import depth_figure
from moisturemap.figures.drying_maps import change_figure, visits_figure
from moisturemap.figures.drying_placement import placement_figure
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.sheet import Format
from moisturemap.figures.signs_of_tests import not_valid


def drying_figures(
    plan: DryingPlan, form: Format = Format(), *, decision: Decision | None = None
) -> dict[str, Figure]:
    """Return the figures of a drying plan by name; those without content are left out.

    Parameters
    ----------
    plan : DryingPlan
    form : Format
    decision : Decision, optional
        Says which tests are not valid.
    """
    drying, survey = plan.comparison.drying, plan.comparison.survey
    figures = {"drying-visits": visits_figure(drying, survey.plan, survey.name, form)}
    for name, change in (("change", drying.change), ("step", drying.step), ("rate", drying.rate)):
        if change is not None and change.known:
            figures[f"drying-{name}"] = change_figure(change, drying, survey, form)
    if drying.wet_areas:
        figures["drying-outlook"] = outlook_figure(drying, survey.name, form)
    if depth_courses(drying, survey):
        uncounted = None if decision is None else not_valid(decision)
        figures["drying-depths"] = depth_figure(drying, survey, form, uncounted=uncounted)
    if drying.air["air_temperature_c"].notna().any():
        figures["drying-air"] = air_figure(drying, survey.name, form)
    if plan.equipment is not None and len(plan.equipment.placement.moves):
        figures["drying-placement"] = placement_figure(plan.equipment, form)
    return figures


def save_drying_figures(
    plan: DryingPlan,
    folder: Path,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    *,
    form: Format = Format(),
    decision: Decision | None = None,
) -> list[Path]:
    """Write the figures of a drying plan into a folder, as ``drying_figures`` draws them."""
    return [
        path
        for name, figure in drying_figures(plan, form, decision=decision).items()
        for path in save_figure(figure, folder, name, formats, dpi)
    ]
