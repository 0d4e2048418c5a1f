"""Segments that continue one another become runs; runs that meet become bent lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from moisturemap.anomalies.ridge import Ridge

Array = NDArray[np.float64]

SAME_WAY = np.deg2rad(22.0)
"""Segments this near in direction may continue one another [rad]."""

GAP = 3.0
"""Greatest gap between segments of one run [spacings]."""

OFFSET = 1.1
"""Greatest sideways offset between segments of one run [spacings]."""


def turn_between(one: float, other: float) -> float:
    """Angle between two undirected lines, 0 to pi/2 [rad]."""
    apart = abs(one - other) % np.pi
    return min(apart, np.pi - apart)


def _continues(one: Ridge, other: Ridge, spacing: float) -> bool:
    if turn_between(one.angle, other.angle) > SAME_WAY:
        return False
    for first, second in ((one, other), (other, one)):
        along, across = first.frame(second.ends)
        clear = np.maximum(np.abs(along) - 0.5 * first.length, 0.0)
        inner = np.sign(along[0]) != np.sign(along[1])
        gap = 0.0 if inner else float(clear.min())
        nearest = float(np.abs(across[np.argmin(clear)]))
        middle = abs(float(first.frame(np.array([second.centre]))[1][0]))
        if gap > GAP * spacing or min(nearest, middle) > OFFSET * spacing:
            return False
    return True


def link_runs(segments: list[Ridge], spacing: float) -> list[list[int]]:
    """Group segments that continue one another; each group is a straight run."""
    count = len(segments)
    joined = np.zeros((count, count), dtype=bool)
    for i in range(count):
        for j in range(i):
            joined[i, j] = _continues(segments[i], segments[j], spacing)
    _, label = connected_components(sparse.csr_matrix(joined), directed=False)
    return [list(np.flatnonzero(label == one)) for one in range(label.max() + 1)] if count else []


def merged(segments: list[Ridge], scores: Array) -> Ridge:
    """Return the ridge that spans a group of segments, led by the strongest."""
    lead = segments[int(np.argmax(scores))]
    turned = np.exp(2j * np.array([one.angle for one in segments]))
    angle = float(np.angle((turned * scores).sum()) / 2)
    if len(segments) == 1:
        return lead
    ends = np.vstack([one.ends for one in segments])
    weight = np.repeat(scores, 2)
    middle = (ends * weight[:, None]).sum(axis=0) / weight.sum()
    spread = ends - middle
    if np.linalg.norm(np.ptp(ends, axis=0)) > 1.5 * lead.length:
        _, vectors = np.linalg.eigh((spread * weight[:, None]).T @ spread)
        angle = float(np.arctan2(vectors[1, -1], vectors[0, -1]))
    way = np.array([np.cos(angle), np.sin(angle)])
    along = spread @ way
    centre = middle + 0.5 * (along.min() + along.max()) * way
    return Ridge((float(centre[0]), float(centre[1])), angle, float(np.ptp(along)), lead.width)


def _meeting(one: Ridge, other: Ridge) -> Array | None:
    """Where the two lines cross, or None when they are nearly parallel."""
    if turn_between(one.angle, other.angle) < np.deg2rad(12.0):
        return None
    matrix = np.column_stack([one.way, -other.way])
    step = np.linalg.solve(matrix, np.asarray(other.centre) - np.asarray(one.centre))
    return np.asarray(np.asarray(one.centre) + step[0] * one.way)


def link_bends(ridges: list[Ridge], spacing: float) -> list[tuple[list[int], Array]]:
    """Join ridges whose ends meet into bent lines.

    Returns
    -------
    list of (list of int, ndarray (k, 2))
        Ridges of each line in order, and its corners [m].
    """
    near = 2.2 * spacing
    ends = {(i, e): ridge.ends[e] for i, ridge in enumerate(ridges) for e in (0, 1)}
    pairs = []
    for i in range(len(ridges)):
        for j in range(i):
            meeting = _meeting(ridges[i], ridges[j])
            for a in (0, 1):
                for b in (0, 1):
                    spot = 0.5 * (ends[i, a] + ends[j, b]) if meeting is None else meeting
                    gap = max(np.linalg.norm(ends[i, a] - spot), np.linalg.norm(ends[j, b] - spot))
                    if gap <= near:
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
