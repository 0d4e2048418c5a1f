"""Drying: change over the visits, forecast, and where the machines should stand."""

from __future__ import annotations

import math

from moisturemap.bundles import DryingPlan
from moisturemap.drying import DryingOptions, DryingProgress, Forecast
from moisturemap.report.content import Block, Bullets, Column, Paragraph, Section, Table
from moisturemap.report.material import Material
from moisturemap.report.pictures import drying_pictures, placement_picture
from moisturemap.report.reference import refer
from moisturemap.report.wording import number, word_of
from moisturemap.results.brief import listed
from moisturemap.slab import rounded_days


def drying(material: Material) -> Section | None:
    """Say what dried over the visits, what did not, and how long it may still take."""
    plan = material.supplement.drying
    if plan is None or len(plan.comparison.drying.series.visits) < 2:
        return None
    say, found = material.wording.sentence, plan.comparison.drying
    blocks: list[Block] = [
        Paragraph(
            "Changes are differences of relative readings of one instrument; they are not "
            "changes of a moisture content.",
            "note",
        ),
        Bullets((*(say(text) for text in _untabled(found)), *_narrow(found))),
    ]
    if len(found.areas):
        blocks.append(_areas(material, plan))
    if found.forecasts:
        blocks.append(_forecasts(material, found.forecasts))
    if len(found.features):
        columns = (
            Column("Anomaly", 0.8),
            Column("Room", 1.2),
            Column("Over the visits", 1.2),
            Column("What that says", 5),
        )
        rows = tuple(
            (
                str(one.anomaly),
                str(one.room),
                str(one.verdict).replace("-", " "),
                say(str(one.sentence)),
            )
            for one in found.features.itertuples()
        )
        blocks.append(Table("Anomalies over the visits", columns, rows, key=NARROW))
    blocks += drying_pictures(plan, material.form, material.supplement.decision)
    return Section("Drying over the visits", tuple(blocks))


NARROW = "features"
"""Key of the table of anomalies over the visits."""


def _narrow(found: DryingProgress) -> tuple[str, ...]:
    """Say that a map of change does not show what a thing as narrow as a line lost or gained."""
    changed = found.features[found.features["verdict"].isin(["dried", "rose"])]
    if changed.empty:
        return ()
    names = listed([str(one) for one in changed["anomaly"]])
    return (
        f"Maps of change even out what is as narrow as a line: that {names} changed is told in "
        f"{refer(NARROW)} and may show nowhere on them.",
    )


def _untabled(found: DryingProgress) -> tuple[str, ...]:
    """Return the statements that do not stand in a table below."""
    tabled = {*found.areas["sentence"], *found.features["sentence"]}
    for one in found.forecasts:
        tabled |= {one.sentence, one.look_back}
    return tuple(text for text in found.statements if text not in tabled)


FAR_OFF = DryingOptions().horizon_days
"""Forecasts of a relative reading beyond this are not given as a number [days]."""

_AREA_KINDS = {"stagnant": "reads wet, does not fall", "rising": "readings rose"}


def _areas(material: Material, plan: DryingPlan) -> Table:
    wording = material.wording
    columns = (
        Column("Area", 0.7),
        Column("Kind", 1.3),
        Column("Room", 1.2),
        Column(f"Size [{wording.area_unit}]", 0.9, "right"),
        Column("Mean reading now", 1, "right"),
        Column("Change of reading ± sd", 1.3, "right"),
        Column("In words", 4),
    )
    rows = tuple(
        (
            str(one.area),
            _AREA_KINDS.get(str(one.kind), str(one.kind)),
            str(one.room),
            wording.area(one.area_m2, unit=False),
            number(one.level, 0),
            f"{number(one.change)} ± {number(one.change_sd)}",
            wording.sentence(str(one.sentence)),
        )
        for one in plan.comparison.drying.areas.itertuples()
    )
    return Table("Areas whose readings do not fall", columns, rows)


def _forecasts(material: Material, forecasts: tuple[Forecast, ...]) -> Table:
    columns = (
        Column("Zone", 0.7),
        Column("Basis", 1),
        Column("Target", 0.9, "right"),
        Column("Days", 1.0, "right"),
        Column("Range", 1.2, "right"),
        Column("In words", 6.5),
    )
    rows = tuple(
        (
            one.zone.removeprefix("zone "),
            one.basis,
            f"{one.target:g}" if one.basis == "calibrated" else number(one.target),
            _days(one, one.days) if math.isfinite(one.high) else "none",
            _span(one),
            material.wording.sentence(f"{one.sentence} {one.look_back}".strip()),
        )
        for one in forecasts
    )
    note = (
        "On a relative basis the target is a reading, not a moisture content: reaching it says "
        "when to test, not that the floor may be covered. Days count from the latest visit, in "
        "drawings of the course from the first; on a calibrated basis from the reading of the "
        "tests."
    )
    return Table("Forecasts", columns, rows, note=note)


def _span(one: Forecast) -> str:
    """Say both ends, or the day before which the target is not met; nothing while water comes."""
    if math.isnan(one.low) or one.why_open == "rising":
        return "none"
    if math.isinf(one.high) and math.isfinite(one.low):
        return f"not before day {_days(one, one.low)}"
    return f"{_days(one, one.low)} to {_days(one, one.high, up=True)}"


def _days(one: Forecast, value: float, *, up: bool = False) -> str:
    """Write days as the sentence beside them does: whole, an end of an interval outwards."""
    if math.isnan(value):
        return "no forecast"
    if math.isinf(value):
        return "no end in sight"
    if one.basis == "calibrated":
        return rounded_days(value)
    if value > FAR_OFF:
        return f"more than {FAR_OFF:.0f}"
    return str(math.ceil(value) if up else math.floor(value))


def machines(material: Material) -> Section | None:
    """Say where the drying machines should stand, with cautions."""
    plan = material.supplement.drying
    if plan is None or plan.equipment is None:
        return None
    wording, placed = material.wording, plan.equipment.placement
    say = wording.sentence
    blocks: list[Block] = [Bullets(tuple(say(text) for text in placed.statements))]
    if len(placed.moves):
        columns = (
            Column("Machine", 1),
            Column("Kind", 1.1),
            Column("Do", 0.7),
            Column("To x, y", 1.4, "right"),
            Column("In words", 5),
        )
        rows = tuple(
            (
                str(one.machine),
                word_of(one.kind),
                str(one.action),
                wording.place(one.new_x, one.new_y),
                say(str(one.sentence)),
            )
            for one in placed.moves.itertuples()
        )
        blocks.append(Table("Machines", columns, rows, key="moves"))
    if placed.notes:
        blocks.append(Bullets(tuple(say(note) for note in placed.notes)))
    signed = (Column("Cleared", 0.9), Column("Caution", 6), Column("Name", 1.4), Column("Date", 1))
    lines = tuple(("☐", say(text), "", "") for text in placed.cautions)
    if lines:
        blocks.append(Table("Before machines are moved", signed, lines))
    if len(placed.moves):
        blocks.append(placement_picture(plan.equipment, material.form))
    return Section("Drying machines", tuple(blocks))
