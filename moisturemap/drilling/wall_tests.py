"""Exterior walls near which a verdict will ask for a test that the holes of a plan do not give."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point

from moisturemap.drilling.clearance import SETTING_OUT_M
from moisturemap.drilling.depth import is_timber
from moisturemap.drilling.ground import Ground
from moisturemap.drilling.site import NEAR_WALL_M
from moisturemap.floorplan import Room, Wall, walls_asked

Array = NDArray[np.float64]
Asked = tuple[Room, Wall]

METHOD = "in-situ-rh"
"""Method whose tests stand near walls (ASTM F2170)."""

MOST_NAMED = 6


def wall_tests(ground: Ground, holes: Array, methods: frozenset[str]) -> list[str]:
    """Say which exterior walls have no hole near, and where further holes would serve them.

    Parameters
    ----------
    ground : Ground
    holes : ndarray, shape (k, 2)
        All holes of the plan [m].
    methods : frozenset of str
        Methods of the tests that are counted, or of the limits of the job; walls are asked of one.
    """
    plan = ground.plan
    if METHOD not in methods:
        return []
    names = {name for domain in ground.domains for name in domain.rooms}
    rooms = [one for one in plan.rooms if one.name in names and not is_timber(one.slab)]
    tested = [(plan.room_at(x, y), Point(x, y)) for x, y in holes]
    lacking = [
        (room, wall)
        for room, wall in walls_asked(plan, rooms)
        if not any(own is room and wall.line.distance(at) <= NEAR_WALL_M for own, at in tested)
    ]
    if not lacking:
        return []
    several = len(plan.rooms) > 1
    named = [f"{wall.name}{f' of {room.name}' if several else ''}" for room, wall in lacking]
    shown = ", ".join(named[:MOST_NAMED])
    if named[MOST_NAMED:]:
        shown += f" and {len(named) - MOST_NAMED} more"
    return [
        "For a slab on or below grade the verdict also asks for a test within "
        f"{NEAR_WALL_M:.2f} m (3 ft) of each exterior wall (ASTM F2170, from memory, verify). No "
        f"hole is near: {shown}. "
        f"{_advice(_further(ground, lacking, holes))}"
    ]


def _advice(places: list[tuple[float, float]]) -> str:
    if not places:
        return "No place near them keeps its clearance."
    told = "; ".join(f"({x:.2f}, {y:.2f})" for x, y in places[:MOST_NAMED])
    more = f" and {len(places) - MOST_NAMED} more" if places[MOST_NAMED:] else ""
    return f"Further holes that would serve them: {len(places)}, at {told}{more}."


def _further(ground: Ground, lacking: list[Asked], holes: Array) -> list[tuple[float, float]]:
    """Places [m] near the walls, each the one that serves most of those still lacking."""
    grid, clear = ground.surface.grid, ground.clear_cells
    centres = grid.centres(clear)
    index = {room.name: number for number, room in enumerate(ground.plan.rooms)}
    points, room_of = shapely.points(centres), grid.room[clear]
    reach = NEAR_WALL_M - SETTING_OUT_M
    near = np.array(
        [
            (room_of == index[room.name]) & (shapely.distance(wall.line, points) <= reach)
            for room, wall in lacking
        ]
    )
    apart = ground.options.clearance_m + SETTING_OUT_M
    free = np.ones(len(centres), dtype=bool)
    for hole in holes:
        free &= np.hypot(*(centres - hole).T) > apart
    found: list[tuple[float, float]] = []
    while (served := (near & free).sum(axis=0)).max(initial=0) > 0:
        best = int(np.argmax(served))
        found.append((round(float(centres[best, 0]), 2), round(float(centres[best, 1]), 2)))
        near = near[~near[:, best]]
        free &= np.hypot(*(centres - centres[best]).T) > apart
    return found
