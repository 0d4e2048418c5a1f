"""Where air can go: rooms, the open doors between them, and the walls that stand in its way.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Collection

from shapely import unary_union
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan

WALL_M = 0.005
"""Rooms are drawn back by this much, so that rooms that touch do not leak into each other [m]."""

DOOR_REACH_M = 0.36
"""A door opens through a wall up to this thick on either side of its line [m]."""

SHUT_WORDS = ("closed", "shut", "locked")


def is_shut(name: str, closed: Collection[str] = ()) -> bool:
    """Tell whether a door is taken as closed: named so, or in a list of closed doors."""
    listed = _plain(name) in {_plain(one) for one in closed}
    return listed or any(word in name.casefold().split() for word in SHUT_WORDS)


def refuse_unknown_doors(plan: FloorPlan, closed: Collection[str]) -> None:
    """Refuse a door said to stand closed that the plan does not show: it would be taken as open.

    Parameters
    ----------
    plan : FloorPlan
    closed : collection of str
        Names; upper and lower case are the same.

    Raises
    ------
    OptionError
        Naming the doors there are.
    """
    names = list(dict.fromkeys(door.name for door in plan.lines_of("door") if door.name.strip()))
    known = {_plain(name) for name in names}
    for one in closed:
        if _plain(one) not in known:
            message = "the plan has no door of this name to stand closed"
            allowed = ", ".join(names) if names else _no_names(plan)
            raise OptionError(message, value=one, allowed=allowed)


def _no_names(plan: FloorPlan) -> str:
    if plan.lines_of("door"):
        return "a door with a name; those of the plan have none yet"
    return "a door of the plan, drawn as a line of kind door with a name; it shows none"


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def air_space(
    plan: FloorPlan, closed: Collection[str] = ()
) -> tuple[BaseGeometry, tuple[str, ...]]:
    """Return where air can go [m], and notes on doors.

    Rooms are apart unless a door line stands between them. A door is open unless its name says
    closed, or it is listed in ``closed``.

    Raises
    ------
    OptionError
        When ``closed`` names a door the plan does not show.
    """
    refuse_unknown_doors(plan, closed)
    rooms = [room.polygon.buffer(-WALL_M, join_style="mitre") for room in plan.rooms]
    doors = plan.lines_of("door")
    open_doors = [door for door in doors if not is_shut(door.name, closed)]
    passages = [
        passage
        for door in open_doors
        for passage in _passages(door.geometry)
        if sum(passage.intersects(room) for room in rooms) > 1
    ]
    space = unary_union([*rooms, *passages])
    walls = [
        line.geometry.buffer(WALL_M, cap_style="square") for line in plan.lines_of("interior-wall")
    ]
    if walls:
        space = space.difference(unary_union(walls).difference(unary_union(passages)))
    return space, _notes(plan, len(doors), len(doors) - len(open_doors))


def _passages(geometry: BaseGeometry) -> list[BaseGeometry]:
    parts = getattr(geometry, "geoms", [geometry])
    return [
        part.buffer(DOOR_REACH_M, cap_style="flat")
        for part in parts
        if isinstance(part, LineString) and part.length > 0
    ] + [part for part in parts if isinstance(part, Polygon)]


def _notes(plan: FloorPlan, doors: int, shut: int) -> tuple[str, ...]:
    if len(plan.rooms) < 2:
        return ()
    if not doors:
        return (
            "The plan shows no doors: a machine is taken to serve the room it stands in and no "
            "other. Draw the open doors as lines of kind door to join rooms.",
        )
    if shut:
        if doors == 1:
            return ("The one door is taken as closed: no air passes there.",)
        return (f"{shut} of {doors} doors are taken as closed: no air passes there.",)
    if doors == 1:
        return ("The one door is taken as standing open.",)
    return (f"All {doors} doors are taken as standing open.",)
