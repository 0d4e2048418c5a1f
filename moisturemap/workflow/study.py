"""The main path: a survey in, one frozen bundle of results out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace

import geopandas as gpd
from threadpoolctl import threadpool_limits

from moisturemap.anomalies import Anomalies, detect
from moisturemap.bundles import Study, StudyOptions
from moisturemap.drilling import plan_holes
from moisturemap.floorplan import Domain, domains, make_grid
from moisturemap.mapping import map_readings
from moisturemap.provenance import Provenance
from moisturemap.survey import USED_FLAGS, CleanReadings, Survey, Visit, clean_readings
from moisturemap.zones import choose_wet_level, find_zones

Progress = Callable[[str, float], None] | None


def study(
    survey: Survey,
    *,
    visit: str | None = None,
    options: StudyOptions | None = None,
    progress: Progress = None,
) -> Study:
    """Go the whole main path for one visit.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit; the latest when none is named.
    options : StudyOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.

    Raises
    ------
    SurveyError
        When the visit is not in the survey.
    NotEnoughData
        When no reading of the visit lies on the plan.
    """
    options = options or StudyOptions()
    say = progress or (lambda phrase, fraction: None)
    # systems are small: more threads would wait for each other, on a busy machine for minutes
    with threadpool_limits(limits=1):
        return _whole_path(survey, survey.visit(visit), options, say)


def _whole_path(
    survey: Survey, chosen: Visit, options: StudyOptions, say: Callable[[str, float], None]
) -> Study:
    plan = survey.plan
    parts = domains(plan)
    say("cleaning readings", 0.02)
    clean = clean_readings(survey, chosen.id, instrument=options.instrument, domains=parts)
    earlier = earlier_readings(survey, chosen, options.instrument, parts)
    say("looking for pipes and metal", 0.1)
    found = detect(clean, plan, parts, options=options.detect, earlier=earlier)
    say("mapping", 0.4)
    grid = make_grid(plan, parts, options.spacing, options.max_cells)
    moisture = map_readings(found.readings, clean, plan, parts, grid, options=options.mapping)
    say("drawing wet zones", 0.7)
    level = choose_wet_level(survey, chosen, used_values(found), surface=moisture)
    moisture = moisture.with_wet_level(level.value)
    wet = find_zones(moisture, level, plan, anomalies=found, options=options.zones)
    say("planning holes", 0.9)
    drilling = plan_holes(moisture, wet, found, plan, survey, options=options.drilling)
    say("done", 1.0)
    # an earlier surface given to save a fit is no option to be recorded, and large
    plain = replace(options, mapping=replace(options.mapping, earlier=None))
    provenance = Provenance(survey.provenance.inputs, asdict(plain))
    return Study(survey, chosen, parts, clean, found, moisture, wet, drilling, provenance)


def used_values(found: Anomalies) -> gpd.GeoDataFrame:
    """Return the readings that make the map."""
    return found.readings[found.readings["flag"].isin(USED_FLAGS)]


def earlier_readings(
    survey: Survey, visit: Visit, instrument: str | None, parts: tuple[Domain, ...]
) -> tuple[CleanReadings, ...]:
    """Clean the readings of the visits before one, oldest first."""
    before = survey.visits[: survey.visits.index(visit)]
    with_readings = [one for one in before if (survey.readings["visit"] == one.id).any()]
    return tuple(
        clean_readings(survey, one.id, instrument=instrument, domains=parts)
        for one in with_readings
    )
