"""Whether tests are spread over the floor they speak for.

Method: ``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist
from shapely.geometry import Polygon

from moisturemap.acceptance.cover import Cover, Ground, place_cover, places_of
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import PlaceRule

REACH = 1.5
"""A test speaks for floor within this many sides of the square it stands for, the floor shared out
among the tests that are asked for; evenly spread tests need 0.7. Project choice."""

REACH_SCANNED = 2.0
"""The same where the floor was scanned: relative readings tell which floor is wettest at the
surface, not that it is dry at depth. Project choice."""

APART_SHARE = 0.5
"""Two tests stand at least one side of that square apart, or on a narrow floor this share of its
longest way. Project choice."""

SAMPLES_ACROSS = 12
"""Places a room is looked at across this reach."""

MOST_PLACES = 20_000
"""Places a room is looked at on at most."""


def spread(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    """Ask for a test in each room part that is far from every test.

    Parameters
    ----------
    rule : PlaceRule
    tests : sequence of JudgedTest
        Judged tests of the method.
    ground : Ground
        With the number of tests that its rules ask for.
    """
    scanned = ground.zones is not None
    points = [(point.x, point.y) for point, _ in places_of(tests)]
    area = sum(room.polygon.area for room in ground.rooms)
    side = float(np.sqrt(area / max(ground.needed, 1)))
    reach = (REACH_SCANNED if scanned else REACH) * side
    if len(points) < max(ground.needed, 1):
        return Cover(rule, False, 0, 1, None, "fewer valid tests with a place than are asked for")
    together = _together(ground, np.array(points), side)
    if together:
        return place_cover(rule, len(ground.rooms), together, [together])
    lacking = []
    for room in ground.rooms:
        far = _farthest(room.polygon, np.array(points), reach)
        if far is not None:
            lacking.append(f"in {room.name} around ({far[0]:.1f}, {far[1]:.1f})")
    sentence = f"no floor lies farther from every valid test than the {reach:.1f} m allowed"
    if lacking:
        named = "; ".join(lacking[:MOST_NAMED])
        if len(lacking) > MOST_NAMED:
            named += f" and {len(lacking) - MOST_NAMED} more rooms"
        sentence = (
            f"nothing speaks for floor farther than {reach:.1f} m from every valid test: {named}"
        )
        if scanned:
            sentence = (
                f"relative readings alone speak for floor farther than {reach:.1f} m from every"
                f" valid test: {named}"
            )
    return place_cover(rule, len(ground.rooms), sentence, lacking)


def _together(ground: Ground, points: NDArray[np.float64], side: float) -> str:
    """Say that all tests of a floor that asks for several stand in one spot of it; "" else."""
    if ground.needed < FEWEST_APART:
        return ""
    corners = np.vstack([shapely.get_coordinates(room.polygon) for room in ground.rooms])
    asked = min(side, APART_SHARE * float(pdist(corners).max()))
    apart = float(pdist(points).max()) if len(points) > 1 else 0.0
    if apart >= asked:
        return ""
    return (
        f"the {len(points)} valid tests stand within {apart:.1f} m of each other, and two of them"
        f" have to be {asked:.1f} m apart to speak for this floor"
    )


FEWEST_APART = 3
"""From so many tests on they have to stand apart. Project choice."""

MOST_NAMED = 3
"""Rooms named in the sentence."""


def _farthest(
    room: Polygon, points: NDArray[np.float64], reach: float
) -> tuple[float, float] | None:
    """Return the place of a room farthest from every test; None where all of it is reached."""
    left, low, right, high = room.bounds
    step = max(reach / SAMPLES_ACROSS, float(np.sqrt((right - left) * (high - low) / MOST_PLACES)))
    x, y = np.meshgrid(np.arange(left, right + step, step), np.arange(low, high + step, step))
    inside = shapely.intersects_xy(room, x, y)
    if not inside.any():
        return None
    places = np.column_stack([x[inside], y[inside]])
    distance = np.asarray(cKDTree(points).query(places)[0])
    worst = int(distance.argmax())
    if distance[worst] <= reach:
        return None
    return float(places[worst, 0]), float(places[worst, 1])
