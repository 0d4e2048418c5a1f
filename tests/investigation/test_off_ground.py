"""Suspended slabs take no water from the ground."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.investigation.off_ground import off_the_ground
from moisturemap.investigation.standing import ruled_out

SUSPENDED = Slab(thickness_mm=150.0, base="concrete slab", on="suspended")


@pytest.mark.parametrize(
    ("other", "out"),
    [
        (SUSPENDED, True),
        (replace(SUSPENDED, on="ground"), False),
        (replace(SUSPENDED, on=""), False),
        (replace(SUSPENDED, base="concrete slab on ground"), False),
    ],
)
def test_ground_is_excluded_where_every_room_is_suspended(other: Slab, out: bool) -> None:
    plan = FloorPlan(
        (Room("hall", box(0, 0, 6, 4), SUSPENDED), Room("shop", box(6, 0, 9, 4), other))
    )
    clue = off_the_ground(plan)
    assert (clue is not None and ruled_out((clue,)) == {"ground"}) is out
    assert clue is None or "suspended" in clue.sentence
