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
from moisturemap.report.sections.judged import COUNTS_AGAINST
from moisturemap.report.wording import MISSING
from moisturemap.results.storeys import storeys_of

WORST_FIRST = ("exceeds", "not proven", "meets")
WORDS = {
    "exceeds": "exceeds the limit",
    "not proven": "not proven",
    "meets": "tests meet the limit",
}
NONE_JUDGED = "no test judged"


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
    shown = [
        room for room in listed if len(listed) <= ALL_LISTED or _stands_out(material, room, wet)
    ]
    rows = [_row(material, room, wet, bool(floors)) for room in shown]
    if len(shown) < len(listed):
        others = [room for room in listed if room not in shown]
        rows.append(_rest(material, others, len(columns)))
    note = (
        "Calibrated tests: the worst of the judged tests and depth profiles in the room; it holds "
        "for the tested places only. A result above the limit, or too close to it, counts "
        "against a room though its record cannot be judged. Reads wet: share of the room that "
        "the map outlines above the wet level, the smallest patches counted; it proves nothing "
        "dry. Cannot tell: share that may be above it (hatched). "
        f"All rooms are on the map ({refer('map')})."
    )
    table = Table("Rooms", columns, tuple(rows), note=note, key="rooms")
    return Section("Rooms", (table,))


TOUCHES_M2 = 0.01
"""A zone that shares no more than this with a room only touches its wall (our choice) [m2]."""

ALL_LISTED = 24
"""Rooms that are listed one by one; of more, those that stand out, and the rest in one row (our
choice: half a page)."""


def _outlined(material: Material) -> BaseGeometry:
    """Return the floor that the map outlines above the wet level, zones and smaller patches."""
    study = material.study
    above = wet_area(study.moisture, study.survey.plan, study.wet.level.value)
    return shapely.union_all([above, *study.zones.geometry])


def _stands_out(material: Material, room: Room, wet: BaseGeometry) -> bool:
    """Whether a room was tested, is to be tested, reads wet or was not read."""
    study = material.study
    return bool(
        room.name in study.unread_rooms
        or wet.intersection(room.polygon).area > 0.0
        or room.name in set(study.drill_plan["room"])
        or _has_test(material, room)
    )


def _has_test(material: Material, room: Room) -> bool:
    decision = material.supplement.decision
    return decision is not None and room.name in set(decision.tests["room"])


def _rest(material: Material, others: list[Room], width: int) -> tuple[str, ...]:
    """Return the row of the rooms that stand out by nothing."""
    name = f"{len(others)} other rooms"
    area = material.wording.area(sum(room.polygon.area for room in others))
    study = material.study
    unknown = study.wet.level.value is None
    maybe = sum(study.wet.unsure.intersection(room.polygon).area for room in others)
    whole = sum(room.polygon.area for room in others)
    shares = ("no level", "no level") if unknown else ("0%", f"{maybe / whole:.0%}")
    told = ("", area, NONE_JUDGED, "0", *shares, "none", "none")
    return (name, *(told if width == len(told) + 1 else told[1:]))


def _row(material: Material, room: Room, wet: BaseGeometry, with_storey: bool) -> tuple[str, ...]:
    study, say = material.study, material.wording
    zoned = study.zones.intersection(room.polygon).area if len(study.zones) else study.zones.area
    here = study.zones[zoned > TOUCHES_M2]
    holes = study.drill_plan[study.drill_plan["room"] == room.name]
    decision = material.supplement.decision
    worst, count = (NONE_JUDGED, 0) if decision is None else judged_in(decision, room)
    unknown = study.wet.level.value is None or room.name in study.unlevelled_rooms
    share = "no level" if unknown else _share(wet.intersection(room.polygon).area, room)
    maybe = study.wet.unsure.intersection(room.polygon).area
    unsure = "no level" if unknown else _share(maybe, room)
    zones = ", ".join(str(one) for one in here["zone"]) or "none"
    if room.name in study.unread_rooms:
        share, unsure, zones = "not read", "not read", zones if len(here) else "not read"
    return (
        room.name,
        *((room.storey.name if room.storey else MISSING,) if with_storey else ()),
        say.area(room.polygon.area),
        worst,
        f"{count}",
        share,
        unsure,
        zones,
        ", ".join(str(one) for one in holes["hole"]) or "none",
    )


def _share(area: float, room: Room) -> str:
    """Write a share of a room; what is there is never called none."""
    share = area / room.polygon.area
    return "under 1%" if area > TOUCHES_M2 and share < 0.005 else f"{share:.0%}"


def judged_in(decision: Decision, room: Room) -> tuple[str, int]:
    """Return the worst verdict of the tests of a room in words, and how many were judged.

    A result above the limit is told though its record is too poor to be judged; a profile that
    meets speaks for a room only beside a judged test.
    """
    rows: list[dict[Hashable, Any]] = decision.tests.to_dict("records")
    rows = [row for row in rows if row["room"] == room.name]
    here = [str(row["verdict"]) for row in rows if row["verdict"] in WORST_FIRST]
    spots = [one.verdict for one in decision.spots if one.room == room.name and one.governs]
    worst = next((one for one in WORST_FIRST if one in (*here, *spots)), "")
    if worst == "meets" and not here:
        worst = ""
    against = worst != "exceeds" and any(row["counts_against"] for row in rows)
    return COUNTS_AGAINST if against else WORDS.get(worst, NONE_JUDGED), len(here)
