"""Which storey a room is on, by where it is drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry import Point

from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.storey import Storey

APART_M = 1.0
"""Rooms farther apart than this may be of two storeys drawn beside each other [m]; our choice:
wider than a wall and narrower than what is left between two drawings."""

AT_ORIGIN_M = 1.0
"""The point all storeys share is a corner or shaft of the building: it lies on or this near to what
is drawn of its storey [m] (our choice)."""


def storeys_by_place(
    plan: FloorPlan, storeys: Sequence[Storey], stated: Mapping[str, str]
) -> dict[str, str]:
    """Return the storey of each room by where it is drawn, where that is beyond doubt.

    Rooms that stand together are of one storey: that of the one origin among them, and of those of
    their rooms whose storey is stated. Where these differ nothing is said.

    Parameters
    ----------
    plan : FloorPlan
    storeys : sequence of Storey
        With the place of the point they share [m].
    stated : mapping of str to str
        Storey by room, of rooms that cannot be meant otherwise.

    Returns
    -------
    dict of str to str
        Storey by room; rooms in doubt are left out.
    """
    grown = shapely.union_all([room.polygon.buffer(APART_M / 2) for room in plan.rooms])
    blocks = list(shapely.get_parts(grown))
    named: list[set[str]] = [set() for _ in blocks]
    for storey in storeys:
        reach = AT_ORIGIN_M - APART_M / 2
        near = [k for k, block in enumerate(blocks) if block.distance(Point(storey.origin)) < reach]
        if len(near) == 1:
            named[near[0]].add(storey.name)
    own = {
        room.name: next(k for k, block in enumerate(blocks) if block.intersects(room.polygon))
        for room in plan.rooms
    }
    for room, name in stated.items():
        named[own[room]].add(name)
    return {room: next(iter(named[k])) for room, k in own.items() if len(named[k]) == 1}
