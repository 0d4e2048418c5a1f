"""The exterior walls near which a verdict asks for a test, for drill plan and verdict alike."""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room
from moisturemap.floorplan.wall import Wall, exterior_walls, walls

LEAST_WALL_M = 1.0
"""Shorter exterior walls need no test of their own [m]; project choice."""

ON_WALL_M = 0.35
"""A wall whose middle is this near the outer edge is exterior [m]."""


def walls_asked(plan: FloorPlan, rooms: Sequence[Room]) -> tuple[tuple[Room, Wall], ...]:
    """Return the exterior walls of rooms on or below grade; a slab of unknown position counts.

    Parameters
    ----------
    plan : FloorPlan
    rooms : sequence of Room
        Rooms of the plan; those of suspended slabs have none.
    """
    edges, _ = exterior_walls(plan)
    return tuple(
        (room, wall)
        for room in rooms
        if room.slab.on != "suspended"
        for wall in walls(room)
        if wall.length >= LEAST_WALL_M
        and wall.line.interpolate(0.5, normalized=True).distance(edges) <= ON_WALL_M
    )
