"""All values, the floor's geometry and where everything came from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from string import ascii_lowercase
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.figures.typeface import advance
from moisturemap.language import spoken
from moisturemap.report.content import Block, Column, Paragraph, Section, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.options import PAPERS, UPRIGHT
from moisturemap.report.sections.settings import setting_rows
from moisturemap.report.wording import (
    MISSING,
    Wording,
    is_missing,
    number,
    text_or_missing,
    word_of,
)
from moisturemap.store import WHAT_THE_RECORD_PROVES
from moisturemap.survey import USED_FLAGS

MOST_READINGS = 6000
"""Readings listed in the document; beyond, the files named under origin hold them."""

_HEATED = {True: "yes", False: "no", None: MISSING}

SIDE_BY_SIDE = 4
"""Columns of readings across a page at most."""

TYPE_MM, CELL_MM, BOLD = 2.4, 2.7, 1.15
"""Size of the type of dense tables, what a cell leaves beside its text, and width of headings
against it."""


def readings_listed(material: Material) -> Section:
    """List the readings set aside with their reasons, then every reading."""
    readings, wording = material.study.readings, material.wording
    aside = readings[~readings["flag"].isin(USED_FLAGS)]
    blocks: list[Block] = []
    if len(aside):
        columns = (
            Column("No.", 0.5, "right"),
            Column(wording.system.heading_of_places, 1.3, "right"),
            Column("As read", 0.7, "right"),
            Column("Room", 1.2),
            Column("Set aside as", 1),
            Column("Why", 5.5),
        )
        rows = tuple(
            (
                str(row["reading"]),
                _place(material, row),
                text_or_missing(row["raw"]),
                str(row["room"]) or MISSING,
                str(row["flag"]),
                wording.sentence(str(row["reason"])),
            )
            for row in aside.head(MOST_READINGS).to_dict("records")
        )
        blocks.append(Table("Readings set aside, and why", columns, rows, dense=True))
    blocks += _listed(material)
    return Section("Readings", tuple(blocks))


def _listed(material: Material) -> list[Block]:
    """Return the readings of the visit, and those of the visits it was compared with."""
    study, plan = material.study, material.supplement.drying
    visits = {study.visit.id: study.readings}
    if plan is not None:
        earlier = {one.visit.id: one.readings for one in plan.comparison.drying.series.clean}
        visits |= {name: table for name, table in earlier.items() if name != study.visit.id}
    blocks: list[Block] = []
    left = MOST_READINGS if material.options.all_readings else 0
    unlisted: dict[str, int] = {}
    for name, readings in visits.items():
        if len(readings) <= left:
            blocks.append(_all(material, name, readings))
            left -= len(readings)
        else:
            unlisted[name] = len(readings)
    blocks += _not_listed(unlisted)
    return [*blocks, *_of_other_meters(material, left)]


def _not_listed(counts: Mapping[str, int]) -> Iterator[Block]:
    """Yield which visits have readings that the document does not list."""
    names, total = ", ".join(counts), sum(counts.values())
    if len(counts) == 1:
        yield Paragraph(
            f"The {total} readings of visit {names} are not listed here; the files named under the"
            " origin hold them all."
        )
    elif counts:
        yield Paragraph(
            f"The {total} readings of visits {names} are not listed here; the files named under"
            " the origin hold them all."
        )


def _of_other_meters(material: Material, left: int) -> Iterator[Block]:
    """Yield what other meters read on any visit: it stands in no map and is not lost."""
    mapped, known = material.study.clean.instrument.id, material.survey.readings
    others = known[known["instrument"].notna() & (known["instrument"] != mapped)]
    if len(others) > left:
        text = "are not listed here; the files named under the origin hold them all."
        yield Paragraph(f"The {len(others)} readings of other meters {text}")
        return
    for (meter, visit), rows in others.groupby(["instrument", "visit"], sort=False):
        caption = f"Readings of {meter} on visit {visit}, in no map"
        yield replace(_all(material, str(visit), rows.assign(flag="clear")), caption=caption)


def _place(material: Material, row: dict[Any, Any]) -> str:
    x, y = row["x"], row["y"]
    if is_missing(x) or is_missing(y):
        return MISSING
    return material.wording.system.place_in_a_list(x, y)


def _all(material: Material, visit: str, table: pd.DataFrame) -> Table:
    """Return all readings, several side by side, read across: each sheet has them in order."""
    records = table.to_dict("records")
    cells = [(str(row["reading"]), _place(material, row), _with_flag(row)) for row in records]
    one = (
        Column("No.", 0.7, "right"),
        Column(material.wording.system.heading_of_places, 1.7, "right"),
        Column("As read", 1.4),
    )
    width = UPRIGHT[PAPERS[material.options.paper]][0]
    side_by_side = _abreast(one, cells, width)
    note = "As read: relative reading as written down, and its flag unless it is clear."
    if side_by_side * _needed(one, cells, whole=True) > width:
        marks = _marks(row["flag"] for row in records)
        cells = [
            (name, place, _with_flag(row, marks))
            for (name, place, _), row in zip(cells, records, strict=True)
        ]
        told = ", ".join(f"{mark}: {flag}" for flag, mark in marks.items())
        note = f"As read: relative reading as written down, and the mark of its flag. {told}."
    blank = [("", "", "")] * (-len(cells) % side_by_side)
    filled = [*cells, *blank]
    rows = tuple(
        sum(filled[at : at + side_by_side], ()) for at in range(0, len(filled), side_by_side)
    )
    return Table(
        f"All {len(cells)} readings of visit {visit}",
        one * side_by_side,
        rows,
        dense=True,
        note=note,
    )


def _abreast(one: tuple[Column, ...], cells: Sequence[tuple[str, ...]], width_mm: float) -> int:
    """Return how many stacks of readings stand side by side with no number broken."""
    return max(1, min(SIDE_BY_SIDE, int(width_mm / _needed(one, cells))))


def _needed(
    one: tuple[Column, ...], cells: Sequence[tuple[str, ...]], *, whole: bool = False
) -> float:
    """Return the width of a stack of readings [mm], a flag below its value unless ``whole``."""
    needed = 0.0
    for k, column in enumerate(one):
        texts = [row[k] for row in cells]
        parts = texts if whole or column.side == "right" else " ".join(texts).split()
        heads = [BOLD * advance(spoken(column.title))]
        needed += CELL_MM + TYPE_MM * max([*heads, *map(advance, set(parts))])
    return needed


def _with_flag(row: dict[Any, Any], marks: Mapping[str, str] | None = None) -> str:
    read, flag = text_or_missing(row["raw"]), str(row["flag"])
    if flag == "clear":
        return read
    return f"{read}, {flag}" if marks is None else f"{read} {marks[flag]}"


def _marks(flags: Iterable[Any]) -> dict[str, str]:
    """Return a letter for each flag of readings but clear ones: of its word, where that is free."""
    marks: dict[str, str] = {}
    for flag in dict.fromkeys(str(one) for one in flags if one != "clear"):
        letters = f"{flag}{ascii_lowercase}"
        marks[flag] = next(one for one in letters if one.isalpha() and one not in marks.values())
    return marks


def floor_data(material: Material) -> Section:
    """List rooms with their slabs and corners, and the lines of the plan."""
    plan, wording = material.survey.plan, material.wording
    corners, places = "Corners (x / y) in the plan's metres", "Places (x / y) in the plan's metres"
    if wording.system.us:
        corners, places = "Corners (x / y) in the plan's feet", "Places (x / y) in the plan's feet"
    columns = (
        Column("Room", 1.2),
        Column("Base", 1.2),
        Column("Thickness", 0.9, "right"),
        Column("Taken to dry at", 0.9),
        Column("Heated", 0.7),
        Column("Placed", 1),
        Column("Area", 0.9, "right"),
        Column(corners, 3.4),
    )
    rows = tuple(
        (
            room.name,
            room.slab.base,
            wording.depth(room.slab.thickness_mm),
            "top only" if room.slab.open_faces == 1 else "both faces",
            _HEATED[room.slab.heated],
            wording.day(room.slab.placed),
            wording.area(room.polygon.area),
            _corners(room.polygon, wording),
        )
        for room in plan.rooms
    )
    gaps = any(room.polygon.interiors for room in plan.rooms)
    note = "A stroke | stands before the corners of a column or opening, which has no floor."
    listed = Table("Rooms of the plan", columns, rows, note=note if gaps else "", dense=True)
    blocks: list[Block] = [listed]
    if plan.lines:
        heads = (
            Column("Kind", 1.2),
            Column("Name", 1.4),
            Column(places, 5),
        )
        lines = tuple(
            (word_of(line.kind), line.name, _corners(line.geometry, wording)) for line in plan.lines
        )
        blocks.append(Table("Lines of the plan", heads, lines, dense=True))
    return Section("Floor plan", tuple(blocks))


def _corners(geometry: shapely.Geometry, wording: Wording) -> str:
    """Write the corners of a shape, hundredths of a foot or millimetres at the finest.

    Each in brackets, x and y parted by a slash: a comma may be that of a decimal.
    """
    unit, digits = wording.system.axis[1], 2 if wording.system.us else 3
    rings = [*getattr(geometry, "interiors", ())]
    outer = getattr(geometry, "exterior", None)
    parts = [outer, *rings] if outer is not None else list(getattr(geometry, "geoms", [geometry]))
    texts = [
        " ".join(
            f"({number(x, digits)}\u00a0/\u00a0{number(y, digits)})"
            for x, y in _once(shapely.get_coordinates(part)) / unit
        )
        for part in parts
    ]
    return " | ".join(texts)


def _once(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Leave out the corner (n, 2) that closes a ring."""
    closed = len(corners) > 3 and bool((corners[0] == corners[-1]).all())
    return corners[:-1] if closed else corners


