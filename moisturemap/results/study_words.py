"""A study in plain sentences, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moisturemap.bundles import Study, set_aside_above_level
from moisturemap.drilling import purpose_words
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.storeys import from_above
from moisturemap.results.terminal import Terminal
from moisturemap.units import Units

if TYPE_CHECKING:
    from moisturemap.bundles import SurveyCheck


def describe(study: Study, units: Units = Units()) -> str:
    """Return all a study found: readings, zones, anomalies, holes, how far to trust it."""
    say = Terminal(units)
    told = dict.fromkeys((study.wet.level.explanation, study.wet.statement))
    parts = [
        title_words(study),
        say.paragraph(readings_words(study)),
        say.paragraph(not_numeric_words(study)),
        *(say.paragraph(text) for text in study.survey.lowered_readings),
        *(say.paragraph(text) for text in study.survey.missing_photographs),
        *(say.paragraph(text) for text in study.found.doubted),
        *(say.paragraph(text) for text in told),
        *(say.paragraph(text) for text in from_above(study)),
        *(say.paragraph(f"Not mapped: {why}") for why in study.moisture.refusals.values()),
        *(say.item(row.anomaly, row.sentence) for row in study.anomalies.itertuples()),
        say.paragraph(set_aside_above_level(study).sentence),
        *(say.item(row.sweep, row.sentence) for row in study.sweeps.itertuples()),
        *(say.paragraph(remark) for remark in (*study.found.remarks, *study.found.limits)),
        say.paragraph(study.quality),
        describe_drilling(study, units),
        say.paragraph(DISCLAIMER),
    ]
    return "\n".join(part for part in parts if part)


def describe_drilling(study: Study, units: Units = Units()) -> str:
    """Return the drill plan: count, holes with set-out, what it can miss, cautions."""
    plan, say = study.drilling, Terminal(units)
    parts = ["", "Drill plan", say.paragraph(plan.count_rule)]
    for hole in study.drill_plan.itertuples():
        depth = f", {hole.depth_mm:.0f} mm deep" if hole.depth_mm == hole.depth_mm else ""
        what = purpose_words(hole.purpose)
        parts.append(say.item(hole.hole, f"{hole.room}{depth} ({what}). {hole.set_out}"))
        parts.append(say.item("", hole.why))
    parts += [say.paragraph(text) for text in plan.statements]
    if plan.cautions:
        parts.append("Before any drilling, a named person clears each of these:")
        parts += [say.item("[ ]", caution) for caution in plan.cautions]
    return "\n".join(parts)


def describe_remarks(check: SurveyCheck, units: Units = Units()) -> str:
    """Return the remarks of a check, most serious first."""
    say = Terminal(units)
    visit = f", visit {check.visit}: {_counted(check.count)}" if check.visit else ""
    lines = [f"{check.survey}{visit}"]
    lines += [say.item(remark.level, remark.sentence) for remark in check.remarks]
    if not check.remarks:
        lines.append("Nothing to remark.")
    return "\n".join(lines)


def title_words(study: Study) -> str:
    """Return survey, visit, time and instrument."""
    when = f", {study.visit.started:%Y-%m-%d %H:%M}" if study.visit.started else ""
    return f"{study.survey.name}: visit {study.visit.id}{when}, {study.clean.instrument.id}"


def readings_words(study: Study) -> str:
    """Return how many readings there are, and by flag."""
    counts = study.readings["flag"].value_counts()
    details = ", ".join(f"{number} {flag}" for flag, number in counts.items())
    return f"{_counted(len(study.readings))}: {details}."


MOST_ROWS = 3
"""Rows named one by one (our choice); the others are counted."""


def not_numeric_words(study: Study) -> str:
    """Name file, row and value of readings that are no number; "" where there are none."""
    rows = study.readings[study.readings["flag"] == "not-numeric"]
    if not len(rows):
        return ""
    named = "; ".join(
        f"{one.source} row {one.row}: {one.reason}" for one in rows.head(MOST_ROWS).itertuples()
    )
    named += f"; and {len(rows) - MOST_ROWS} more" if len(rows) > MOST_ROWS else ""
    return f"Not a number, so not mapped: {named}. Allowed: numbers, or OL for full scale."


def _counted(readings: int) -> str:
    """Write a number of readings."""
    return "1 reading" if readings == 1 else f"{readings} readings"
