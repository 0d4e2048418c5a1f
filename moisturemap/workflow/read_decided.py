"""A survey with what people on the job decided about it."""

from __future__ import annotations

from pathlib import Path

from moisturemap.bundles import Overrides, overrides_of
from moisturemap.store import open_project
from moisturemap.survey import Survey
from moisturemap.workflow.read import read_survey


def read_decided(path: Path) -> tuple[Survey, Overrides | None]:
    """Read a survey, and from a project file what people decided about anomalies and holes.

    Parameters
    ----------
    path : Path
        As for :func:`read_survey`.

    Returns
    -------
    survey : Survey
    overrides : Overrides or None
        None for a folder, which keeps no decisions.

    Raises
    ------
    SurveyError, FormatError, PlanError
        As :func:`read_survey`.
    """
    survey = read_survey(path)
    if path.suffix.lower() != ".gpkg" or path.is_dir():
        return survey, None
    with open_project(path) as project:
        return survey, overrides_of(project.settings())
