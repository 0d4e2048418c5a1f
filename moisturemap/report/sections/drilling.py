"""Where to drill, and what must be cleared before."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from moisturemap.acceptance import holes_words
from moisturemap.drilling import purpose_words
from moisturemap.report.content import Block, Bullets, Column, Paragraph, Section, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.pictures import MOST_SHEETS, set_out_pictures
from moisturemap.report.reference import refer
from moisturemap.report.wording import is_missing, number
from moisturemap.survey import UK, US, Country, country_of


def holes(material: Material) -> Section | None:
    """List the proposed holes with depth and set-out, and why each was chosen."""
    study, wording = material.study, material.wording
    plan = study.drilling
    if not len(plan.holes) and not plan.statements:
        return None
    blocks: list[Block] = [Paragraph(wording.sentence(plan.count_rule))] if plan.count_rule else []
    if len(plan.holes):
        columns = (
            Column("Hole", 0.6),
            Column("Room", 1.3),
            Column("Purpose", 1.1),
            Column("Depth", 0.8, "right"),
            Column("x, y", 1.3, "right"),
            Column("Scan reads", 0.8, "right"),
            Column("Set out from", 3.6),
        )
        rows = tuple(
            (
                str(hole.hole),
                str(hole.room),
                purpose_words(hole.purpose),
                _depth(material, hole),
                wording.place(hole.x, hole.y),
                "not read" if is_missing(hole.expected) else number(hole.expected, 0),
                _set_out(material, hole),
            )
            for hole in plan.holes.itertuples()
        )
        note = "Scan reads: the mapped relative reading there, which is not a moisture content."
        if any(HELD.search(str(hole.set_out)) for hole in plan.holes.itertuples()):
            note += " Distances from walls: tape held square to each wall, into the room."
        blocks.append(Table("Proposed holes", columns, rows, note=note, key="holes"))
        blocks.append(_reasons(material))
    left = asked_words(material)
    told = [*([left] if left else []), *plan.statements]
    if told:
        blocks.append(Bullets(tuple(wording.sentence(text) for text in told)))
    return Section("Drill plan", tuple(blocks))


def asked_words(material: Material) -> str:
    """Say what the rules of the verdict ask for beyond the holes of the plan; "" where nothing."""
    decision, drilled = material.supplement.decision, material.study.drilling.holes
    if decision is None or not len(drilled):
        return ""
    now, then = material.asked
    return holes_words(now, then, len(drilled))


def _depth(material: Material, hole: Any) -> str:
    return "see below" if is_missing(hole.depth_mm) else material.wording.depth(hole.depth_mm)


HELD = re.compile(r", tape [^.]*(?=\.)")
"""How two distances from walls are held, said once below the table."""


def _set_out(material: Material, hole: Any) -> str:
    return material.wording.sentence(HELD.sub("", str(hole.set_out)))


def set_out(material: Material) -> Section | None:
    """Show the holes of each room with the tape lines that fix them."""
    if material.supplement.pictures is not None or not len(material.study.drill_plan):
        return None
    pictures = set_out_pictures(material.study, material.form)
    if not pictures:
        return None
    from moisturemap.figures.set_out import CAUTION

    table = refer("holes")
    first, last = refer(pictures[0].key), refer(pictures[-1].key)
    told = [f"{first} shows the tape lines that set out the holes of {table}."]
    if len(pictures) == 2:
        told = [
            f"{first} and {last} show, room by room, the tape lines that set out the holes of "
            f"{table}."
        ]
    elif len(pictures) > 2:
        told = [
            f"{first} to {last} show, room by room, the tape lines that set out the holes of "
            f"{table}."
        ]
    if len(pictures) > MOST_SHEETS:
        told.append(f"{SET_OUT_KEY} {CAUTION}")
    return Section("Set-out", (*map(Paragraph, told), *pictures))


SET_OUT_KEY = (
    "A ring is a place to test, a dashed line the tape, square to the wall or to the corner; thick "
    "walls are exterior walls; what is drawn red was flagged by the scan or is a known service."
)


def _reasons(material: Material) -> Terms:
    """Say why each hole was chosen and how deep it goes, holes of one reason together."""
    holes = list(material.study.drilling.holes.itertuples())
    found: dict[str, list[str]] = {}
    deep: dict[str, list[str]] = {}
    spread = _spread_at_once(holes)
    for hole in holes:
        found.setdefault(spread.get(str(hole.hole), str(hole.why)), []).append(str(hole.hole))
        if hole.depth_note:
            deep.setdefault(str(hole.depth_note), []).append(str(hole.hole))
    say = material.wording.sentence
    why = [(", ".join(names), say(text)) for text, names in found.items()]
    depth = [(f"Depth, {', '.join(names)}", say(text)) for text, names in deep.items()]
    return Terms((*why, *depth))


def _spread_at_once(holes: list[Any]) -> dict[str, str]:
    """Return one reason for the holes that span the range of the scan, where there are several."""
    told = {str(one.hole): _SHARE.search(str(one.why)) for one in holes if one.purpose == SPREAD}
    shares = {hole: share[0] for hole, share in told.items() if share}
    if len(shares) < 2:
        return {}
    text = (
        "Fill the range of the scan so that tests can be related to it: there it reads higher than "
        f"on {', '.join(shares.values())} of the floor, in this order."
    )
    return dict.fromkeys(shares, text)


SPREAD, _SHARE = "calibration", re.compile(r"\d+%")
"""Purpose of a hole that spans the range of the scan, and its rank in the words of its reason."""


def cautions(material: Material) -> Section | None:
    """List the cautions for a named person to clear, with room to sign."""
    plan = material.study.drilling
    if not plan.cautions:
        return None
    before = Paragraph(
        "Before any hole is drilled a named, competent person clears each line with date and "
        "document. Local law, the site's permit and licensed trades decide; this list is not "
        "complete for every site.",
        "warning",
    )
    columns = (
        Column("Cleared", 0.9),
        Column("Caution", 6),
        Column("Name", 1.4),
        Column("Date", 1),
        Column("Document", 1.3),
    )
    rows = tuple(_caution(material, text) for text in plan.cautions)
    return Section(
        "Cautions to clear before drilling",
        (
            before,
            Table(
                "Cautions to clear",
                columns,
                rows,
                note=_elsewhere(rows, country_of(material.survey)),
                key="cautions",
            ),
        ),
    )


_NATIONAL = re.compile(r"\b(?:OSHA|ACI|HSE|Regulations)\b|\bB[SR] \d")


def _elsewhere(rows: tuple[tuple[str, ...], ...], country: Country | None) -> str:
    """Say of which countries the rules are that cautions name, and which are in force here."""
    if not any(_NATIONAL.search(row[1]) for row in rows):
        return ""
    by = f", by its time zone {country.zone}" if country is not None and country.zone else ""
    if country is not None and country.name == US:
        return (
            f"This floor lies in the United States{by}: the rules of OSHA and ACI are those of its "
            "country. HSE, BS, BR and Regulations are of the United Kingdom: they are where a "
            "caution comes from and are not in force here."
        )
    if country is not None and country.name == UK:
        return (
            f"This floor lies in the United Kingdom{by}: the rules of HSE, BS, BR and Regulations "
            "are those of its country. OSHA and ACI are of the United States: they are where a "
            "caution comes from and are not in force here."
        )
    named = (
        "The rules named are those of the United States (OSHA, ACI) and the United Kingdom (HSE, "
        "BS, BR, Regulations): they are where a caution comes from."
    )
    there = (
        "For a floor elsewhere they are not in force; the rules there stand in their place."
        if country is None
        else f"This floor lies in neither country{by}: they are not in force here; the rules of "
        "its own country stand in their place."
    )
    return f"{named} {there}"


def _caution(material: Material, text: str) -> tuple[str, ...]:
    """Return the row of a caution: who cleared it, when and by what, or room to sign."""
    words = material.wording.sentence(text)
    cleared = material.supplement.clearances.get(text)
    if cleared is None:
        return ("☐", words, "", "", "")
    day = material.wording.day(date.fromisoformat(cleared["on"]))
    return ("☑", words, cleared["by"], day, cleared["document"])
