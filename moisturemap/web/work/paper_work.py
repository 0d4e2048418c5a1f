"""What leaves the job: verdict, figure, data, report, computed."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moisturemap.errors import InputError, NotEnoughData
from moisturemap.web.work.desk import Desk
from moisturemap.web.work.packed import Packed, Paper, pack

if TYPE_CHECKING:
    from moisturemap.bundles import DryingPlan, Judgement, Study
    from moisturemap.store import Revisions


def verdict(desk: Desk, visit: str | None) -> Packed:
    """Judge the floor by its calibrated tests."""
    from moisturemap.results.summary import records

    found, scan = desk.decision(visit)
    replaced = [one for one in found.reasons if not found.brief.get(one, one)]
    answer = {
        "verdict": found.verdict,
        "sentence": found.sentence,
        "reasons": [one for one in found.reasons if one not in replaced],
        "replaced": replaced,
        "next_steps": list(found.next_steps),
        "tests": records(found.tests),
        "findings": records(found.findings),
        "coverage": records(found.coverage),
        "checks": records(found.checks),
        "spots": records(found.profile_table),
        "rules": records(found.rules),
        "proof": found.proof,
        "scan": scan,
        "chance": None if found.chance is None else found.chance.how,
        "statements": list(found.statements),
        "unjudged": records(found.unjudged),
        "as_of": found.as_of.isoformat(),
        "holds_until": None if found.holds_until is None else found.holds_until.isoformat(),
    }
    return pack(answer, desk.keys.number)


def issuable(desk: Desk, visit: str | None) -> Study:
    """Return the study as it may leave the job: without holes while a caution is open."""
    from moisturemap.workflow.cautions import caution_states, with_plan_withheld

    study = desk.study(visit)
    return with_plan_withheld(study, caution_states(study, desk.settings))


def figure(
    desk: Desk, visit: str | None, format: str, dpi: float, units: str = "", language: str = "en"
) -> Paper:
    """Return the map of a visit as a figure for somebody's report; in the job's units without."""
    from moisturemap.figures import Format, save_map
    from moisturemap.language import speaking
    from moisturemap.survey import given_names
    from moisturemap.units import Units

    study = issuable(desk, visit)
    desk.say("drawing the figure", 0.98)
    with tempfile.TemporaryDirectory() as folder:
        form = Format(units=Units(units or desk.survey.units))
        with speaking(language, given_names(desk.survey)):
            path = save_map(study, Path(folder), formats=(format,), dpi=dpi, form=form)[0]
        name = f"{desk.question.job}-{study.visit.id}-map.{format}"
        return Paper(name, path.read_bytes(), record=desk.keys.number)


def data(desk: Desk, visit: str | None) -> Paper:
    """Return all results of a visit as open formats in one ZIP."""
    from moisturemap.results.study_files import export_study

    study = issuable(desk, visit)
    buffer = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder:
        written = export_study(study, Path(folder))
        with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as bundle:
            for path in written:
                bundle.write(path, path.name)
    name = f"{desk.question.job}-{study.visit.id}-data.zip"
    return Paper(name, buffer.getvalue(), record=desk.keys.number)


def report(
    desk: Desk,
    visit: str | None,
    wanted: Mapping[str, Any],
    photos: Sequence[tuple[bytes, str]],
    revisions: Revisions,
) -> Paper:
    """Write the report of a visit; ``wanted`` holds what ``ReportIn`` asks for."""
    from moisturemap.bundles import Judgement
    from moisturemap.report import (
        Material,
        ReportOptions,
        Supplement,
        photograph,
        report_stem,
        write_report,
    )
    from moisturemap.results.key_numbers import key_numbers

    found = _reported(desk, visit)
    study = found.study if isinstance(found, Judgement) else found
    decision = desk.decision(visit)[0] if len(desk.survey.tests) else None
    shown = desk.survey.visit(visit) if study is None else study.visit
    options = ReportOptions(
        paper=wanted["paper"],
        units=wanted["units"],
        title=wanted["title"],
        language=wanted["language"],
        title_block=dict(wanted["title_block"]),
        issued_by=wanted["who"] if wanted["issue"] else "",
    )
    number = Material(desk.survey if study is None else study, options).number
    name = f"{desk.question.job}-{report_stem(number, options.language)}.{wanted['format']}"
    desk.say("writing the report", 0.98)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        supplement = Supplement(
            decision=decision,
            drying=None if study is None else _drying(desk, visit),
            photographs=[photograph(*one) for one in photos],
            clearances={} if study is None else _clearances(desk, visit, study),
            revisions=revisions,
        )
        notes = write_report(found, path, options=options, supplement=supplement)
        content = path.read_bytes()
    numbers = dict(key_numbers(study))
    return Paper(name, content, tuple(notes), numbers, shown.id, desk.keys.number, number)


def _reported(desk: Desk, visit: str | None) -> Study | Judgement:
    """Return the study as it may leave the job; on a floor never scanned the tests alone."""
    from moisturemap.bundles import Judgement

    if desk.survey.readings.empty and len(desk.survey.tests):
        return Judgement(desk.survey, desk.decision(visit)[0], None)
    return issuable(desk, visit)


def _clearances(desk: Desk, visit: str | None, shown: Study) -> dict[str, dict[str, str]]:
    """Return the clearances of the holes shown; of those proposed where none may be shown yet."""
    from moisturemap.workflow.cautions import clearances

    study = shown if len(shown.drill_plan) else desk.study(visit)
    return clearances(study, desk.settings)


def _drying(desk: Desk, visit: str | None) -> DryingPlan | None:
    """Return what dried up to a visit; None for the first, or when the visits do not compare."""
    from moisturemap.bundles import DryingPlan
    from moisturemap.workflow.placement import place_equipment

    if desk.survey.visit(visit).id == desk.survey.visits[0].id:
        return None
    try:
        comparison = desk.comparison(visit)
    except NotEnoughData:
        return None
    try:
        equipment, why = place_equipment(desk.survey, comparison=comparison), ""
    except (NotEnoughData, InputError) as missing:
        equipment, why = None, str(missing)
    return DryingPlan(comparison, equipment, why)
