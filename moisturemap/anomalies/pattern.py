"""Regular patterns over the whole floor: mesh, or heating loops, as the grid shows them.

A pattern of pitch p sampled at a spacing h shows as a wave of length 1/|1/p - k/h|, so only the
wave is looked for: the pair cos 2 pi f.x, sin 2 pi f.x with the greatest joint score in the metric
of P (see :func:`gls_metric`). A pipe is strong in one or two quarters of the floor; a pattern must
carry its wave, in phase, through all four.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene
from moisturemap.geostat.lapack import inverse

Array = NDArray[np.float64]

MOST = 900
"""Readings a pattern is looked for in; a compact part of a larger floor."""

LEAST = 60
"""Fewer readings than this cannot show a pattern."""

MOST_STEPS = 50
"""Most frequencies tried each way."""

LONGEST = 4.5
"""Longest wave that is told from moisture [spacings]."""

CHANCE = 0.01
"""Chance of any pattern found on a floor without one, all waves counted."""

QUARTER_SCORE = 9.21
"""Joint score each quarter must reach: chi-squared with 2 degrees of freedom at 99%."""

IN_PHASE = 0.7
"""Share of the quarters' joint scores that must remain when they are added in phase."""

CLIPPED = 2.5
"""Standardised scores are clipped here, so that pipes and strays do not pass for a pattern."""

EVEN = 0.5
"""Share of the mean gain the middle one of all crests must bring."""

SAME_DIRECTION = np.cos(np.deg2rad(20.0))
"""Waves this near in direction are compared."""

SECOND_PEAK = 0.4
"""Greatest share of the joint score another wave of the same direction may have."""

BROAD_M = 2.0
"""Length of the wet zones a pattern is told from [m]."""

AT_ONCE = 256
"""Waves worked out together: as many as a processor's cache holds."""

WAVES = 4
"""Most waves one pattern is made of (two directions, and an overtone of each)."""


@dataclass(frozen=True)
class Wave:
    """One wave of a pattern.

    Attributes
    ----------
    frequency : ndarray, shape (2,)
        Cycles per metre along x and y.
    amplitude : float
        Half the rise from trough to crest [reading].
    phase : float
        Phase at the plan's origin [rad].
    score : float
        Joint score, chi-squared with 2 degrees of freedom without a pattern.
    """

    frequency: Array
    amplitude: float
    phase: float
    score: float

    @property
    def length(self) -> float:
        """Distance between crests [m]."""
        return float(1.0 / np.linalg.norm(self.frequency))

    def at(self, points: Array) -> Array:
        """Wave at places (n, 2) [m], between minus and plus the amplitude [reading]."""
        angle = 2 * np.pi * points @ self.frequency
        return np.asarray(self.amplitude * np.cos(angle - self.phase))


def _compact(points: Array) -> NDArray[np.intp]:
    """Return readings of a compact part of the floor."""
    if len(points) <= MOST:
        return np.arange(len(points))
    distance = np.abs(points - np.median(points, axis=0)).max(axis=1)
    return np.sort(np.argsort(distance, kind="stable")[:MOST])


def _frequencies(points: Array, spacing: float) -> Array:
    """Wave vectors between the longest wave and the shortest a grid can show, half a plane."""
    extent = np.maximum(np.ptp(points, axis=0), 2 * spacing)
    top = 0.5 / spacing
    step = np.maximum(0.5 / extent, top / MOST_STEPS)
    x = np.arange(0.0, top + 1e-9, step[0])
    y = np.arange(0.0, top + 1e-9, step[1])
    both = np.concatenate([-y[:0:-1], y])
    grid = np.column_stack([np.repeat(x, both.size), np.tile(both, x.size)])
    size = np.linalg.norm(grid, axis=1)
    kept = (size >= 1.0 / (LONGEST * spacing)) & (size <= top + 1e-9)
    return np.asarray(grid[kept & ~((grid[:, 0] == 0) & (grid[:, 1] < 0))])


def _joint(matrix: Array, scores: Array, columns: Array) -> tuple[float, Array]:
    """Joint score of a pair of columns and its strengths."""
    gram = columns.T @ (matrix @ columns)
    right = columns.T @ scores
    strengths = np.linalg.pinv(gram, hermitian=True) @ right
    return float(right @ strengths), strengths


def _pair(points: Array, frequency: Array) -> Array:
    angle = 2 * np.pi * points @ frequency
    return np.column_stack([np.cos(angle), np.sin(angle)])


def _throughout(matrix: Array, scores: Array, points: Array, frequency: Array) -> bool:
    """Whether all four quarters of the floor carry the wave, in phase."""
    pair = _pair(points, frequency)
    middle = np.median(points, axis=0)
    right, upper = (points >= middle).T
    total, parts = np.zeros(2), 0.0
    for one in (right & upper, right & ~upper, ~right & upper, ~right & ~upper):
        if one.sum() < 10:
            return False
        score, strengths = _joint(matrix, scores, pair * one[:, None])
        if score < QUARTER_SCORE:
            return False
        total += strengths / 4
        parts += float(np.hypot(*strengths)) / 4
    return bool(np.hypot(*total) >= IN_PHASE * parts)


def _even(gain: Array, points: Array, frequency: Array) -> bool:
    """Whether all crests carry the wave; pipes carry a few."""
    crest = np.round(points @ frequency).astype(int)
    sums = np.bincount(crest - crest.min(), weights=gain)
    counts = np.bincount(crest - crest.min())
    shares = sums[counts >= 5] / counts[counts >= 5]
    return bool(shares.size >= 3 and np.median(shares) >= EVEN * gain.mean())


