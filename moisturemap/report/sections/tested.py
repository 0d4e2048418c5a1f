"""Calibrated tests and photographs."""

from __future__ import annotations

from typing import Any

from moisturemap.report.content import Column, Paragraph, Section, Table
from moisturemap.report.material import Material
from moisturemap.report.wording import MISSING, is_missing, number, text_or_missing


def tests(material: Material) -> Section | None:
    """List every calibrated test as it was read."""
    table = material.study.survey.tests
    if not len(table):
        return None
    wording = material.wording
    columns = (Column("Hole", 0.7), Column("Place x, y", 1.2), Column("Method", 1.1),
               Column("Depth", 0.8, "right"), Column("Result", 1.1, "right"),
               Column("In-hole and air", 1.4), Column("Drilled, placed, read", 2.4),
               Column("Instrument", 1.2), Column("Note", 1.4))  # fmt: skip
    rows = tuple(_test(material, row) for row in table.to_dict("records"))
    note = (
        f"Depth in {wording.depth_unit} below the top face. Different methods measure different "
        "quantities and are never converted into each other."
    )
    return Section("Calibrated tests", (Table("Calibrated tests", columns, rows, True, note),))


def _test(material: Material, row: dict[Any, Any]) -> tuple[str, ...]:
    wording = material.wording
    place = MISSING
    if not is_missing(row["x"]):
        place = f"{wording.length(row['x'], unit=False)}, {wording.length(row['y'])}"
    sign = {"above": "at or above ", "below": "at or below "}.get(row.get("censored") or "", "")
    air = f"hole {wording.temperature(row['temperature_c'])}, air "
    air += f"{wording.temperature(row['air_temperature_c'])}, {number(row['air_rh_pct'])}"
    times = [wording.moment(row[name]) for name in ("drilled", "placed", "read")]
    result = MISSING if is_missing(row["value"]) else f"{sign}{number(row['value'])} {row['unit']}"
    return (
        text_or_missing(row["hole"]), place, str(row["method"]), wording.depth(row["depth_mm"]),
        result, f"{air} % RH", "; ".join(times), text_or_missing(row["instrument"]),
        "" if is_missing(row["note"]) else str(row["note"]),
    )  # fmt: skip


def photographs(material: Material) -> Section | None:
    """Show the photographs given with the report."""
    pictures = tuple(material.supplement.photographs)
    if not pictures:
        return None
    text = "Photographs as taken; the time is the one the camera wrote."
    return Section("Photographs", (Paragraph(text, "note"), *pictures))
