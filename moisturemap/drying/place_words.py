"""Where something lies in a room, in words.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import numpy as np
from shapely.geometry import Point

from moisturemap.floorplan import FloorPlan

CORNER_SHARE = 0.34
"""Within this share of the room's width and depth from two sides a place is in a corner."""


def place_in_room(plan: FloorPlan, place: Point) -> str:
    """Say where a place lies, e.g. ``"in the north-east of hall"``; north is up in the plan."""
    distances = [room.polygon.distance(place) for room in plan.rooms]
    room = plan.rooms[int(np.argmin(distances))]
    west, south, east, north = room.polygon.bounds
    across = (place.x - west) / max(east - west, 1e-9)
    up = (place.y - south) / max(north - south, 1e-9)
    side = "north" if up > 1 - CORNER_SHARE else "south" if up < CORNER_SHARE else ""
    flank = "east" if across > 1 - CORNER_SHARE else "west" if across < CORNER_SHARE else ""
    word = "-".join(part for part in (side, flank) if part) or "middle"
    return f"in the {word} of {room.name}, round ({place.x:.1f}, {place.y:.1f})"
