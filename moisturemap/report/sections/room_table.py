"""Room by room: what the tests show, how much reads wet, where to look it up."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.acceptance import Decision
from moisturemap.floorplan import Room
from moisturemap.mapping.areas import wet_area
from moisturemap.report.content import Column, Section, Table
from moisturemap.report.material import Material
from moisturemap.report.reference import refer
from moisturemap.report.wording import MISSING
from moisturemap.results.storeys import storeys_of

WORST_FIRST = ("exceeds", "against", "not proven", "meets")
WORDS = {
    "exceeds": "exceeds the limit",
    "against": "not judged, counts against",
    "not proven": "not proven",
    "meets": "tests meet the limit",
}
NONE_JUDGED = "no test judged"
VERDICTS = (
    WORDS["exceeds"],
    WORDS["against"],
    WORDS["not proven"],
    NONE_JUDGED,
    WORDS["meets"],
)
"""The worst first."""


def rooms(material: Material) -> Section | None:
    """List the rooms; None on a floor of one room."""
    plan = material.study.survey.plan
    if len(plan.rooms) < 2:
        return None
    floors = storeys_of(material.study)
    columns = (
        Column("Room", 2),
        *((Column("Storey", 1.2),) if floors else ()),
        Column("Area", 1, "right"),
        Column("Calibrated tests", 1.6),
        Column("Judged tests", 0.9, "right"),
        Column("Reads wet", 0.9, "right"),
        Column("Cannot tell", 0.9, "right"),
        Column("Zones", 0.8),
        Column("Proposed holes", 1.3),
    )
    listed = sorted(plan.rooms, key=lambda one: floors.index(one.storey) if one.storey else -1)
    wet = _outlined(material)
    shown = _shown(material, listed, wet)
    rows = [_row(material, room.name, [room], wet) for room in shown]
    others = [room for room in listed if room not in shown]
    if others:
        rows.append(_row(material, f"{len(others)} other rooms", others, wet))
    if not floors:
        rows = [(name, *rest) for name, _, *rest in rows]
    if material.options.summary:  # holes are the technical report's
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    note = (
        "Calibrated tests: the worst of the judged tests and depth profiles in the room; it holds "
        "for the tested places only. Not judged, counts against: a result above the limit, or too "
        "close to it, whose record cannot be judged, because it is not valid or too old; it "
        "clears nothing and is not waved away. Reads wet: share of the room that "
        "the map outlines above the wet level, the smallest patches counted; it proves nothing "
        "dry. Cannot tell: share that may be above it (hatched). "
        f"All rooms are on the map ({refer('map')})."
    )
    table = Table("Rooms", columns, tuple(rows), note=note, key="rooms")
    return Section("Rooms", (table,))


TOUCHES_M2 = 0.01
"""A zone that shares no more than this with a room only touches its wall (our choice) [m2]."""

ALL_LISTED, IN_SUMMARY, MOST_FAILING = 24, 6, 8
"""Rooms that are listed one by one, in a summary so that it keeps to two pages; of more, those that
stand out, in a summary the worst, with every room whose results do not meet the limit up to the
last number, and the rest in one row (our choice: half a page)."""


def _outlined(material: Material) -> BaseGeometry:
    """Return the floor that the map outlines above the wet level, zones and smaller patches."""
    study = material.study
    above = wet_area(study.moisture, study.survey.plan, study.wet.level.value)
    return shapely.union_all([above, *study.zones.geometry])


def _shown(material: Material, listed: list[Room], wet: BaseGeometry) -> list[Room]:
    """Return the rooms that have a row of their own."""
    if material.options.summary and len(listed) > IN_SUMMARY:
        failing = sum(_verdict(material, room) < VERDICTS.index(NONE_JUDGED) for room in listed)
        count = max(IN_SUMMARY - 2, min(failing, MOST_FAILING))
        worst = sorted(listed, key=lambda room: _rank(material, room, wet))[:count]
        return [room for room in listed if room in worst]
    return [
        room for room in listed if len(listed) <= ALL_LISTED or _stands_out(material, room, wet)
    ]


def _rank(material: Material, room: Room, wet: BaseGeometry) -> tuple[int, bool, float]:
    """Return what sorts rooms: results first, then what was not told, then how much reads wet."""
    told = not _not_told(material, [room])
    return (_verdict(material, room), told, -float(wet.intersection(room.polygon).area))


def _verdict(material: Material, room: Room) -> int:
    """Return the place of the worst verdict of a room among all."""
    return VERDICTS.index(_tested(material, [room])[0])


def _stands_out(material: Material, room: Room, wet: BaseGeometry) -> bool:
    """Whether a room was tested, is to be tested, reads wet, was not read or has no level."""
    return bool(
        _not_told(material, [room])
        or wet.intersection(room.polygon).area > 0.0
        or room.name in set(material.study.drill_plan["room"])
        or _has_test(material, room)
    )


def _has_test(material: Material, room: Room) -> bool:
    decision = material.supplement.decision
    return decision is not None and room.name in set(decision.tests["room"])


def _not_told(material: Material, rooms: list[Room]) -> str:
    """Say why the scan tells nothing of some of the rooms; "" where it does."""
    study, names = material.study, {room.name for room in rooms}
    if names & set(study.unread_rooms):
        return "not read"
    known = study.wet.level.value is not None and not names & set(study.unlevelled_rooms)
    return "" if known else "no level"


def _tested(material: Material, rooms: list[Room]) -> tuple[str, int]:
    """Return the worst verdict of the rooms, and how many tests were judged.

    Tests that meet in some of them say nothing of the others.
    """
    decision = material.supplement.decision
    if decision is None:
        return NONE_JUDGED, 0
    found = [judged_in(decision, room) for room in rooms]
    worst = min((words for words, _ in found), key=VERDICTS.index)
    return worst, sum(count for _, count in found)


def _row(material: Material, name: str, rooms: list[Room], wet: BaseGeometry) -> tuple[str, ...]:
    """Return the row of one room, or of several as a whole."""
    study, floor = material.study, shapely.union_all([room.polygon for room in rooms])
    whole = sum(room.polygon.area for room in rooms)
    zoned = study.zones.intersection(floor).area if len(study.zones) else study.zones.area
    here = study.zones[zoned > TOUCHES_M2]
    holes = study.drill_plan[study.drill_plan["room"].isin([room.name for room in rooms])]
    worst, count = _tested(material, rooms)
    untold = _not_told(material, rooms)
    nothing = untold if untold == "not read" else "none"
    storey = rooms[0].storey.name if rooms[0].storey else MISSING
    return (
        name,
        storey if len(rooms) == 1 else "",
        material.wording.area(whole),
        worst,
        f"{count}",
        untold or _share(wet.intersection(floor).area, whole),
        untold or _share(study.wet.unsure.intersection(floor).area, whole),
        ", ".join(str(one) for one in here["zone"]) or nothing,
        ", ".join(str(one) for one in holes["hole"]) or "none",
    )


def _share(area: float, whole: float) -> str:
    """Write a share of a floor; what is there is never called none."""
    share = area / whole
    return "under 1%" if area > TOUCHES_M2 and share < 0.005 else f"{share:.0%}"


def judged_in(decision: Decision, room: Room) -> tuple[str, int]:
    """Return the worst verdict of the tests of a room in words, and how many were judged.

    A result above the limit is told though its record is too poor to be judged, but not by the word
    of a verdict; a profile that meets speaks for a room only beside a judged test.
    """
    rows: list[dict[Hashable, Any]] = decision.tests.to_dict("records")
    rows = [row for row in rows if row["room"] == room.name]
    here = [str(row["verdict"]) for row in rows if row["verdict"] in WORST_FIRST]
    against = [_against(row) for row in rows if row["counts_against"]]
    deep = [one for one in decision.spots if one.room == room.name and one.governs]
    spots = ["against" if one.counts_against else one.verdict for one in deep]
    worst = next((one for one in WORST_FIRST if one in (*here, *against, *spots)), "")
    if worst == "meets" and not here:
        worst = ""
    return WORDS.get(worst, NONE_JUDGED), len(here)


def _against(row: dict[Hashable, Any]) -> str:
    """Return how a result that stands against a room is told: judged, of another depth, or not."""
    if row["verdict"] in WORST_FIRST:
        return str(row["verdict"])
    return "not proven" if row["counts_against"] == "conflict" else "against"
