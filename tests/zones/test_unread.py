"""Parts of rooms that nobody read."""

from __future__ import annotations

import numpy as np
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.zones import UnreadPart, unread_parts

PLAN = FloorPlan((Room("hall", box(0, 0, 12, 6)), Room("store", box(12, 0, 14, 6))))


def _grid(east: float) -> np.ndarray:
    x, y = np.meshgrid(np.arange(0.25, east, 0.5), np.arange(0.25, 6, 0.5))
    return np.column_stack([x.ravel(), y.ravel()])


def test_a_half_that_was_not_read_is_named() -> None:
    """Up to one and a half spacings from the last reading."""
    (found,) = unread_parts(PLAN, _grid(7.0))
    assert found.room.name == "hall"
    assert abs(found.part.area - 6.0 * (12.0 - 6.75 - 0.75)) < 1.0
    assert found.words.startswith("nobody read 2")


def test_a_room_read_all_over_has_none() -> None:
    """Nor has one that nobody entered: that is said of the room."""
    assert unread_parts(PLAN, _grid(12.0)) == ()
    assert unread_parts(PLAN, _grid(12.0)[:1]) == ()


def test_a_small_part_is_said_with_a_decimal():
    """1.3 m2 is no 1 m2."""
    assert UnreadPart(Room("hall", box(0, 0, 6, 5)), box(0, 0, 1.3, 1.0)).words == (
        "nobody read 1.3 m2 of the 30 m2 of hall"
    )
