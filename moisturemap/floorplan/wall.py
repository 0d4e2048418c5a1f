"""Named walls and corners, so that a place can be set out with a tape.

North is up in the plan (+y). A wall is named after the side of the room it stands on, a corner
after the two walls that meet there; a corner that projects into the room says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from shapely import unary_union
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import LinearRing, orient

from moisturemap.floorplan.joint import polygons_of
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room

Array = NDArray[np.float64]

SIDES = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")

KEPT = 128
"""Rooms whose walls and corners are kept: every hole of a room asks for them again."""

STRAIGHT_M = 0.01
"""A wall that leaves its straight line by less than this is one wall [m]."""

SHORTEST_M = 0.20
"""Shorter pieces (reveals, facets of a curve) are no wall to measure from [m]."""

COLUMN_M = 1.5
"""A hole that fits into a square of this side is called a column, else an opening [m]."""

FACET_M = 1.0
"""Longest facet of a drawn curve [m]; longer pieces are walls however gently they turn."""

_BEND_DEG = 15.0
_FACET_TURN_DEG = 40.0


@dataclass(frozen=True, slots=True)
class Wall:
    """A straight piece of a room's edge.

    Attributes
    ----------
    name : str
        E.g. ``"north wall"``, ``"east wall 2"``, ``"column 3 west face"``; unique in its room.
    line : LineString
        From end to end with the floor on its left [m].
    """

    name: str
    line: LineString

    @property
    def length(self) -> float:
        """Length [m]."""
        return float(self.line.length)

    def square_to(self, x: float, y: float) -> float | None:
        """Distance a tape held square to the wall shows [m]; None beside the wall's ends."""
        (x0, y0), (x1, y1) = self.line.coords[0], self.line.coords[-1]
        run, rise = (x1 - x0) / self.length, (y1 - y0) / self.length
        along = (x - x0) * run + (y - y0) * rise
        if not -1e-9 <= along <= self.length + 1e-9:
            return None
        return abs(float((y - y0) * run - (x - x0) * rise))


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a room.

    Attributes
    ----------
    name : str
        E.g. ``"north-west corner"``, ``"projecting south-east corner"``; unique in its room.
    point : Point
        Place [m].
    convex : bool
        True when the floor takes less than half a turn there, False when the corner projects
        into the room.
    """

    name: str
    point: Point
    convex: bool


@dataclass(frozen=True, slots=True)
class _Side:
    """A straight piece before it is named; ``outward`` is a unit vector off the floor.

    A facet is one of the many short pieces a curve is drawn with.
    """

    start: Array
    end: Array
    outward: Array
    facet: bool = False

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.end - self.start)))


@lru_cache(maxsize=KEPT)
def walls(room: Room) -> tuple[Wall, ...]:
    """Return the straight walls of a room, then the faces of its columns.

    Where several walls face one way, the outermost has the bare name and the others are numbered
    inwards. Round columns have no face.

    Parameters
    ----------
    room : Room
    """
    found: list[Wall] = []
    for owner, sides in _rings(room.polygon):
        straight = [side for side in sides if side.length >= SHORTEST_M and not side.facet]
        kept = straight or ([] if owner else sides)
        facing = [-side.outward if owner else side.outward for side in kept]
        names = [f"{_compass(way)} {'face' if owner else 'wall'}" for way in facing]
        middles = [(side.start + side.end) / 2 for side in kept]
        rank = [
            (float(m @ way), side.length)
            for m, way, side in zip(middles, facing, kept, strict=True)
        ]
        for name, side in zip(_numbered(names, rank), kept, strict=True):
            found.append(Wall(f"{owner} {name}".strip(), LineString([side.start, side.end])))
    return tuple(found)


@lru_cache(maxsize=KEPT)
def corners(room: Room) -> tuple[Corner, ...]:
    """Return the corners of a room, then those of its columns.

    Parameters
    ----------
    room : Room
    """
    found: list[Corner] = []
    for owner, sides in _rings(room.polygon):
        names, rank, places = [], [], []
        for before, after in zip([*sides[-1:], *sides[:-1]], sides, strict=True):
            turn = _turn_deg(before, after)
            if abs(turn) < _BEND_DEG or before.facet or after.facet:
                continue
            way = before.outward + after.outward
            way = -way if owner else way
            projecting = "projecting " if turn < 0 and not owner else ""
            names.append(f"{projecting}{_compass(way)} corner")
            rank.append((float(after.start @ way), 0.0))
            places.append((after.start, turn > 0))
        for name, (place, convex) in zip(_numbered(names, rank), places, strict=True):
            found.append(Corner(f"{owner} {name}".strip(), Point(place), convex))
    return tuple(found)


def nearest_wall(plan: FloorPlan, room: Room | str, x: float, y: float) -> tuple[Wall, float]:
    """Return the wall of a room nearest to a place [m] and its distance [m].

    Parameters
    ----------
    plan : FloorPlan
    room : Room or str
    x : float
        [m]
    y : float
        [m]

    Raises
    ------
    KeyError
        When the plan has no room of that name.
    """
    named = plan.room(room) if isinstance(room, str) else room
    place = Point(x, y)
    wall = min(walls(named), key=lambda each: each.line.distance(place))
    return wall, float(wall.line.distance(place))


def exterior_walls(plan: FloorPlan) -> tuple[BaseGeometry, str]:
    """Return the exterior walls as lines [m], and a note when they had to be assumed.

    Without lines of kind ``exterior-wall`` the outer edge of the whole floor is taken.

    Parameters
    ----------
    plan : FloorPlan
    """
    drawn = plan.lines_of("exterior-wall")
    if drawn:
        lines = [wall.geometry for wall in drawn]
        flat = [g.boundary if g.geom_type.endswith("Polygon") else g for g in lines]
        return unary_union(flat), ""
    reach = 0.25
    whole = unary_union([room.polygon.buffer(reach, join_style="mitre") for room in plan.rooms])
    whole = whole.buffer(-reach, join_style="mitre")
    edges = unary_union([LineString(part.exterior.coords) for part in polygons_of(whole)])
    return edges, (
        "No exterior walls are drawn in the plan: the outer edge of the floor is taken as "
        "exterior wall."
    )


def _rings(polygon: Polygon) -> list[tuple[str, list[_Side]]]:
    """Sides of each ring with its owner: "" for the room itself, else a column or opening."""
    floor = orient(polygon)
    holes = sorted(floor.interiors, key=lambda ring: (ring.centroid.x, ring.centroid.y))
    kinds = [_kind_of(ring) for ring in holes]
    rank = [(-float(position), 0.0) for position in range(len(holes))]
    owners = _numbered(kinds, rank, always=True)
    return [
        (owner, _sides(ring))
        for owner, ring in zip(["", *owners], [floor.exterior, *holes], strict=True)
    ]


def kinds_of_gaps(plan: FloorPlan) -> frozenset[str]:
    """Return what the gaps within rooms are called, ``"column"`` or ``"opening"``.

    A room that another one stands in is no gap.
    """
    rooms = unary_union([room.polygon for room in plan.rooms])
    return frozenset(
        _kind_of(ring)
        for room in plan.rooms
        for ring in room.polygon.interiors
        if not rooms.covers(Polygon(ring).representative_point())
    )


def _kind_of(ring: LinearRing) -> str:
    west, south, east, north = ring.bounds
    return "column" if max(east - west, north - south) <= COLUMN_M else "opening"


def _sides(ring: LinearRing) -> list[_Side]:
    places = np.asarray(ring.coords, dtype=float)[:-1, :2]
    fine = _between(_straightened(places, STRAIGHT_M / 10))
    curved = [
        _is_facet(*three)
        for three in zip([fine[-1], *fine[:-1]], fine, [*fine[1:], fine[0]], strict=True)
    ]
    if not any(curved):
        return _between(_straightened(places, STRAIGHT_M))
    return [replace(side, facet=facet) for side, facet in zip(fine, curved, strict=True)]


def _between(places: Array) -> list[_Side]:
    sides = []
    for start, end in zip(places, np.roll(places, -1, axis=0), strict=True):
        run = end - start
        length = float(np.hypot(*run))
        if length > 0:
            sides.append(_Side(start, end, np.array([run[1], -run[0]]) / length))
    return sides


def _is_facet(before: _Side, side: _Side, after: _Side) -> bool:
    turns = _turn_deg(before, side), _turn_deg(side, after)
    gentle = all(abs(turn) < _FACET_TURN_DEG for turn in turns)
    return gentle and turns[0] * turns[1] > 0 and side.length <= FACET_M


def _turn_deg(before: _Side, after: _Side) -> float:
    """Turn from one side to the next [degrees], positive to the left."""
    first, second = before.outward, after.outward
    cross = float(first[0] * second[1] - first[1] * second[0])
    return math.degrees(math.atan2(cross, float(first @ second)))


def _straightened(places: Array, tolerance: float) -> Array:
    """Corners of a ring without those that lie on the straight line between their neighbours."""
    kept = list(range(len(places)))
    position = 0
    while len(kept) > 3 and position < len(kept):
        before, here, after = (places[kept[(position + step) % len(kept)]] for step in (-1, 0, 1))
        if LineString([before, after]).distance(Point(here)) < tolerance:
            kept.pop(position)
            position = max(position - 1, 0)
        else:
            position += 1
    return places[kept]


def _compass(way: Array) -> str:
    return SIDES[round(math.atan2(way[1], way[0]) / (math.pi / 4)) % 8]


def _numbered(
    names: list[str], rank: list[tuple[float, float]], *, always: bool = False
) -> list[str]:
    """Make names unique; the highest rank keeps the bare name unless all are numbered."""
    result = list(names)
    for name in set(names):
        same = [index for index, other in enumerate(names) if other == name]
        same.sort(key=lambda index: rank[index], reverse=True)
        for number, index in enumerate(same, 1):
            if number > 1 or (always and len(same) > 1):
                result[index] = f"{name} {number}"
    return result
