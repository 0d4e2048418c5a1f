"""The decision on a floor: tests judged, with the scan beside them where there is one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time

from moisturemap.acceptance import DecideOptions
from moisturemap.acceptance import decide as decide_floor
from moisturemap.bundles import Findings, Judgement, Overrides
from moisturemap.errors import NotEnoughData
from moisturemap.survey import Survey
from moisturemap.workflow.overridden_study import apply_overrides
from moisturemap.workflow.placement import plan_drying
from moisturemap.workflow.study import study

Progress = Callable[[str, float], None] | None
WIDTH = 96


def end_of(day: date | None) -> datetime | None:
    """Return the last moment of the day of a decision [UTC]; None stays today."""
    return None if day is None else datetime.combine(day, time.max, UTC)


def judge_or_map(
    survey: Survey,
    *,
    visit: str | None = None,
    as_of: date | None = None,
    with_tests: bool = True,
    with_drying: bool = True,
    with_holes: bool = True,
    overrides: Overrides | None = None,
    progress: Progress = None,
) -> Findings:
    """Study the scan of a visit and judge the tests when there are any.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
    as_of : datetime.date, optional
        Day of the decision, to which the age of tests is counted; today by default.
    with_tests : bool
        False leaves the tests unjudged.
    with_drying : bool
        False leaves the visits uncompared.
    with_holes : bool
        False leaves the holes unplanned.
    overrides : Overrides, optional
        What people decided about anomalies and holes.
    progress : callable, optional
    """
    scanned = study(survey, visit=visit, with_holes=with_holes, progress=progress)
    if overrides is not None:
        scanned = apply_overrides(scanned, overrides)
    options = DecideOptions(as_of=end_of(as_of))
    judged = with_tests and not survey.tests.empty
    decision = decide_floor(survey, scanned, options=options) if judged else None
    so_far = survey.visits[: survey.visits.index(scanned.visit) + 1]
    read = [one.id for one in so_far if (survey.readings["visit"] == one.id).any()]
    followed = with_drying and len(read) > 1
    drying = plan_drying(survey, visits=read, study=scanned) if followed else None
    return Findings(survey, decision, scanned, drying)


def judge(
    survey: Survey,
    *,
    visit: str | None = None,
    options: DecideOptions | None = None,
    with_scan: bool = True,
    progress: Progress = None,
) -> Judgement:
    """Judge the calibrated tests of a survey.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Visit whose scan stands beside the tests; the latest by default.
    options : DecideOptions, optional
        Rules, units, risk and the day of the decision.
    with_scan : bool
        False judges the tests alone.

    Raises
    ------
    NotEnoughData
        When the survey holds no calibrated test.
    """
    if survey.tests.empty:
        message = (
            f"{survey.name}: no calibrated test is recorded, so there is nothing to decide. "
            "A scan alone never proves a floor dry; add tests to a visit in survey.toml"
        )
        raise NotEnoughData(message)
    scanned = None
    if with_scan and (survey.readings["visit"] == survey.visit(visit).id).any():
        scanned = study(survey, visit=visit, progress=progress)
    return Judgement(survey, decide_floor(survey, scanned, options=options), scanned)
