"""Domains: parts of the floor whose moisture is one continuous field."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import unary_union
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan.joint import JOINT_KINDS, cut_by_joints, polygons_of
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room, Slab

THIN_WALL_M = 0.35
"""Rooms on one slab that stand at most this far apart are one domain [m]."""

MOST_NAMED = 4
"""Rooms of a domain named one by one; of more the first and the last stand for all (our choice)."""

OVERLAP_M = 1e-6
"""Walls reach into their rooms by this much [m], so that the union is one piece."""


@dataclass(frozen=True)
class Domain:
    """A part of the floor mapped as one field.

    Rooms on one slab form one domain although thin walls stand between them; a day joint, a
    different material, thickness or pour separates domains.

    Attributes
    ----------
    key : str
        ``"D1"``, ``"D2"``, ... in plan order.
    geometry : shapely geometry
        The rooms of the domain and the thin walls between them [m].
    rooms : tuple of str
        Names of the rooms it lies in.
    part : int
        Counts from 1 where a joint parts the same rooms into several domains; else 0.
    """

    key: str
    geometry: BaseGeometry
    rooms: tuple[str, ...]
    part: int = 0

    @property
    def label(self) -> str:
        """Name for the reader: its rooms, first and last of many, and which part of them."""
        rooms = " + ".join(self.rooms) or self.key
        if len(self.rooms) > MOST_NAMED:
            rooms = f"{self.rooms[0]} to {self.rooms[-1]} ({len(self.rooms)} rooms)"
        return f"{rooms} (part {self.part})" if self.part else rooms


def domains(plan: FloorPlan) -> tuple[Domain, ...]:
    """Part the floor into domains, in the order of the plan's rooms.

    Rooms of equal base, thickness, drying faces and pour that touch or stand at most
    ``THIN_WALL_M`` apart are one domain, cut by day joints and movement joints. Where no pour is
    named, the day of placing tells pours apart.

    Parameters
    ----------
    plan : FloorPlan
    """
    joints = plan.lines_of(*JOINT_KINDS)
    by_slab: dict[tuple[object, ...], list[Room]] = {}
    for room in plan.rooms:
        by_slab.setdefault(_pour_of(room.slab), []).append(room)
    pieces: list[tuple[tuple[str, ...], Polygon]] = []
    for rooms in by_slab.values():
        for part in polygons_of(_with_thin_walls(rooms, plan)):
            for piece in cut_by_joints(part, joints):
                names = _rooms_in(piece, rooms)
                if names:
                    pieces.append((names, piece))
    order = {room.name: position for position, room in enumerate(plan.rooms)}
    pieces.sort(key=lambda item: (order[item[0][0]], item[1].bounds[0], item[1].bounds[1]))
    return tuple(
        Domain(f"D{number}", piece, names, _part(pieces, number - 1))
        for number, (names, piece) in enumerate(pieces, 1)
    )


def _part(pieces: list[tuple[tuple[str, ...], Polygon]], index: int) -> int:
    """Count a piece among those of the same rooms; 0 when it is the only one."""
    names = [rooms for rooms, _ in pieces]
    alone = names.count(names[index]) == 1
    return 0 if alone else names[: index + 1].count(names[index])


def _pour_of(slab: Slab) -> tuple[object, ...]:
    pour = slab.pour or slab.placed
    return slab.base, slab.thickness_mm, slab.drying_faces, pour


def _with_thin_walls(rooms: list[Room], plan: FloorPlan) -> BaseGeometry:
    parts: list[BaseGeometry] = [room.polygon for room in rooms]
    for first, second in combinations(rooms, 2):
        if first.polygon.distance(second.polygon) <= THIN_WALL_M:
            parts.append(_wall_between(first.polygon, second.polygon))
    floor = unary_union(parts).simplify(2 * OVERLAP_M)
    mine = {room.name for room in rooms}
    others = [room.polygon for room in plan.rooms if room.name not in mine]
    return floor.difference(unary_union(others)) if others else floor


def _wall_between(first: Polygon, second: Polygon) -> BaseGeometry:
    """Return the strip between two rooms, without filling narrow recesses of either."""
    both = _closed(unary_union([first, second]))
    return both.difference(unary_union([_closed(first), _closed(second)])).buffer(
        OVERLAP_M, join_style="mitre"
    )


def _closed(geometry: BaseGeometry) -> BaseGeometry:
    reach = THIN_WALL_M / 2 + 1e-4
    return geometry.buffer(reach, join_style="mitre").buffer(-reach, join_style="mitre")


def _rooms_in(piece: Polygon, rooms: list[Room]) -> tuple[str, ...]:
    # On a fixed grid: the floating overlay of GEOS loses pieces whose edges run along the room's.
    # It may divide by zero on the way to the right area of a ring that touches itself.
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = [
            (room.name, shapely.intersection(room.polygon, piece, grid_size=OVERLAP_M).area)
            for room in rooms
        ]
    enough = min(1e-3, 0.01 * piece.area)
    return tuple(name for name, share in shares if share > enough)
