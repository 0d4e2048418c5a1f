"""Where a machine stands in its room, in words.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math

from shapely.geometry import Point

from moisturemap.floorplan import FloorPlan, Room, Wall, walls
from moisturemap.quantities import tape

NEAR_WALL_M = 1.5
"""Up to this far from a wall a machine stands beside it [m] (our choice)."""

BEHIND_WALL_M = 0.6
"""A room this near to a wall lies behind it [m]."""

ALONG_DEG = 20.0
"""Within this angle of a wall an air mover blows along it [degrees] (our choice)."""


def where_words(plan: FloorPlan, x: float, y: float) -> str:
    """Say a place by its two nearest walls; north is up in the plan.

    For example ``"the north-west corner of hall, 1.20 m from the north wall and 0.80 m from the
    west wall"``.
    """
    room = plan.room_at(x, y)
    if room is None:
        return f"outside the rooms at ({tape(x)}, {tape(y)})"
    sides = _sides(plan, x, y)
    if len(sides) < 2:
        return f"the middle of {room.name}"
    (first, near), (second, other) = sides[:2]
    off, aside = tape(near), tape(other)
    taped = f"{off} m from the {first} and {aside} m from the {second}"
    if other <= NEAR_WALL_M and _corner(first, second):
        return f"the {_corner(first, second)} corner of {room.name}, {taped}"
    if near <= NEAR_WALL_M:
        return f"beside the {first} of {room.name}, {taped}"
    middle = Point(x, y).distance(room.polygon.centroid) < 0.25 * room.polygon.area**0.5
    return f"the middle of {room.name}, {taped}" if middle else f"{room.name}, {taped}"


def along_wall(plan: FloorPlan, x: float, y: float, heading_deg: float) -> str:
    """Name the wall an air mover blows along, "" when it blows free of walls."""
    room = plan.room_at(x, y)
    if room is None:
        return ""
    for wall in walls(room):
        distance = wall.square_to(x, y)
        if distance is None or abs(distance) > 0.8 or "face" in wall.name:
            continue
        (x0, y0), (x1, y1) = wall.line.coords[0], wall.line.coords[-1]
        axis = complex(x1 - x0, y1 - y0)
        turn = complex(_cos(heading_deg), _sin(heading_deg))
        cross = abs((axis.conjugate() * turn).imag) / abs(axis)
        if cross <= _sin(ALONG_DEG):
            return wall.name
    return ""


def _sides(plan: FloorPlan, x: float, y: float) -> list[tuple[str, float]]:
    """Walls square to a place that face two different ways, the nearest first."""
    room = plan.room_at(x, y)
    if room is None:
        return []
    found = [
        (_told(plan, room, wall), abs(distance))
        for wall in walls(room)
        if "face" not in wall.name and (distance := wall.square_to(x, y)) is not None
    ]
    found.sort(key=lambda pair: pair[1])
    chosen: list[tuple[str, float]] = []
    for name, distance in found:
        if all(_axis(name) != _axis(other) for other, _ in chosen):
            chosen.append((name, distance))
    return chosen


def _told(plan: FloorPlan, room: Room, wall: Wall) -> str:
    """Name a wall; one of several that face one way by the room behind it, if there is one."""
    if not wall.name[-1].isdigit():
        return wall.name
    middle = wall.line.interpolate(0.5, normalized=True)
    behind = [
        one.name
        for one in plan.rooms
        if one.name != room.name and one.polygon.distance(middle) <= BEHIND_WALL_M
    ]
    return f"{wall.name.rstrip(' 0123456789')} towards {behind[0]}" if behind else wall.name


def _axis(name: str) -> str:
    """Tell walls that stand across each other apart; slanting ones stand for themselves."""
    way = name.split()[0]
    if way in ("north", "south"):
        return "up"
    return "across" if way in ("east", "west") else way


def _corner(first: str, second: str) -> str:
    ways = {first.split()[0], second.split()[0]}
    up, across = ways & {"north", "south"}, ways & {"east", "west"}
    return f"{up.pop()}-{across.pop()}" if up and across else ""


def _sin(degrees: float) -> float:
    return math.sin(math.radians(degrees))


def _cos(degrees: float) -> float:
    return _sin(degrees + 90.0)