def _lone_peak(tried: Array, joint: Array, points: Array) -> bool:
    """Whether one wave stands alone in its direction; pipes spread over many."""
    best = tried[int(np.argmax(joint))]
    size = np.linalg.norm(tried, axis=1) * np.linalg.norm(best)
    alike = np.abs(tried @ best) >= SAME_DIRECTION * size
    apart = np.minimum(np.linalg.norm(tried - best, axis=1), np.linalg.norm(tried + best, axis=1))
    beside = alike & (apart > 1.6 / max(float(np.ptp(points, axis=0).min()), 1e-6))
    return bool(joint[beside].max(initial=0.0) <= SECOND_PEAK * joint.max())


def _strongest(matrix: Array, scores: Array, points: Array, tried: Array) -> Array:
    """Joint score of every wave vector."""
    turns = _Turns(points, tried)
    parts = [slice(begin, begin + AT_ONCE) for begin in range(0, len(tried), AT_ONCE)]
    return np.concatenate([_scores_of(matrix, scores, *turns.of(part)) for part in parts])


def _scores_of(matrix: Array, scores: Array, cos: Array, sin: Array) -> Array:
    """Joint score of waves by their cosines and sines at the readings, (k, n) each."""
    image_cos, image_sin = cos @ matrix, sin @ matrix
    a, b = np.einsum("kn,kn->k", cos, image_cos), np.einsum("kn,kn->k", sin, image_sin)
    c = np.einsum("kn,kn->k", cos, image_sin)
    u, v = cos @ scores, sin @ scores
    determinant = a * b - c**2
    sound = determinant > 1e-6 * a * np.maximum(b, 1e-300)
    joint = (b * u**2 - 2 * c * u * v + a * v**2) / np.where(sound, determinant, 1.0)
    return np.asarray(np.where(sound, joint, u**2 / np.maximum(a, 1e-300)))


class _Turns:
    """Cosine and sine of the phase of places (n, 2) in waves (k, 2).

    Waves share their steps along x and y, of which alone cosines and sines are worked out.
    """

    def __init__(self, points: Array, tried: Array) -> None:
        self._along = []
        for place, step in zip(points.T, tried.T, strict=True):
            steps, which = np.unique(step, return_inverse=True)
            angle = 2 * np.pi * np.outer(steps, place)
            self._along.append((np.cos(angle), np.sin(angle), which))

    def of(self, part: slice) -> tuple[Array, Array]:
        """Cosines and sines of some of the waves: (k, n) each."""
        (cos_x, sin_x), (cos_y, sin_y) = (
            (cos[which[part]], sin[which[part]]) for cos, sin, which in self._along
        )
        return cos_x * cos_y - sin_x * sin_y, sin_x * cos_y + cos_x * sin_y


def gls_metric(covariance: Array) -> Array:
    """Return P = K^-1 - K^-1 1 1'K^-1 / (1'K^-1 1) of a covariance K (n, n): no level in it.

    (P z)_i / P_ii is the leave-one-out residual (Dubrule 1983).
    """
    whole = inverse(np.asfortranarray(np.linalg.cholesky(covariance)))
    column = whole.sum(axis=1)
    return np.asarray(whole - np.outer(column, column) / column.sum())


def _covariance(scene: Scene, calm: CalmFloor, part: NDArray[np.intp], values: Array) -> Array:
    """Calm floor, broad wet zones as rough as the readings are wet, and noise."""
    distance = cdist(scene.points[part], scene.points[part])
    broad = float(np.mean(np.maximum(values - calm.base[part] - 2 * calm.sd, 0.0) ** 2))
    matrix = calm.between(distance) + broad * np.exp(-0.5 * (distance / BROAD_M) ** 2)
    matrix[np.diag_indices_from(matrix)] += calm.noise * scene.share[part]
    return np.asarray(matrix)


def find_waves(
    scene: Scene, calm: CalmFloor, values: Array, plain: NDArray[np.bool_]
) -> tuple[Wave, ...]:
    """Find the waves of a regular pattern; empty when there is none.

    Parameters
    ----------
    scene : Scene
    calm : CalmFloor
    values : ndarray, shape (n,)
        Readings, what is already known to be a thing taken out.
    plain : ndarray of bool, shape (n,)
        Readings that are neither wet nor disturbed: a pipe or a patch spreads over many waves.
    """
    part = np.flatnonzero(plain)
    part = part[_compact(scene.points[part])]
    if part.size < LEAST:
        return ()
    places, spacing = scene.points[part], scene.spacing
    matrix = gls_metric(_covariance(scene, calm, part, values[part]))
    scores = matrix @ values[part]
    spread = np.sqrt(np.maximum(np.diagonal(matrix), 1e-300))
    scores = np.clip(scores, -CLIPPED * spread, CLIPPED * spread)
    tried = _frequencies(places, spacing)
    threshold = 2.0 * np.log(len(tried) / CHANCE)
    found: list[Wave] = []
    for _ in range(WAVES):
        joint = _strongest(matrix, scores, places, tried)
        best = tried[int(np.argmax(joint))]
        if joint.max() < threshold or not _lone_peak(tried, joint, places):
            break
        pair = _pair(places, best)
        score, strengths = _joint(matrix, scores, pair)
        gain = (pair @ strengths) * scores
        if not _throughout(matrix, scores, places, best) or not _even(gain, places, best):
            break
        found.append(
            Wave(
                best,
                float(np.hypot(*strengths)),
                float(np.arctan2(strengths[1], strengths[0])),
                score,
            )
        )
        scores = scores - matrix @ (pair @ strengths)
    return tuple(found)
