"""Floors with no ground below: none of their water rises from it."""

from __future__ import annotations

from moisturemap.acceptance.ground_doubt import on_the_ground_in_words
from moisturemap.floorplan import FloorPlan
from moisturemap.investigation.clue import Clue


def off_the_ground(plan: FloorPlan) -> Clue | None:
    """Exclude water from the ground where every room is recorded as a suspended slab.

    One room on the ground, or one whose base says so, leaves it open: water spreads in a floor.

    Parameters
    ----------
    plan : FloorPlan
    """
    slabs = [room.slab for room in plan.rooms]
    if not slabs or not all(
        slab.on == "suspended" and not on_the_ground_in_words(slab.base) for slab in slabs
    ):
        return None
    return Clue(
        "off-the-ground",
        "plan",
        "not-seen",
        "Every room is recorded as a suspended slab: no ground lies below to give off water.",
        source="necessary consequence of water from below",
        excludes=("ground",),
    )
