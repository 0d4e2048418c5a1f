"""The decision on a floor: tests judged, with the scan beside them where there is one."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import UTC, date, datetime, time

from moisturemap.acceptance import DecideOptions, later_scans
from moisturemap.acceptance import decide as decide_floor
from moisturemap.bundles import Findings, Judgement, Overrides, StudyOptions
from moisturemap.errors import NotEnoughData, OptionError
from moisturemap.survey import Survey
from moisturemap.workflow.overridden_study import decided_study
from moisturemap.workflow.placement import plan_drying

Progress = Callable[[str, float], None] | None
WIDTH = 96
PARTS = ("tests", "drying", "holes")
"""What may be left out of the findings on a floor."""


def end_of(day: date | None, survey: Survey) -> datetime | None:
    """Return the last moment of the day of a decision where the floor is; None stays today.

    Parameters
    ----------
    day : datetime.date or None
    survey : Survey
        Its visits tell the zone; UTC where none does.
    """
    if day is None:
        return None
    zones = [one.started.tzinfo for one in survey.visits if one.started is not None]
    return datetime.combine(day, time.max, zones[-1] if zones else UTC)


def judge_or_map(
    survey: Survey,
    *,
    visit: str | None = None,
    as_of: date | None = None,
    leave_out: Collection[str] = (),
    overrides: Overrides | None = None,
    options: StudyOptions | None = None,
    progress: Progress = None,
) -> Findings:
    """Study the scan of a visit and judge the tests when there are any.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
    as_of : datetime.date, optional
        Day of the decision, to which the age of tests is counted; today by default.
    leave_out : collection of str
        What is not done, of ``PARTS``: judging the tests, comparing the visits, planning holes.
    overrides : Overrides, optional
        What people decided about anomalies and holes.
    options : StudyOptions, optional
        Of the map and of the holes.
    progress : callable, optional

    Raises
    ------
    OptionError
        When a part to leave out is none that is known.
    """
    unknown = [one for one in leave_out if one not in PARTS]
    if unknown:
        message = "there is no such part to leave out"
        raise OptionError(message, value=unknown[0], allowed=", ".join(PARTS))
    holes = "holes" not in leave_out
    scanned = decided_study(
        survey, overrides, visit=visit, options=options, with_holes=holes, progress=progress
    )
    rules = DecideOptions(as_of=end_of(as_of, survey))
    judged = "tests" not in leave_out and not survey.tests.empty
    decision = decide_floor(survey, scanned, options=rules) if judged else None
    so_far = survey.visits[: survey.visits.index(scanned.visit) + 1]
    read = [one.id for one in so_far if (survey.readings["visit"] == one.id).any()]
    followed = "drying" not in leave_out and len(read) > 1
    drying = plan_drying(survey, visits=read, study=scanned) if followed else None
    return Findings(survey, decision, scanned, drying)


def judge(
    survey: Survey,
    *,
    visit: str | None = None,
    options: DecideOptions | None = None,
    with_scan: bool = True,
    overrides: Overrides | None = None,
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
    overrides : Overrides, optional
        What people decided about anomalies and holes.

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
    options = options or DecideOptions()
    visit = visit or _latest_known(survey, options.as_of or datetime.now(UTC))
    if with_scan and (survey.readings["visit"] == survey.scanned_visit(visit).id).any():
        scanned = decided_study(survey, overrides, visit=visit, progress=progress)
    return Judgement(survey, decide_floor(survey, scanned, options=options), scanned)


def judge_alone(survey: Survey, *, as_of: date | None = None) -> Judgement:
    """Judge the calibrated tests of a floor that was not scanned, for its report.

    Parameters
    ----------
    survey : Survey
    as_of : datetime.date, optional
        Day of the decision; today by default.

    Raises
    ------
    NotEnoughData
        When the survey holds no calibrated test.
    """
    return judge(survey, options=DecideOptions(as_of=end_of(as_of, survey)), with_scan=False)


def _latest_known(survey: Survey, as_of: datetime) -> str | None:
    """Return the latest scan up to the day of a decision; None where there is none."""
    if survey.readings.empty:
        return None
    later = {one.id for one in later_scans(survey, as_of)}
    scanned = set(survey.readings["visit"]) - later
    return next((one.id for one in reversed(survey.visits) if one.id in scanned), None)
