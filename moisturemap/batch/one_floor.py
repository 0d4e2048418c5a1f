"""One floor of a run, done from its files to rows, in a process of its own."""

from __future__ import annotations

import traceback
from datetime import date
from pathlib import Path
from typing import Any

from moisturemap.batch.kept import file_word, fingerprint_of
from moisturemap.batch.listing import FloorSource
from moisturemap.batch.options import BatchOptions
from moisturemap.errors import MoistureMapError
from moisturemap.survey import Survey

REPORTS = "reports"
"""Folder of the reports, inside that of the run."""


def do_floor(
    source: FloorSource, options: BatchOptions, out: Path, today: date, shown: str
) -> dict[str, Any]:
    """Study one floor; what is wrong with it is part of the result, never an exception.

    Parameters
    ----------
    source : FloorSource
    options : BatchOptions
    out : Path
        Folder of the run, for reports.
    today : date
        Day by which the tests are judged.
    shown : str
        Path of the survey as the dataset names it.

    Returns
    -------
    dict
        Plain types: ``floor``, ``survey``, ``fingerprint``, ``day``, ``ages`` (whether the result
        depends on the day), ``error`` ("" or why it was refused), ``rows`` by table, ``map``.
    """
    result: dict[str, Any] = {
        "floor": source.floor,
        "survey": shown,
        "fingerprint": "",
        "day": today.isoformat(),
        "ages": False,
        "error": "",
        "rows": {},
        "map": None,
    }
    try:
        result["fingerprint"] = fingerprint_of(source, options)
        result |= _done(source, options, out, today)
    except (MoistureMapError, OSError) as refusal:
        result["error"] = str(refusal)
    except Exception as unforeseen:
        # one floor that meets a fault of ours must not stop the others; the fault is reported
        where = traceback.extract_tb(unforeseen.__traceback__)[-1]
        result["error"] = (
            f"the program met something unforeseen ({type(unforeseen).__name__}: {unforeseen}; "
            f"{Path(where.filename).name}:{where.lineno})"
        )
    for table in result["rows"].values():
        for row in table:
            row["floor"] = source.floor
    for row in result["rows"].get("floors", ()):
        row["survey"] = shown
    return result


def _done(source: FloorSource, options: BatchOptions, out: Path, today: date) -> dict[str, Any]:
    from moisturemap.batch.coarse_map import coarse_map
    from moisturemap.batch.rows import rows_of
    from moisturemap.bundles import StudyOptions
    from moisturemap.mapping import MappingOptions
    from moisturemap.workflow.judge import judge_or_map
    from moisturemap.workflow.read_decided import read_decided
    from moisturemap.workflow.read_earlier import read_earlier_floors, same_instrument

    survey, overrides = read_decided(source.path)
    if survey.readings.empty and not survey.tests.empty and "tests" not in options.left_out():
        return _tested_only(survey, today)
    earlier = None
    if options.earlier is not None:
        floors = read_earlier_floors(options.earlier)
        earlier = same_instrument(floors, survey, visit=source.visit)
    findings = judge_or_map(
        survey,
        visit=source.visit,
        as_of=today,
        leave_out=options.left_out(),
        overrides=overrides,
        options=StudyOptions(mapping=MappingOptions(earlier=earlier)),
    )
    rows = rows_of(findings, 0 if earlier is None else earlier.floors.floors)
    if "holes" in options.left_out():
        rows["floors"][0]["holes"] = None
    rows["floors"][0]["reports"] = " ".join(_reports(source, options, out, findings))
    return {
        "rows": rows,
        "map": coarse_map(findings.study),
        "ages": findings.decision is not None,
    }


def _tested_only(survey: Survey, today: date) -> dict[str, Any]:
    """Judge a floor that was tested and never scanned; there is no map and so no report of it."""
    from moisturemap.acceptance import DecideOptions
    from moisturemap.batch.rows import rows_of_tests
    from moisturemap.workflow.judge import end_of, judge

    options = DecideOptions(as_of=end_of(today, survey))
    rows = rows_of_tests(judge(survey, options=options, with_scan=False))
    return {"rows": rows, "map": None, "ages": True}


def _reports(source: FloorSource, options: BatchOptions, out: Path, findings: Any) -> list[str]:
    if not options.reports:
        return []
    from moisturemap.report import ReportOptions, write_report

    (out / REPORTS).mkdir(parents=True, exist_ok=True)
    written = []
    for suffix in options.reports:
        name = f"{REPORTS}/{file_word(source.floor)}.{suffix}"
        write_report(
            findings.study,
            out / name,
            decision=findings.decision,
            drying=findings.drying,
            options=ReportOptions(units=options.units),
        )
        written.append(name)
    return written
