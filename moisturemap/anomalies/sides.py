"""How far each reading stands above both of its sides, in every direction.

A thing falls off on both sides within its own width and the footprint; a flank of wet floor does
not, nor does the middle of a patch. So a reading is held against the higher of the floor to its
left and to its right, a few tenths of a metre away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.calm import CalmFloor, matern
from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]

DIRECTIONS = 16
"""Directions looked along, evenly over half a turn."""

NEAREST = 2.2
"""Sides begin this many widths beside a reading: a usual thing is hardly felt there (0.09)."""

LEAST_NEAREST_M, STRIP_M = 0.3, 0.55
"""Sides begin at least this far away, and are this wide [m] (our choice)."""

SPACINGS_WIDE, SPACINGS_LONG = 1.35, 1.25
"""Sides reach at least this many spacings, so that the next row of a grid counts."""

LEAST_LONG_M = 0.8
"""Sides are at least this long each way [m]."""

LEAST_WEIGHT = 0.2
"""A side with less weight than this is not read: a wall."""

SWEPT = 24
"""More neighbours than a grid has, for the readings of sweeps."""

CHUNK = 4_000
"""Readings at a time, to bound memory."""


@dataclass(frozen=True)
class Contrasts:
    """Readings over the higher of their sides.

    Attributes
    ----------
    over : ndarray, shape (n, DIRECTIONS)
        Reading minus the higher side [reading]; -inf where neither side is read.
    sd : float
        What calm floor gives [reading].
    values : ndarray, shape (n,)
        The readings they were worked out from [reading].
    used : ndarray of bool, shape (n,)
        Those of them that may stand for floor.
    """

    over: Array
    sd: float
    values: Array
    used: NDArray[np.bool_]

    @property
    def greatest(self) -> Array:
        """Greatest over all directions, (n,) [reading]."""
        return np.asarray(self.over.max(axis=1))


def contrasts(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    used: NDArray[np.bool_],
    before: Contrasts | None = None,
) -> Contrasts:
    """Hold every reading against its sides.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, what is already known to be a thing taken out.
    used : ndarray of bool, shape (n,)
        Readings that may stand for floor.
    before : Contrasts, optional
        Worked out before: only near what has changed they are worked out anew.
    """
    near = max(NEAREST * scene.width, LEAST_NEAREST_M)
    far = max(near + STRIP_M, SPACINGS_WIDE * scene.spacing)
    along = max(LEAST_LONG_M, SPACINGS_LONG * scene.spacing)
    middle = np.array(0.5 * (near + far))
    sd = np.sqrt(1.3 * calm.noise + 2 * calm.texture * (1 - matern(middle, calm.length)))
    over = np.full((len(values), DIRECTIONS), -np.inf)
    wanted = np.arange(len(values))
    tree = scene.tree
    reach = float(np.hypot(far, along))
    if before is not None:
        over = before.over.copy()
        changed = (values != before.values) | (used != before.used)
        wanted = np.flatnonzero(near_any(scene, scene.points[changed], reach))
    most = int(min(len(values), np.ceil(1.15 * np.pi * (reach / scene.spacing) ** 2) + SWEPT))
    for start in range(0, wanted.size, CHUNK):
        part = wanted[start : start + CHUNK]
        distance, index = tree.query(scene.points[part], k=most, distance_upper_bound=reach)
        known = np.isfinite(distance) & (distance > 0)
        index = np.where(known, index, 0)
        known &= used[index]
        offset = scene.points[index] - scene.points[part][:, None]
        over[part] = _one_part(offset, values[index], known, values[part], (near, far, along))
    return Contrasts(over, float(sd), values.copy(), used.copy())


def _one_part(
    offset: Array,
    beside: Array,
    known: NDArray[np.bool_],
    here: Array,
    reach: tuple[float, float, float],
) -> Array:
    """Contrasts (p, DIRECTIONS) of some readings from their neighbours (p, k)."""
    near, far, long = reach
    found = np.empty((len(here), DIRECTIONS))
    for turn in range(DIRECTIONS):
        angle = np.pi * turn / DIRECTIONS
        along = offset[..., 0] * np.cos(angle) + offset[..., 1] * np.sin(angle)
        across = offset[..., 1] * np.cos(angle) - offset[..., 0] * np.sin(angle)
        aside = np.abs(across)
        strip = known & (np.abs(along) <= long) & (aside >= near) & (aside <= far)
        along *= along
        along *= -0.5 / (0.6 * long) ** 2
        weight = np.exp(along, out=along)
        weight *= strip
        sides = []
        for one in (weight * (across > 0), weight * (across < 0)):
            total = one.sum(axis=1)
            mean = np.einsum("pk,pk->p", one, beside) / np.maximum(total, 1e-9)
            sides.append(np.where(total > LEAST_WEIGHT, mean, np.nan))
        higher = np.fmax(*sides)
        found[:, turn] = np.where(np.isnan(higher), -np.inf, here - higher)
    return found


def near_any(scene: Scene, points: Array, within: float) -> NDArray[np.bool_]:
    """Return which readings lie within a distance [m] of some places (m, 2)."""
    if not len(points):
        return np.zeros(len(scene.values), dtype=bool)
    return np.asarray(cKDTree(points).query(scene.points)[0] <= within)
