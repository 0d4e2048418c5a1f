"""Wet zones that no hole tests and rooms that cannot have one, and why: never without a word."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.drilling.clearance import Obstacle, forbidden
from moisturemap.drilling.ground import Ground
from moisturemap.zones import wettest_parts

Mask = NDArray[np.bool_]

LEAST_SHARE = 0.1
"""What takes less of an area than this share is not named as standing in the way (our choice)."""


def unreached_zones(
    ground: Ground, obstacles: list[Obstacle], holes: NDArray[np.float64]
) -> tuple[str, ...]:
    """Say of each wet zone that has no hole, or none where it reads wettest, why and what to do.

    Parameters
    ----------
    ground : Ground
    obstacles : list of Obstacle
    holes : ndarray, shape (k, 2)
        Places of all holes of the plan [m].
    """
    found = []
    tops = wettest_parts(ground.surface, ground.wet)
    for zone in ground.zones.itertuples():
        if shapely.intersects_xy(zone.geometry, *holes.T).any():
            for top in tops.get(str(zone.zone), ()):
                found += _top_words(ground, obstacles, zone, top, holes)
            continue
        why = _why(ground, obstacles, zone.geometry)
        if zone.standing == "contested":
            told = f"No hole lies in contested wet zone {zone.zone} ({zone.area_m2:.1f} m2): {why}"
        else:
            told = f"No hole lies in wet zone {zone.zone} ({zone.area_m2:.1f} m2): {why}"
        found.append(told)
    return tuple(found)


def _top_words(
    ground: Ground,
    obstacles: list[Obstacle],
    zone: Any,
    top: BaseGeometry,
    holes: NDArray[np.float64],
) -> list[str]:
    """Say of a peak of a zone with holes that none stands there, and why."""
    if top.is_empty or shapely.intersects_xy(top, *holes.T).any() or zone.standing == "contested":
        return []
    if (_inside(ground, top) & ground.clear_cells).any():
        why = (
            "the holes of the plan tell more elsewhere. Raise the count or pin a hole there: what "
            "passes at its rim says nothing of its middle."
        )
    else:
        why = (
            f"no place there keeps the clearance{_in_the_way(obstacles, top)}. Find with a locator "
            "what lies there and correct the plan, or test there without a hole: what passes at "
            "its rim says nothing of its middle."
        )
    at = top.representative_point()
    where = f"wet zone {zone.zone} reads wettest, about x {at.x:.2f} m, y {at.y:.2f} m"
    return [f"No hole lies where {where}: {why}"]


def _why(ground: Ground, obstacles: list[Obstacle], zone: BaseGeometry) -> str:
    inside = _inside(ground, zone)
    if (inside & ground.reachable).any():
        return (
            "the holes of the plan tell more elsewhere. Raise the count or pin a hole in it: the "
            "verdict asks for a valid test in each zone with floor surely above the wet level, and "
            "until one stands there nothing is known of it at depth."
        )
    return (
        f"no place in it keeps the clearance{_in_the_way(obstacles, zone)}. Find with a locator "
        "what lies there and correct the plan, sweep across what is contested, then plan again: "
        "until then nothing is known of it at depth."
    )


def closed_rooms(ground: Ground, obstacles: list[Obstacle]) -> tuple[str, ...]:
    """Say of each room in which no hole can stand what stands in the way."""
    rooms = [(i, one) for i, one in enumerate(ground.plan.rooms) if _is_of(ground, one.name)]
    grid = ground.surface.grid
    return tuple(
        f"No hole can stand in {room.name}: no place in it keeps the clearance"
        f"{_in_the_way(obstacles, room.polygon)}."
        for index, room in rooms
        if not (ground.reachable & (grid.room == index)).any()
        and (ground.cells & (grid.room == index)).any()
    )


def _is_of(ground: Ground, room: str) -> bool:
    return any(room in domain.rooms for domain in ground.domains)


def _in_the_way(obstacles: list[Obstacle], area: BaseGeometry) -> str:
    """Name what takes much of an area."""
    least = LEAST_SHARE * area.area
    names = [one.name for one in obstacles if forbidden([one]).intersection(area).area > least]
    return f" of {', '.join(names)}" if names else ""


def _inside(ground: Ground, zone: BaseGeometry) -> Mask:
    inside = np.zeros_like(ground.cells)
    centres = ground.surface.grid.centres(ground.cells)
    inside[ground.cells] = shapely.intersects_xy(zone, *centres.T)
    return inside
