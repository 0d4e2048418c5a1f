"""A study in plain sentences, for a terminal."""

from __future__ import annotations

from textwrap import fill

from moisturemap.bundles import Study, SurveyCheck
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.storeys import from_above

WIDTH = 96


def describe(study: Study) -> str:
    """Return what a study found: readings, zones, anomalies, holes, how far to trust it."""
    parts = [
        _title(study),
        _readings(study),
        _paragraph(study.wet.level.explanation),
        _paragraph(
            study.wet.statement if study.wet.statement != study.wet.level.explanation else ""
        ),
        *(_paragraph(one) for one in from_above(study)),
        *(_paragraph(f"Not mapped: {why}") for why in study.moisture.refusals.values()),
        *(_item(row.anomaly, row.sentence) for row in study.anomalies.itertuples()),
        *(_paragraph(remark) for remark in (*study.found.remarks, *study.found.limits)),
        _paragraph(study.quality),
        describe_drilling(study),
        _paragraph(DISCLAIMER),
    ]
    return "\n".join(part for part in parts if part)


def describe_drilling(study: Study) -> str:
    """Return the drill plan: count, holes with set-out, what it can miss, cautions."""
    plan = study.drilling
    parts = ["", "Drill plan", _paragraph(plan.count_rule)]
    for hole in study.drill_plan.itertuples():
        depth = f", {hole.depth_mm:.0f} mm deep" if hole.depth_mm == hole.depth_mm else ""
        parts.append(_item(hole.hole, f"{hole.room}{depth} ({hole.purpose}). {hole.set_out}"))
        parts.append(_item("", str(hole.why)))
    parts += [_paragraph(text) for text in plan.statements]
    if plan.cautions:
        parts.append("Before any drilling, a named person clears each of these:")
        parts += [_item("[ ]", caution) for caution in plan.cautions]
    return "\n".join(part for part in parts if part is not None)


def describe_remarks(check: SurveyCheck) -> str:
    """Return the remarks of a check, most serious first."""
    visit = f", visit {check.visit}: {_counted(check.count)}" if check.visit else ""
    lines = [f"{check.survey}{visit}"]
    lines += [_item(remark.level, remark.sentence) for remark in check.remarks]
    if not check.remarks:
        lines.append("Nothing to remark.")
    return "\n".join(lines)


def _title(study: Study) -> str:
    when = f", {study.visit.started:%Y-%m-%d %H:%M}" if study.visit.started else ""
    return f"{study.survey.name}: visit {study.visit.id}{when}, {study.clean.instrument.id}"


def _readings(study: Study) -> str:
    counts = study.readings["flag"].value_counts()
    details = ", ".join(f"{number} {flag}" for flag, number in counts.items())
    return _paragraph(f"{_counted(len(study.readings))}: {details}.")


def _counted(readings: int) -> str:
    """Write a number of readings."""
    return "1 reading" if readings == 1 else f"{readings} readings"


def _paragraph(text: str) -> str:
    return fill(text, WIDTH) if text else ""


def _item(mark: str, text: str) -> str:
    head = f"  {mark:<4} "
    return fill(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
