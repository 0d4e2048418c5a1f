"""The main path: a survey in, one frozen bundle of results out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, fields

from moisturemap.bundles import Study, StudyOptions
from moisturemap.checked import require
from moisturemap.drilling import no_holes, plan_holes
from moisturemap.geostat import one_thread
from moisturemap.provenance import Provenance
from moisturemap.survey import Survey
from moisturemap.zones import MappedVisit, map_visit

Progress = Callable[[str, float], None] | None

MAPPED = 0.9
"""Share of the whole at which the holes are planned; it only moves the bar."""


def study(
    survey: Survey,
    *,
    visit: str | None = None,
    options: StudyOptions | None = None,
    with_holes: bool = True,
    progress: Progress = None,
) -> Study:
    """Go the whole main path for one visit.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit; the latest when none is named.
    options : StudyOptions, optional
    with_holes : bool
        False leaves the holes unplanned.
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.

    Raises
    ------
    SurveyError
        When the visit is not in the survey.
    NotEnoughData
        When no reading of the visit lies on the plan.
    """
    require(survey, Survey, "survey", "a Survey, as read_survey gives it")
    options = options or StudyOptions()
    say = progress or (lambda phrase, fraction: None)
    with one_thread():
        mapped = map_visit(
            survey,
            visit,
            options=options,
            progress=lambda phrase, done: say(phrase, MAPPED * done),
        )
        drilling = no_holes()
        if with_holes:
            drilling = plan_holes(
                mapped,
                options=options.drilling,
                progress=lambda phrase, done: say(phrase, MAPPED + (1.0 - MAPPED) * done),
            )
    say("done", 1.0)
    parts = {one.name: getattr(mapped, one.name) for one in fields(MappedVisit)}
    provenance = Provenance(survey.provenance.inputs, asdict(options))
    return Study(**parts, drilling=drilling, provenance=provenance)
