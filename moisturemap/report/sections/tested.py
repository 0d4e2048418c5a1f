"""Calibrated tests: as judged, as recorded, by the rules, with depth."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from moisturemap.acceptance import ProfileVerdict, sealed_words
from moisturemap.quantities import beside, three_figures
from moisturemap.report.content import Block, Bullets, Column, Paragraph, Section, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.picture_words import AGAINST
from moisturemap.report.pictures import profile_pictures
from moisturemap.report.sections.judged import judged, limit_of
from moisturemap.report.wording import (
    MISSING,
    Wording,
    is_missing,
    number,
    text_or_missing,
    word_of,
)
from moisturemap.survey import TEST_COLUMNS


def tests(material: Material) -> Section | None:
    """List every calibrated test, judged where there is a decision, and as it was read."""
    if not len(material.survey.tests):
        return None
    decision = material.supplement.decision
    blocks: list[Block] = []
    if decision is not None:
        blocks += judged(material, decision)
    blocks += _recorded(material)
    return Section("Calibrated tests", tuple(blocks))


def _recorded(material: Material) -> list[Block]:
    columns = (
        Column("Hole", 0.7),
        Column("Place x, y", 1.2, "right"),
        Column("Method", 1.1),
        Column("Depth", 1, "right"),
        Column("As read", 1.1, "right"),
        Column("In-hole and air", 1.5),
        Column("Drilled, lined, placed, read", 2.4),
        Column("Instrument", 1.2),
    )
    tested = material.survey.tests.to_dict("records")
    rows = [_test(material, row) for row in tested]
    known = [k for k in range(len(columns)) if any(row[k] != MISSING for row in rows)]
    absent = [one.title.lower() for k, one in enumerate(columns) if k not in known]
    note = (
        "Depth below the top face. Different methods measure different "
        "quantities and are never converted into each other."
    )
    note += f" Not recorded for any test: {'; '.join(absent)}." if absent else ""
    table = Table(
        "Tests as recorded",
        tuple(columns[k] for k in known),
        tuple(tuple(row[k] for k in known) for row in rows),
        True,
        note,
    )
    return [table, *_further(material, tested)]


ALL_TESTS = "Further records, all tests"


def _further(material: Material, tested: list[dict[Any, Any]]) -> list[Block]:
    """List what else was recorded of the tests: what is the same for all only once."""
    told = [_records(material, row) for row in tested]
    shared = [one for one in told[0] if all(one in rest for rest in told)] if len(told) > 1 else []
    lines = [(ALL_TESTS, "; ".join(shared))] if shared else []
    for row, records in zip(tested, told, strict=True):
        own = "; ".join(one for one in records if one not in shared)
        lines += [(f"Further records, {text_or_missing(row['hole'])}", own)] if own else []
    return [Terms(tuple(lines))] if lines else []


def _test(material: Material, row: dict[Any, Any]) -> tuple[str, ...]:
    wording = material.wording
    place = MISSING
    if not is_missing(row["x"]):
        place = wording.place(row["x"], row["y"])
    sign = {"above": "at or above ", "below": "at or below "}.get(row.get("censored") or "", "")
    air = [
        f"{name} {wording.temperature(row[key])}"
        for name, key in (("hole", "temperature_c"), ("air", "air_temperature_c"))
        if not is_missing(row[key])
    ]
    air += [] if is_missing(row["air_rh_pct"]) else [f"air {number(row['air_rh_pct'])} %RH"]
    result = MISSING if is_missing(row["value"]) else f"{sign}{row['value']:.5g} {_unit(row)}"
    return (
        text_or_missing(row["hole"]),
        place,
        word_of(row["method"]),
        wording.depth(row["depth_mm"]),
        result,
        "; ".join(air) or MISSING,
        _times(wording, row) or MISSING,
        text_or_missing(row["instrument"]),
    )


def _unit(row: dict[Any, Any]) -> str:
    """Return the unit a result was recorded in, humidity as it is written everywhere else."""
    unit = str(row["unit"])
    return "%RH" if unit.replace(" ", "") == "%RH" else unit


TIMES = ("drilled", "lined", "placed", "read")


def _times(wording: Wording, row: dict[Any, Any]) -> str:
    """Write when each thing was done: a day once for all that was done on it."""
    told: list[str] = []
    before = None
    for name in TIMES:
        when = row.get(name)
        if is_missing(when) or not isinstance(when, datetime):
            continue
        at = wording.here(when)
        day = "" if before is not None and at.date() == before.date() else wording.day(at) + " "
        told.append(f"{name} {day}{at:%H:%M}")
        before = at
    return "; ".join(told)


def _records(material: Material, row: dict[Any, Any]) -> list[str]:
    note = [] if is_missing(row["note"]) else [str(row["note"])]
    return note + [
        f"{FURTHER.get(name, str(name).replace('_', ' '))} {_told(material, name, value)}"
        for name, value in row.items()
        if name not in _SHOWN and not is_missing(value)
    ]


_SHOWN = (*TEST_COLUMNS, *TIMES, "censored")
"""What has a column of its own or needs none; everything else recorded stands with the note."""


FURTHER = {
    "thickness_mm": "thickness at the test",
    "probe_temperature_c": "temperature of the probe",
    "slab_temperature_c": "temperature of the slab",
    "drift_pct": "drift of the last reading in %RH:",
    "conditioned_hours": "hours at service conditions:",
    "service_conditions": "room at service conditions:",
    "operator": "tested by",
}
"""What a client reads for each further record of a test."""


def _told(material: Material, name: object, value: Any) -> str:
    wording = material.wording
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return wording.moment(value)
    if str(name).endswith("_mm"):
        return wording.depth(value)
    if str(name).endswith("_c"):
        return wording.temperature(value)
    return number(value, 2) if isinstance(value, float) else str(value)


def _kept(met: Any) -> str:
    return "cannot be told" if is_missing(met) else "kept" if met else "not kept"


def rules(material: Material) -> Section | None:
    """Say which rules on the tests were kept, each with its document and how sure we are of it."""
    decision = material.supplement.decision
    if decision is None or decision.coverage.empty:
        return None
    say = material.wording.sentence
    columns = (
        Column("Rule", 3),
        Column("Found", 0.9, "right"),
        Column("Needed", 0.9, "right"),
        Column("Kept", 1),
        Column("In words", 4),
        Column("Document", 1.8),
    )
    rows = tuple(
        (
            say(str(one.asked)),
            _found(one.found, one.needed),
            _found(one.needed, one.found),
            _kept(one.met),
            say(str(one.sentence)),
            str(one.document),
        )
        for one in decision.coverage.itertuples()
    )
    heads = (
        Column("Rule", 3),
        Column("Document", 2),
        Column("Known from", 3.4),
        Column("Kind of source", 1.4),
    )
    sources = tuple(
        (say(str(one.words)), str(one.document), say(str(one.source)), str(one.sureness))
        for one in decision.rules.itertuples()
    )
    note = "Verify each against the current edition of its document before relying on it."
    return Section(
        "Rules and whether they were kept",
        (
            Table("Rules on the tests as a whole", columns, rows),
            Table("Where the rules come from", heads, sources, note=note),
        ),
    )


def _found(value: Any, other: Any) -> str:
    """Write what a rule found or asks for, never rounded onto or across the other."""
    if is_missing(value):
        return MISSING
    held = beside(float(value), None if is_missing(other) else float(other), decimals=1)
    return held.rstrip("0").rstrip(".")


NOT_COUNTED = " (not counted)"
"""Behind what is worked out for a place that the test itself decides."""

NO_VALID = "not counted: no valid test"


def _profile_verdict(spot: ProfileVerdict) -> str:
    """Return the verdict of a spot; what rests on no valid test has none."""
    if spot.counts_against:
        return AGAINST
    if not spot.valid:
        return NO_VALID
    return spot.verdict if spot.governs else f"{spot.verdict}{NOT_COUNTED}"


def profiles(material: Material) -> Section | None:
    """Show what a covering would face where humidity was read at depth."""
    decision = material.supplement.decision
    if decision is None or not decision.spots:
        return None
    wording = material.wording
    columns = (
        Column("Holes", 1.2),
        Column("Room", 1),
        Column("Depths", 1.2),
        Column("Result [%RH]", 1.2),
        Column("Under a covering, worked out [%RH]", 1.5, "right"),
        Column("Limit", 0.7, "right"),
        Column("Verdict", 1),
    )
    rows = tuple(
        (
            str(one.spot),
            str(one.room),
            _depths(wording, one.depths_mm),
            _humidities(one.read_pct),
            _sealed(spot),
            limit_of(one.limit),
            _profile_verdict(spot),
        )
        for spot, one in zip(decision.spots, decision.profile_table.itertuples(), strict=True)
    )
    note = (
        "Worked out by a drying model from the readings at depth, with a 90% interval; not a "
        "measurement."
    )
    if any(spot.estimate is not None and spot.sealed is None for spot in decision.spots):
        note += " No fit: the readings lie off every profile of the model."
    if any(row[6].endswith(NOT_COUNTED) for row in rows):
        note += " Not counted: the test itself decides there."
    table = Table("Humidity a covering would face", columns, rows, note=note)
    day = decision.as_of.date()
    covered = {room.name for room in material.survey.plan.rooms if room.slab.covered_on(day)}
    why = Terms(
        tuple(
            (f"Why, {spot.spot}", wording.sentence(". ".join((spot.why, *_misfits(spot, covered)))))
            for spot in decision.spots
        )
    )
    pictures = profile_pictures(decision, material.survey, material.form)
    return Section("Depth profiles", (table, why, *pictures))


def _misfits(spot: ProfileVerdict, covered: set[str]) -> tuple[str, ...]:
    """Say how the readings of a spot depart from the model that what is worked out rests on."""
    remarks = () if spot.estimate is None else spot.estimate.remarks
    under = (UNDER_A_COVERING,) if spot.room in covered and remarks else ()
    return (*(f"{one[0].upper()}{one[1:]}" for one in remarks), *under)


UNDER_A_COVERING = (
    "A covering lies on this floor, and the model is of a slab that dries open to the air: that "
    "they differ tells of no fault of the readings by itself"
)
"""Said of what departs from a model that no covered slab follows."""


def _humidities(told: object) -> str:
    """Write a list of humidities as the table of tests has them."""
    return ", ".join(three_figures(float(one)) for one in str(told).split(", "))


def _depths(wording: Wording, told: object) -> str:
    """Write the depths of a spot, their unit once."""
    depths = [wording.depth(float(one)) for one in str(told).split(", ")]
    unit = depths[-1].rpartition(" ")[2]
    return ", ".join([*(one.removesuffix(f" {unit}") for one in depths[:-1]), depths[-1]])


def _sealed(spot: ProfileVerdict) -> str:
    if spot.estimate is None:
        return "not worked out"
    if spot.sealed is None:
        return "not told: no fit"
    value, low, high = sealed_words(spot.sealed, spot.limit_pct)
    return f"{value} ({low} to {high})"


def photographs(material: Material) -> Section | None:
    """Show the photographs given with the report."""
    pictures = tuple(material.supplement.photographs)
    left = tuple(material.supplement.not_shown)
    if not pictures and not left:
        return None
    text = "Photographs as taken; the time is the one the camera wrote."
    said = (Paragraph(text, "note"),) if pictures else ()
    return Section("Photographs", (*said, *((Bullets(left),) if left else ()), *pictures))
