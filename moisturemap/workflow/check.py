"""What a careful colleague would say about a survey before leaving site, and about its record."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from moisturemap.acceptance import DecideOptions, decide
from moisturemap.anomalies import Anomalies
from moisturemap.bundles import SurveyCheck
from moisturemap.errors import OptionError
from moisturemap.floorplan import (
    CHECK_ONE_WALL,
    NOT_KEPT_CLEAR,
    NOTED_IN,
    check_plan,
    domains,
    unknown_words,
)
from moisturemap.results.key_numbers import key_numbers
from moisturemap.results.run import MANIFEST, check_files, read_manifest
from moisturemap.scanning import OF_RECORD, Remark, confirming_sweeps, review
from moisturemap.store import check_head, open_project, read_signed_head, recheck
from moisturemap.survey import Survey, clean_readings, why_unusable
from moisturemap.workflow.read import SURVEY_FILE, read_survey
from moisturemap.workflow.recorded import remarks_on_records
from moisturemap.workflow.study import study
from moisturemap.workflow.sweeps import contested_on
from moisturemap.zones import LevelOptions, one_level_for, stated_level
from moisturemap.zones.fell_fast import fallen_readings
from moisturemap.zones.part_fell import part_fell

SERIOUS_FIRST = ("problem", "warning", "info")


def check_survey(survey: Survey, *, visit: str | None = None) -> SurveyCheck:
    """Review one visit of a survey, the latest when none is named.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit.
    """
    return _check(survey, visit, ())


def check_path(
    path: Path,
    *,
    visit: str | None = None,
    head: str | None = None,
    public_key: Path | None = None,
) -> SurveyCheck:
    """Review a survey; of a project file also the record of changes and the issued documents.

    A results folder is held against its manifest instead.

    Parameters
    ----------
    path : Path
        Survey, project file or results folder.
    visit : str, optional
    head : str, optional
        End of the record that was kept outside: the line, or a file with it or a signed head.
    public_key : Path, optional
        Key of the firm the head must be signed with.

    Raises
    ------
    OptionError
        When a head is given for a survey folder, which has no record.
    """
    if (path / MANIFEST).is_file() and not (path / SURVEY_FILE).exists():
        return _check_results(path)
    is_project = path.suffix.lower() == ".gpkg"
    if head is not None and not is_project:
        message = "a survey folder has no record of changes to hold a head against"
        raise OptionError(message, value=str(path), allowed="a project file (.gpkg)")
    survey = read_survey(path)
    record = _record_remarks(path) if is_project else ()
    if head is not None:
        record = (_head_remark(path, head, public_key), *record)
    return _check(survey, visit, record)


def _check_results(folder: Path) -> SurveyCheck:
    """Hold the files of a results folder against its manifest."""
    manifest = read_manifest(folder)
    remarks = [Remark("problem", fault) for fault in check_files(folder)]
    if not remarks:
        count = len(manifest["files"])
        told = f"The {count} files are those that were written, unchanged since."
        remarks.append(Remark("info", told))
    for run in manifest["runs"].values():
        record = f", record at entry {run['record_number']}" if run.get("record_number") else ""
        told = f"Run {run['id']}: {run['command']} of {run['survey']}, {run['made']}{record}."
        remarks.append(Remark("info", told))
    return SurveyCheck(f"Results in {folder}", "", 0, tuple(remarks))


def _head_remark(path: Path, head: str, public_key: Path | None) -> Remark:
    kept = read_signed_head(head)
    with open_project(path) as project:
        fault = check_head(project, kept, public_key)
    if fault:
        return Remark("problem", fault[0].upper() + fault[1:] + ".", OF_RECORD)
    told = f"The record still begins with the {kept.number} entries whose head was kept"
    if not kept.signature:
        return Remark("info", f"{told}.", OF_RECORD)
    who = "signed with the key of the firm" if public_key else f"signed with key {kept.public_key}"
    return Remark("info", f"{told}, {who} on {kept.signed}.", OF_RECORD)


def _check(survey: Survey, visit: str | None, record: tuple[Remark, ...]) -> SurveyCheck:
    if survey.readings.empty and not survey.tests.empty:
        return _check_tests(survey, visit, record)
    chosen = survey.scanned_visit(visit)
    clean = clean_readings(survey, chosen.id, domains=domains(survey.plan))
    refusal = why_unusable(clean, survey.plan)
    notes = (*survey.plan.notes, *survey.notes, *clean.notes, *check_plan(survey.plan))
    remarks = [*record, *review(survey, clean), *remarks_on_records(survey)]
    level = stated_level(survey, chosen, LevelOptions(meter=clean.instrument.id))
    wet = None if level is None else level.value
    if refusal:
        remarks.append(Remark("problem", f"No map can be made: {refusal}."))
    else:
        found = contested_on(survey, chosen.id, clean=clean)
        remarks += _remarks_on_sweeps(found, survey)
        fallen = fallen_readings(survey, chosen, clean, found.readings, wet)
        fallen += part_fell(survey, clean, wet)
        remarks += [Remark("warning", one.sentence) for one in fallen]
    if level is not None and wet is not None:
        mixed = one_level_for(survey, level.base)
        remarks += [Remark("warning", mixed)] if mixed else []
    remarks += _remarks_on_plan(survey, notes)
    remarks.sort(key=lambda remark: SERIOUS_FIRST.index(remark.level))
    count = len(clean.readings)
    return SurveyCheck(survey.name, chosen.id, count, tuple(remarks), bool(refusal), survey.units)


def _remarks_on_sweeps(found: Anomalies, survey: Survey) -> list[Remark]:
    """Name sweeps that contradict the grid, and those that are left to read."""
    remarks = [Remark("problem", f"{one[0].upper()}{one[1:]}") for one in found.doubted]
    sweeps = confirming_sweeps(found, survey.plan)["sentence"]
    return remarks + [Remark("warning", f"To settle: {one}") for one in sweeps]


def _remarks_on_plan(survey: Survey, notes: tuple[str, ...]) -> list[Remark]:
    """Return the notes of plan and survey; what may put a service elsewhere is a warning."""
    unknown = unknown_words(survey.plan.lines)
    grave = ("as you say", "which cannot be; read in", NOT_KEPT_CLEAR, CHECK_ONE_WALL, NOTED_IN)
    return [
        Remark("warning" if note == unknown or any(g in note for g in grave) else "info", note)
        for note in dict.fromkeys(notes)
    ]


def _check_tests(survey: Survey, visit: str | None, record: tuple[Remark, ...]) -> SurveyCheck:
    """Review a survey that holds tests and no scan."""
    told = "No reading of a scan is there: no map can be made, and the tests are reviewed alone."
    notes = (*survey.plan.notes, *survey.notes, *check_plan(survey.plan))
    remarks = [*record, Remark("warning", told), *remarks_on_records(survey)]
    remarks += _remarks_on_plan(survey, notes)
    remarks.sort(key=lambda remark: SERIOUS_FIRST.index(remark.level))
    return SurveyCheck(survey.name, survey.visit(visit).id, 0, tuple(remarks), units=survey.units)


def _record_remarks(path: Path) -> tuple[Remark, ...]:
    """Hold the file against its record and make the issued documents again."""
    with open_project(path) as project:
        found = project.verify()
        remarks = [Remark("problem", fault.sentence, fault.layer) for fault in found.faults]
        remarks += [Remark("warning", remark) for remark in found.remarks]
        if found.intact:
            told = f"The file agrees with its record of {found.entries} changes; head {found.head}."
            remarks.append(Remark("info", f"{told} {found.statement}", OF_RECORD))
        again = list(recheck(project, _numbers_again))
        same = ", ".join(one.document for one in again if one.same)
        if same and found.intact:
            remarks.append(Remark("info", f"{same}: the same numbers still come out.", OF_RECORD))
        elif same:
            told = f"{same}: the same numbers come out of the record, not of the rows as they are."
            remarks.append(Remark("warning", told, OF_RECORD))
        for one in again:
            remarks += [Remark("problem", f"{one.document}: {what}") for what in one.differences]
    return tuple(remarks)


def _numbers_again(survey: Survey, options: Mapping[str, Any]) -> dict[str, Any]:
    scanned = study(survey, visit=options.get("visit"))
    known = DecideOptions(as_of=datetime.fromisoformat(options["as_of"]))
    decision = None if survey.tests.empty else decide(survey, scanned, options=known)
    return key_numbers(scanned, decision)
