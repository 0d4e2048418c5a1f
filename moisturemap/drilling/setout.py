"""Set-out: two tape distances that put a hole on the floor.

Either two distances held square to two walls, or two distances from two corners seen from the hole.
A pair is used only when its two distances, rounded as they are printed, fix the place within
``TOLERANCE_M``; two circles meet twice, so the other crossing must lie off the room or be ruled out
in words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import Corner, Room, Wall, corners, walls
from moisturemap.quantities import tape

Array = NDArray[np.float64]

ROUNDED_M = 0.01
"""Tape distances are printed to this [m]."""

TOLERANCE_M = 0.02
"""The printed distances fix the place within this [m]."""

SQUARE_DEG = 3.0
"""Walls within this of a right angle are called square to each other."""

SHARPEST_DEG = 30.0
"""Lines that cross at a smaller angle fix no place worth taping."""

LONGEST_TAPE_M = 30.0


@dataclass(frozen=True, slots=True)
class SetOut:
    """Two tape distances.

    Attributes
    ----------
    from_a, from_b : str
        Names of the walls or corners; "" when no pair fixes the place.
    distance_a, distance_b : float
        Tape distances to the millimetre [m]; NaN when no pair fixes the place.
    sentence : str
        For the person with the tape.
    error : float
        Distance of the place the rounded distances give from the one planned [m].
    """

    from_a: str
    distance_a: float
    from_b: str
    distance_b: float
    sentence: str
    error: float


@dataclass(frozen=True, slots=True)
class _Choice:
    set_out: SetOut
    cost: float


def set_out(room: Room, x: float, y: float) -> SetOut:
    """Return two tape distances that fix a place in a room.

    Parameters
    ----------
    room : Room
    x, y : float
        Place in the room [m].

    Returns
    -------
    SetOut
        Square offsets from two walls at right angles when both reach the place, else whichever of
        two walls or two corners fixes it with the shorter tape. Without any such pair the names are
        "" and the sentence gives the plan coordinates.
    """
    floor = room.polygon.buffer(1e-6)
    from_walls = _wall_choices(walls(room), floor, x, y)
    square = [choice for choice in from_walls if choice.cost < LONGEST_TAPE_M]
    choices = square or [*from_walls, *_corner_choices(corners(room), floor, x, y)]
    if choices:
        return min(choices, key=lambda choice: choice.cost).set_out
    return SetOut(
        "",
        math.nan,
        "",
        math.nan,
        f"No two walls or corners of {room.name} fix this place within "
        f"{TOLERANCE_M * 1000:.0f} mm: mark it from the plan's coordinates, x {x:.2f} m, "
        f"y {y:.2f} m.",
        math.nan,
    )


def rounded(distance: float) -> float:
    """Round a tape distance as it is printed [m]."""
    return round(round(distance / ROUNDED_M) * ROUNDED_M, 9)


def wall_crossing(one: Wall, first: float, other: Wall, second: float) -> Array:
    """Return the place at square distances [m] from two walls, on their floor side.

    Parameters
    ----------
    one, other : Wall
        Not parallel.
    first, second : float
        Distances [m].
    """
    normals, offsets = [], []
    for wall, distance in ((one, first), (other, second)):
        start, end = np.asarray(wall.line.coords)[[0, -1], :2]
        run = (end - start) / np.hypot(*(end - start))
        normal = np.array([-run[1], run[0]])
        normals.append(normal)
        offsets.append(float(normal @ start) + distance)
    return np.asarray(np.linalg.solve(np.array(normals), np.array(offsets)))


def circle_crossings(one: Array, first: float, other: Array, second: float) -> Array:
    """Return the two places at distances [m] from two points, shape (2, 2); NaN when none."""
    axis = other - one
    apart = float(np.hypot(*axis))
    along = (apart**2 + first**2 - second**2) / (2.0 * apart)
    height2 = first**2 - along**2
    if height2 < 0:
        return np.full((2, 2), np.nan)
    unit = axis / apart
    across = np.array([-unit[1], unit[0]]) * math.sqrt(height2)
    foot = one + along * unit
    return np.array([foot + across, foot - across])


def _wall_choices(
    found: tuple[Wall, ...], floor: BaseGeometry, x: float, y: float
) -> list[_Choice]:
    place = np.array([x, y])
    usable = []
    for wall in found:
        distance = wall.square_to(x, y)
        if distance is None or distance > LONGEST_TAPE_M or wall.length < 0.3:
            continue
        foot = wall.line.interpolate(wall.line.project(Point(x, y)))
        if distance < 1e-6 or floor.covers(LineString([(x, y), (foot.x, foot.y)])):
            usable.append((wall, distance))
    choices = []
    for (a, to_a), (b, to_b) in combinations(usable, 2):
        angle = _between_deg(_way(a), _way(b))
        if angle < SHARPEST_DEG:
            continue
        fixed = wall_crossing(a, rounded(to_a), b, rounded(to_b))
        error = float(np.hypot(*(fixed - place)))
        if error <= TOLERANCE_M:
            cost = to_a + to_b + (0.0 if angle > 90.0 - SQUARE_DEG else LONGEST_TAPE_M)
            choices.append(_Choice(_from_walls(a.name, to_a, b.name, to_b, error), cost))
    return choices


def _way(wall: Wall) -> Array:
    start, end = np.asarray(wall.line.coords)[[0, -1], :2]
    return np.asarray(end - start)


def _between_deg(one: Array, other: Array) -> float:
    """Angle between two lines, 0 to 90 degrees."""
    cosine = abs(float(one @ other)) / float(np.hypot(*one) * np.hypot(*other))
    return math.degrees(math.acos(min(1.0, cosine)))


def _from_walls(a: str, to_a: float, b: str, to_b: float, error: float) -> SetOut:
    first, second = tape(to_a), tape(to_b)
    sentence = (
        f"{first} m from the {a} and {second} m from the {b}, tape held square to each "
        "wall, into the room."
    )
    return SetOut(a, float(first), b, float(second), sentence, error)


def _corner_choices(
    found: tuple[Corner, ...], floor: BaseGeometry, x: float, y: float
) -> list[_Choice]:
    place = np.array([x, y])
    seen = []
    for corner in found:
        at = np.array([corner.point.x, corner.point.y])
        distance = float(np.hypot(*(at - place)))
        near_enough = 0.1 < distance <= LONGEST_TAPE_M
        if near_enough and floor.covers(LineString([place, at])):
            seen.append((corner.name, at, distance))
    choices = []
    for (a, at_a, to_a), (b, at_b, to_b) in combinations(seen, 2):
        if _between_deg(at_a - place, at_b - place) < SHARPEST_DEG:
            continue
        crossings = circle_crossings(at_a, rounded(to_a), at_b, rounded(to_b))
        error = float(np.hypot(*(crossings - place).T).min())
        if not error <= TOLERANCE_M:
            continue
        mirror = crossings[np.hypot(*(crossings - place).T).argmax()]
        words, penalty = _mirror_words(place, mirror, floor)
        cost = LONGEST_TAPE_M + to_a + to_b + penalty
        choices.append(_Choice(_from_corners((a, to_a), (b, to_b), words, error), cost))
    return choices


def _mirror_words(place: Array, mirror: Array, floor: BaseGeometry) -> tuple[str, float]:
    """Rule out the other crossing: by the room's edge, or by the side it lies on."""
    if not shapely.intersects_xy(floor, *mirror):
        return "", 0.0
    off = place - mirror
    sideways = abs(off[0]) > abs(off[1])
    side = ("east" if off[0] > 0 else "west") if sideways else ("north" if off[1] > 0 else "south")
    return f", the crossing further {side} of the two", 5.0


def _from_corners(a: tuple[str, float], b: tuple[str, float], words: str, error: float) -> SetOut:
    first, second = tape(a[1]), tape(b[1])
    sentence = (
        f"{first} m from the {a[0]} and {second} m from the {b[0]}, where the two tapes "
        f"cross{words}."
    )
    return SetOut(a[0], float(first), b[0], float(second), sentence, error)
