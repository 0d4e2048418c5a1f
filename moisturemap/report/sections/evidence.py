"""Instruments and checks, conditions, and what departed from the rule."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from moisturemap.acceptance import Decision
from moisturemap.report.content import Block, Bullets, Column, Paragraph, Section, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.pictures import checks_picture
from moisturemap.report.wording import MISSING, is_missing, number, text_or_missing, word_of
from moisturemap.survey import Instrument

NO_CHECKS = "No check of an instrument before or after the readings is on record."


def instruments(material: Material) -> Section:
    """List the instruments with certificates and checks."""
    survey, wording = material.survey, material.wording
    columns = (
        Column("Id", 1),
        Column("Kind", 0.9),
        Column("Make and model", 1.4),
        Column("Serial", 1),
        Column("Certificate", 1.3),
        Column("Calibrated", 1),
        Column("Uncertainty (k = 2)", 1, "right"),
        Column("Scale", 1, "right"),
    )
    rows = tuple(
        (
            one.id,
            word_of(one.kind),
            text_or_missing(one.model),
            text_or_missing(one.serial),
            text_or_missing(one.certificate),
            wording.day(one.calibrated),
            _uncertainty(one),
            MISSING if one.scale is None else f"{number(one.scale[0])} to {number(one.scale[1])}",
        )
        for one in survey.instruments.values()
    )
    blocks: list[Block] = [Table("Instruments", columns, rows)]
    decision = material.supplement.decision
    if not any(one.checks for one in survey.instruments.values()):
        blocks.append(Paragraph(NO_CHECKS, "warning"))
    elif decision is not None and not decision.checks.empty:
        blocks += _judged_checks(material, decision)
    else:
        blocks.append(_checks(material))
    return Section("Instruments and checks", tuple(blocks))


def _checks(material: Material) -> Table:
    wording = material.wording
    columns = (
        Column("Instrument", 1),
        Column("When", 1.6),
        Column("Reference", 1.2),
        Column("Read", 0.8, "right"),
        Column("Expected", 1.2, "right"),
        Column("Temperature", 1, "right"),
    )
    rows = tuple(
        (
            one.id,
            wording.moment(check.when),
            check.reference,
            number(check.read, 2),
            "follows from the salt" if check.expected is None else number(check.expected, 2),
            wording.temperature(check.temperature_c),
        )
        for one in material.survey.instruments.values()
        for check in one.checks
    )
    return Table("Checks of instruments", columns, rows)


def _judged_checks(material: Material, decision: Decision) -> list[Block]:
    moment: Callable[[Any], str] = material.wording.moment
    columns = (
        Column("Instrument", 1.3),
        Column("When", 2),
        Column("Reference", 1.1),
        Column("Read", 0.8, "right"),
        Column("Expected", 1.1, "right"),
        Column("Tolerance", 1.1, "right"),
        Column("Result", 1.3),
    )
    rows = tuple(
        (
            str(one.instrument),
            moment(one.when),
            str(one.reference),
            number(one.read, 2),
            number(one.expected, 2),
            f"± {number(one.tolerance, 2)}",
            CHECKED.get(str(one.result), str(one.result)),
        )
        for one in decision.checks.itertuples()
    )
    picture = checks_picture(decision, material.form)
    table = Table("Checks of instruments", columns, rows)
    told = tuple(
        (f"{one.instrument}, {moment(one.when)}", str(one.sentence))
        for one in decision.checks.itertuples()
        if one.result != "passed" or "(" in str(one.sentence)
    )
    blocks: list[Block] = [table, Terms(told)] if told else [table]
    return blocks if picture is None else [picture, *blocks]


CHECKED = {"passed": "within tolerance"}
"""How a result is told where it is not told by its own word: a report passes nothing."""

READ_RH = ("rh-probe", "hood")
"""Kinds of instruments that read relative humidity."""


def _uncertainty(instrument: Instrument) -> str:
    if instrument.kind == "relative" and instrument.uncertainty is None:
        return "none: relative"
    told = number(instrument.uncertainty, 2)
    stated = instrument.uncertainty is not None and instrument.kind in READ_RH
    return f"{told} %RH" if stated else told


def conditions(material: Material) -> Section:
    """List what the air and the slab were like on each visit, and the machines that ran."""
    survey, wording = material.survey, material.wording
    columns = (
        Column("Visit", 0.6),
        Column("Started", 1.8),
        Column("Operator", 1.2),
        Column("Air", 1, "right"),
        Column("Air RH", 0.9, "right"),
        Column("Slab surface", 1, "right"),
        Column("Known-dry readings", 1.4),
        Column("Note", 1.4),
    )
    of_survey = "below, for the survey" if survey.scan.dry_reference else MISSING
    rows = tuple(
        (
            visit.id,
            wording.moment(visit.started),
            text_or_missing(visit.operator),
            wording.temperature(visit.air_temperature_c),
            MISSING if visit.air_rh_pct is None else f"{number(visit.air_rh_pct)}%",
            wording.temperature(visit.slab_temperature_c),
            ", ".join(number(value) for value in visit.dry_reference) or of_survey,
            visit.note,
        )
        for visit in survey.visits
    )
    blocks: list[Block] = [_without_blank_notes("Conditions on the visits", columns, rows)]
    if survey.scan.dry_reference:
        values = ", ".join(number(value) for value in survey.scan.dry_reference)
        blocks.append(Paragraph(f"Readings on floor known to be dry, for the survey: {values}."))
    if len(survey.equipment):
        blocks.append(_machines(material))
    return Section("Conditions", tuple(blocks))


def _machines(material: Material) -> Table:
    wording = material.wording
    columns = (
        Column("Machine", 1),
        Column("Visits", 0.9),
        Column("Kind", 1.2),
        Column("x, y", 1.4, "right"),
        Column("Capacity", 1.2, "right"),
        Column("Note", 2),
    )
    visits: dict[tuple[str, ...], list[str]] = {}
    for row in material.survey.equipment.to_dict("records"):
        told = (
            str(row["machine"]),
            word_of(row["kind"]),
            wording.place(row["x"], row["y"]),
            wording.sentence(f"{number(row['capacity'])} {row['unit']}".strip()),
            "" if is_missing(row["note"]) else str(row["note"]),
        )
        visits.setdefault(told, []).append(str(row["visit"]))
    rows = tuple((told[0], ", ".join(on), *told[1:]) for told, on in visits.items())
    return _without_blank_notes("Drying machines", columns, rows)


def _without_blank_notes(
    caption: str, columns: tuple[Column, ...], rows: tuple[tuple[str, ...], ...]
) -> Table:
    """Return a table whose last column, of notes, is left out when none was made."""
    if any(row[-1] for row in rows):
        return Table(caption, columns, rows)
    return Table(caption, columns[:-1], tuple(row[:-1] for row in rows))


def deviations(material: Material) -> Section | None:
    """Say what was mended, assumed or left out on the way to the result."""
    told_of = material.study.notes if material.scanned else material.survey.notes
    notes = tuple(dict.fromkeys(told_of))
    if not notes:
        return None
    lead = Paragraph("What was understood, mended or assumed while the files were read and mapped:")
    told = Bullets(tuple(material.wording.sentence(note) for note in notes))
    return Section("Assumptions and deviations", (lead, told))