def origin(material: Material) -> Section:
    """Say from which files, by which versions and options the result came."""
    survey = material.survey
    columns = (Column("File", 1.4), Column("Bytes", 0.6, "right"), Column("SHA-256", 4))
    rows = tuple((one.name, f"{one.size}", one.sha256) for one in survey.provenance.inputs)
    blocks: list[Block] = []
    if rows:
        blocks.append(
            Table("Files the result was computed from", columns, rows, dense=True, verbatim=True)
        )
    made = material.study.provenance if material.scanned else survey.provenance
    blocks.append(
        Terms(
            (
                ("Computed", material.wording.moment(made.made)),
                ("Versions", ", ".join(f"{name} {text}" for name, text in made.versions.items())),
            )
        )
    )
    chosen = list(setting_rows(made.options, material.wording))
    if chosen:
        half = -(-len(chosen) // 2)
        chosen += [("", "")] * (2 * half - len(chosen))
        pairs = tuple((*chosen[k], *chosen[half + k]) for k in range(half))
        heads = (Column("Setting", 2.6), Column("Value", 1.3)) * 2
        caption = "Settings the result was computed with"
        blocks.append(Table(caption, heads, pairs, dense=True))
    if material.record is not None:
        number_of, seal = material.record
        blocks.append(Terms((("Head of the record of changes", f"entry {number_of}, {seal}"),)))
        faults = material.survey.record_faults
        if faults:
            blocks.append(
                Paragraph("The file is not what its record of changes led to.", "warning")
            )
        for sentence in faults or (WHAT_THE_RECORD_PROVES,):
            blocks.append(Paragraph(sentence, "note"))
    return Section("Origin of this report", tuple(blocks))
