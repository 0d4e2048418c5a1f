"""Candidates: straight courses and compact places that stand out on both sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.sides import DIRECTIONS, SWEPT, Contrasts

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SEED, PARTNER, SPOT_SEED = 2.5, 2.0, 3.5
"""A reading this many sd over its sides may begin a course, be on one, begin a spot."""

FINE_M, FINE_SEED, FINE_PARTNER = 0.3, 1.8, 1.4
"""Below this spacing [m] many readings see a thing, and fainter ones may begin a course: all are
weighed in full all the same (our choice; on coarser grids it only named more that was floor)."""

LEAST_SCORE, LEAST_SUPPORT = 6.0, 3
"""Log likelihood gain and readings a course must have to be weighed at all."""

CAP = 8.0
"""Most any one reading may add to the gain: no course rests on one or two."""

UNEVEN = 0.15
"""Share of its strength by which a thing may vary from reading to reading at this stage."""

SPOT_EXTENT_M, SPOT_AREA_M2 = 1.2, 1.6
"""A cluster wider or larger than this is floor: plates and boxes are smaller (our choice)."""

TOGETHER = 1.5
"""Readings nearer than this are one cluster [spacings]."""

CHUNK = 2_000


@dataclass(frozen=True)
class _Courses:
    """Courses through pairs of readings: anchors, unit vectors, distances, direction numbers."""

    anchor: Index
    way: Array
    distance: Array
    turn: Index


def _reach(scene: Scene) -> float:
    """How far along a course is looked [m]."""
    return max(3.0, 6.0 * scene.spacing) if scene.spacing > 0.35 else 2.5


def _pairs(scene: Scene, found: Contrasts, free: NDArray[np.bool_]) -> _Courses | None:
    fine = scene.spacing < FINE_M
    seed, partner = (FINE_SEED, FINE_PARTNER) if fine else (SEED, PARTNER)
    seeds = np.flatnonzero((found.greatest > seed * found.sd) & free)
    if seeds.size < LEAST_SUPPORT:
        return None
    pairs = cKDTree(scene.points[seeds]).query_pairs(_reach(scene), output_type="ndarray")
    first, last = seeds[pairs[:, 0]], seeds[pairs[:, 1]]
    step = scene.points[last] - scene.points[first]
    distance = np.hypot(*step.T)
    least = max(0.95 * scene.spacing, 0.45 if scene.spacing < 0.4 else 0.0)
    angle = np.arctan2(step[:, 1], step[:, 0])
    turn = np.round(angle / (np.pi / DIRECTIONS)).astype(np.intp) % DIRECTIONS
    kept = distance >= least
    for end in (first, last):
        kept &= found.over[end, turn] > partner * found.sd
    if not kept.any():
        return None
    way = step[kept] / distance[kept, None]
    return _Courses(first[kept], way, distance[kept], turn[kept])


def _run(along: Array, gain: Array) -> tuple[Array, Array, Array]:
    """Best stretch of each course through its anchor: score, first and last place along (p,)."""
    order = np.argsort(along, axis=1)
    along = np.take_along_axis(along, order, axis=1)
    total = np.cumsum(np.take_along_axis(gain, order, axis=1), axis=1)
    behind = along < 0
    count = behind.sum(axis=1)
    rows = np.arange(len(along))
    half = np.where(count > 0, total[rows, np.maximum(count - 1, 0)], 0.0)
    ahead = np.where(behind, -np.inf, total)
    last = ahead.argmax(axis=1)
    before = np.concatenate([np.zeros((len(along), 1)), total[:, :-1]], axis=1)
    before = np.where(behind, before, np.inf)
    first = before.argmin(axis=1)
    back = np.maximum(np.where(count > 0, half - before.min(axis=1), 0.0), 0.0)
    start = np.where(back > 0, along[rows, first], 0.0)
    return ahead[rows, last] - half + back, start, along[rows, last]


def _scored(
    scene: Scene, found: Contrasts, courses: _Courses, part: slice, near: tuple[Array, Index]
) -> list[tuple[float, Array, Array]]:
    """Score of each course with its first and last place, those worth weighing."""
    anchor, way = courses.anchor[part], courses.way[part]
    distance, index = near
    offset = scene.points[index] - scene.points[anchor][:, None]
    along = (offset * way[:, None]).sum(axis=2)
    across = offset[..., 1] * way[:, :1] - offset[..., 0] * way[:, 1:]
    beside = np.isfinite(distance) & (np.abs(across) < 2 * scene.width)
    profile = np.where(beside, np.exp(-0.5 * (across / scene.width) ** 2), 0.0)
    over = np.maximum(found.over[index, courses.turn[part][:, None]], -3 * found.sd)
    between = (along >= -0.1) & (along <= courses.distance[part][:, None] + 0.1)
    weight = profile * between
    strength = (weight * over).sum(axis=1) / np.maximum((weight * profile).sum(axis=1), 1e-9)
    rise = strength[:, None] * profile
    variance = found.sd**2 + (UNEVEN * rise) ** 2
    gain = np.clip(np.where(beside, (rise * over - 0.5 * rise**2) / variance, 0.0), -CAP, CAP)
    score, start, stop = _run(np.where(beside, along, np.inf), gain)
    inside = (along >= start[:, None] - 1e-6) & (along <= stop[:, None] + 1e-6)
    least = FINE_PARTNER if scene.spacing < FINE_M else PARTNER
    support = ((profile > 0.3) & (gain > 0.5) & inside).sum(axis=1)
    good = (score > LEAST_SCORE) & (support >= LEAST_SUPPORT) & (strength > least * found.sd)
    return [
        (
            float(score[k]),
            scene.points[anchor[k]] + start[k] * way[k],
            scene.points[anchor[k]] + stop[k] * way[k],
        )
        for k in np.flatnonzero(good)
    ]


def line_candidates(scene: Scene, found: Contrasts, free: NDArray[np.bool_]) -> list[Ridge]:
    """Straight courses through readings that stand out, the best of each place.

    Parameters
    ----------
    found : Contrasts
    free : ndarray of bool, shape (n,)
        Readings that may begin a course.
    """
    courses = _pairs(scene, found, free)
    if courses is None:
        return []
    tree, reach, count = scene.tree, _reach(scene), len(scene.values)
    most = int(min(count, np.ceil(1.1 * np.pi * (reach / scene.spacing) ** 2) + SWEPT))
    scored: list[tuple[float, Array, Array]] = []
    for start in range(0, courses.anchor.size, CHUNK):
        part = slice(start, start + CHUNK)
        anchors, back = np.unique(courses.anchor[part], return_inverse=True)
        found_near = tree.query(scene.points[anchors], k=most, distance_upper_bound=reach)
        distance, index = map(np.asarray, found_near)
        index = np.where(np.isfinite(distance), index, 0)
        scored += _scored(scene, found, courses, part, (distance[back], index[back]))
    return _best(scene, found, sorted(scored, key=lambda one: -one[0]))


def _best(scene: Scene, found: Contrasts, scored: list[tuple[float, Array, Array]]) -> list[Ridge]:
    tree, greatest = scene.tree, found.greatest
    taken = np.zeros(len(scene.values), dtype=bool)
    kept = []
    for _, first, last in scored:
        ridge = Ridge.of(first, last, scene.width)
        if ridge.length < max(1.0, 1.9 * scene.spacing):
            continue
        near = within(tree, ridge, 2 * scene.width)
        mine = near[(ridge.rise(scene.points[near]) > 0.3) & (greatest[near] > 2 * found.sd)]
        if mine.size < LEAST_SUPPORT or taken[mine].mean() > 0.5:
            continue
        taken[mine] = True
        kept.append(ridge)
    return kept


def within(tree: cKDTree, ridge: Ridge, margin: float) -> Index:
    """Return readings within a margin [m] of the box round a ridge, as indices."""
    steps = max(1, int(np.ceil(ridge.length / max(margin, 1.0))))
    first, last = ridge.ends
    places = first + np.linspace(0.0, 1.0, steps + 1)[:, None] * (last - first)
    radius = float(np.hypot(margin, 0.5 * ridge.length / steps)) * 1.001
    found = tree.query_ball_point(places, radius)
    return np.unique(np.concatenate([np.asarray(one, dtype=np.intp) for one in found]))


def spot_candidates(scene: Scene, found: Contrasts, free: NDArray[np.bool_]) -> list[Index]:
    """Clusters of readings that stand out and are small enough for a plate or a box."""
    seeds = np.flatnonzero((found.greatest > SPOT_SEED * found.sd) & free)
    if not seeds.size:
        return []
    pairs = cKDTree(scene.points[seeds]).query_pairs(
        TOGETHER * scene.spacing, output_type="ndarray"
    )
    joined = sparse.coo_matrix((np.ones(len(pairs)), pairs.T), shape=(seeds.size, seeds.size))
    _, label = connected_components(joined, directed=False)
    order = np.argsort(label, kind="stable")
    groups = np.split(seeds[order], np.flatnonzero(np.diff(label[order])) + 1)
    return [
        group
        for group in groups
        if np.ptp(scene.points[group], axis=0).max() <= SPOT_EXTENT_M
        and group.size * scene.spacing**2 <= SPOT_AREA_M2
    ]
