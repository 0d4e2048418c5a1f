"""Straight ridges whose ends meet become bent lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.ridge import Ridge

Array = NDArray[np.float64]

REACH, ASIDE = 2.2, 0.25
"""Ends are joined this far from where they meet, and that lies so far beside nearly parallel lines
at most [spacings]: two lines side by side are two things, and drawn as one it would lie over
neither (our choice)."""


def turn_between(one: float, other: float) -> float:
    """Angle between two undirected lines, 0 to pi/2 [rad]."""
    apart = abs(one - other) % np.pi
    return min(apart, np.pi - apart)


def _meeting(one: Ridge, other: Ridge) -> Array | None:
    """Where the two lines cross, or None when they are nearly parallel."""
    if turn_between(one.angle, other.angle) < np.deg2rad(12.0):
        return None
    matrix = np.column_stack([one.way, -other.way])
    step = np.linalg.solve(matrix, np.asarray(other.centre) - np.asarray(one.centre))
    return np.asarray(np.asarray(one.centre) + step[0] * one.way)


def _aside(ridge: Ridge, place: Array) -> float:
    """Distance of a place (2,) from the axis of a line [m]."""
    return abs(float(ridge.frame(place[None])[1][0]))


def _courses(ridges: list[Ridge], spacing: float) -> list[tuple[list[int], Ridge]]:
    """Put ridges that lie along one another together: joined by their ends they would fold back."""
    found: list[tuple[list[int], Ridge]] = []
    for i in sorted(range(len(ridges)), key=lambda one: -ridges[one].length):
        ends = ridges[i].ends
        for k, (members, whole) in enumerate(found):
            along, across = whole.frame(ends)
            over = along.min() <= whole.extent and along.max() >= -whole.extent
            if over and np.abs(across).max() <= ASIDE * spacing:
                middle = np.asarray(whole.centre)
                first = middle + min(along.min(), -whole.extent) * whole.way
                last = middle + max(along.max(), whole.extent) * whole.way
                found[k] = ([*members, i], Ridge.of(first, last, whole.width))
                break
        else:
            found.append(([i], ridges[i]))
    return found


def link_bends(ridges: list[Ridge], spacing: float) -> list[tuple[list[int], Array]]:
    """Join ridges whose ends meet into bent lines, those along one another into straight ones.

    Returns
    -------
    list of (list of int, ndarray (k, 2))
        Ridges of each line in order, and its corners [m].
    """
    courses = _courses(ridges, spacing)
    joined = _bends([ridge for _, ridge in courses], spacing)
    return [([i for k in order for i in courses[k][0]], corners) for order, corners in joined]


def _bends(ridges: list[Ridge], spacing: float) -> list[tuple[list[int], Array]]:
    ends = {(i, e): ridge.ends[e] for i, ridge in enumerate(ridges) for e in (0, 1)}
    pairs = []
    for i in range(len(ridges)):
        for j in range(i):
            meeting = _meeting(ridges[i], ridges[j])
            for a in (0, 1):
                for b in (0, 1):
                    spot = 0.5 * (ends[i, a] + ends[j, b]) if meeting is None else meeting
                    gap = max(np.linalg.norm(ends[i, a] - spot), np.linalg.norm(ends[j, b] - spot))
                    aside = max(_aside(ridges[i], spot), _aside(ridges[j], spot))
                    if gap <= REACH * spacing and aside <= ASIDE * spacing:
                        pairs.append((float(gap), (i, a), (j, b), spot))
    mate: dict[tuple[int, int], tuple[tuple[int, int], Array]] = {}
    for _, one, other, spot in sorted(pairs, key=lambda pair: pair[0]):
        if one in mate or other in mate or _reaches(one, other, mate):
            continue
        mate[one], mate[other] = (other, spot), (one, spot)
    return _walk(ridges, ends, mate)


def _reaches(
    one: tuple[int, int],
    other: tuple[int, int],
    mate: dict[tuple[int, int], tuple[tuple[int, int], Array]],
) -> bool:
    """Whether joining two ends would close a ring."""
    place = (one[0], 1 - one[1])
    while place in mate:
        following = mate[place][0]
        place = (following[0], 1 - following[1])
        if place == one:
            return True
    return place[0] == other[0]


def _walk(
    ridges: list[Ridge],
    ends: dict[tuple[int, int], Array],
    mate: dict[tuple[int, int], tuple[tuple[int, int], Array]],
) -> list[tuple[list[int], Array]]:
    done: set[int] = set()
    lines = []
    for i in range(len(ridges)):
        for start in (0, 1):
            if i in done or (i, start) in mate:
                continue
            place, order, corners = (i, start), [], [ends[i, start]]
            while True:
                order.append(place[0])
                done.add(place[0])
                far = (place[0], 1 - place[1])
                if far not in mate:
                    corners.append(ends[far])
                    break
                place, spot = mate[far]
                corners.append(spot)
            lines.append((order, np.array(corners)))
    return lines
