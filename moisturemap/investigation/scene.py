"""The place in question: which hole, which zone, and what lies beside it on the same slab."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.acceptance import JudgedTest
from moisturemap.drying import DryingProgress
from moisturemap.errors import SurveyError
from moisturemap.floorplan import Room
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.plan_clues import WetPlace, carries
from moisturemap.investigation.tested import TestedPlace, tested_places
from moisturemap.survey import Survey
from moisturemap.zones import MappedVisit

MOST_BESIDE = 3
"""Places beside the zone that enter (our choice: the nearest; more are no more evidence)."""


@dataclass(frozen=True)
class Findings:
    """What the rest of the package found on the floor.

    Attributes
    ----------
    survey : Survey
    mapped : MappedVisit or None
        The latest scan.
    drying : DryingProgress or None
        The scans compared.
    judged : tuple of JudgedTest
    """

    survey: Survey
    mapped: MappedVisit | None
    drying: DryingProgress | None
    judged: tuple[JudgedTest, ...]


@dataclass(frozen=True)
class Scene:
    """The place in question."""

    findings: Findings
    room: Room
    answers: Answers
    places: tuple[TestedPlace, ...]
    place: TestedPlace | None
    wet: WetPlace | None
    beside: tuple[TestedPlace, ...]

    @property
    def latest(self) -> date | None:
        """Latest day of the survey: of a visit, or of a reading at the place."""
        days = [v.started.date() for v in self.findings.survey.visits if v.started is not None]
        days += [] if self.place is None else [self.place.last_day]
        return max(days, default=None)

    @property
    def zone(self) -> BaseGeometry | None:
        """Outline of the wet zone in question, None where none is mapped."""
        return None if self.wet is None else self.wet.zone


def scene_of(findings: Findings, answers: Answers, wanted: str | None) -> Scene:
    """Choose the wettest tested place inside a wet zone, or the hole, zone or room wanted.

    Raises
    ------
    SurveyError
        If there is no such hole, zone or room, or days cannot be in the order stated.
    """
    places = tested_places(findings.judged)
    chosen, zone_name = _chosen(findings, places, wanted)
    wet = _wet_place(findings, chosen, zone_name, wanted)
    room = chosen.room if chosen is not None else _room(findings, wet, wanted)
    beside = _beside(findings, places, chosen, room)
    told = answers.with_room(room).with_plan(_pipe_drawn(findings, room))
    scene = Scene(findings, room, told, places, chosen, wet, beside)
    scene.answers.check_days(scene.latest)
    return replace(scene, answers=told.up_to(scene.latest))


def _pipe_drawn(findings: Findings, room: Room) -> bool:
    """Whether the plan shows a pipe or drain in a room."""
    lines = findings.survey.plan.lines_of("known-service")
    pipes = [one for one in lines if one.recognised and carries(one.name)]
    return any(one.geometry.intersects(room.polygon) for one in pipes)


def _chosen(
    findings: Findings, places: Sequence[TestedPlace], wanted: str | None
) -> tuple[TestedPlace | None, str | None]:
    """Choose the place in question, and the zone asked for by name."""
    if wanted is None:
        inside = [one for one in places if _zone_at(findings, one.x, one.y) is not None]
        return max(inside or places, key=TestedPlace.wettest, default=None), None
    for one in places:
        if wanted in (one.name, *(reading.hole for reading in one.readings)):
            return one, None
    names = {room.name for room in findings.survey.plan.rooms}
    zones = [] if findings.mapped is None else [str(z) for z in findings.mapped.wet.zones["zone"]]
    if wanted in zones:
        inside = [one for one in places if _zone_at(findings, one.x, one.y) == wanted]
        return max(inside, key=TestedPlace.wettest, default=None), wanted
    if wanted in names:
        inside = [one for one in places if one.room.name == wanted]
        return max(inside, key=TestedPlace.wettest, default=None), None
    holes = [one.name for one in places]
    raise SurveyError(
        "there is no such place to investigate",
        value=wanted,
        allowed=", ".join((*holes, *(f"zone {name}" for name in zones), *sorted(names))),
    )


def _zone_at(findings: Findings, x: float, y: float) -> str | None:
    if findings.mapped is None:
        return None
    for row in findings.mapped.wet.zones.itertuples():
        if row.geometry.buffer(0.15).covers(Point(x, y)):
            return str(row.zone)
    return None


def _wet_place(
    findings: Findings, chosen: TestedPlace | None, name: str | None, wanted: str | None
) -> WetPlace | None:
    mapped = findings.mapped
    if mapped is None:
        return None
    zones = mapped.wet.zones
    if name is None and chosen is not None:
        name = _zone_at(findings, chosen.x, chosen.y)
        zones = zones[zones["zone"] == name]
    elif name is not None:
        zones = zones[zones["zone"] == name]
    elif wanted is not None:
        zones = zones[zones["room"] == wanted]
    if zones.empty:
        return None
    row = zones.iloc[0]
    near = mapped.wet.possible.geometry
    touching = near[near.intersects(row.geometry)]
    possible = touching.union_all() if len(touching) else None
    room = findings.survey.plan.room(str(row["room"]))
    return WetPlace(
        findings.survey.plan,
        room,
        row.geometry,
        None if possible is None else _part_at(possible, row.geometry),
        (float(row["peak_x"]), float(row["peak_y"])),
        str(row["zone"]),
        mapped.found.table,
    )


def _part_at(possible: BaseGeometry, zone: BaseGeometry) -> BaseGeometry:
    """Return the connected parts of the possible set that meet the zone."""
    parts = [part for part in getattr(possible, "geoms", [possible]) if part.intersects(zone)]
    whole = parts[0]
    for part in parts[1:]:
        whole = whole.union(part)
    return whole


def _room(findings: Findings, wet: WetPlace | None, wanted: str | None) -> Room:
    if wet is not None:
        return wet.room
    rooms = findings.survey.plan.rooms
    return next((room for room in rooms if room.name == wanted), rooms[0])


def _beside(
    findings: Findings,
    places: Sequence[TestedPlace],
    chosen: TestedPlace | None,
    room: Room,
) -> tuple[TestedPlace, ...]:
    """Places on the same slab that lie outside every wet zone, nearest first."""
    if findings.mapped is None or findings.mapped.wet.zones.empty or chosen is None:
        return ()
    same = (room.slab.base, room.slab.thickness_mm, room.slab.pour or room.slab.placed)
    found = [
        one
        for one in places
        if one is not chosen
        and _zone_at(findings, one.x, one.y) is None
        and (
            one.room.slab.base,
            one.room.slab.thickness_mm,
            one.room.slab.pour or one.room.slab.placed,
        )
        == same
    ]
    found.sort(key=lambda one: float(np.hypot(one.x - chosen.x, one.y - chosen.y)))
    return tuple(found[:MOST_BESIDE])
