"""Single readings that stand alone among their neighbours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import NEAR_M, NEAR_SPACINGS, unknown_level, wet_covariance
from moisturemap.geostat import distances_within

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

NEIGHBOURS, NEAREST = 20, 8
"""Readings a single one is held against, and those whose order counts."""

DISCOUNTED = 2
"""Highest neighbours whose excess does not make the surroundings wet: they may be disturbed."""

APART = 2.3
"""Of readings nearer than this [spacings] only the strangest is taken in one round."""

ROUNDS = 3
"""How often it is looked again without those found."""

REACHED = 6.0
"""A reading found alone counted among the neighbours of those nearer than this [spacings]: twenty
of a grid lie within 2.5, at a straight edge within 3.6, in a corner within 5."""

LOWER = 1.25
"""What stands lower than its neighbours counts for so much more: nothing wet leaves the map with it
(our choice)."""

UNEVEN = 0.04
"""Share of what was taken out for a thing by which a reading may be off."""

CHUNK = 500
"""Readings at a time: their matrices fit into the cache of a core."""


def standing_alone(
    scene: Scene, calm: CalmFloor, values: Array, used: Mask, only: Index | None = None
) -> tuple[Array, Array]:
    """Residual of each reading against its neighbours and its sd, each (n,) [reading].

    With ``only`` those of some readings (k,), each (k,).

    The residual is the leave-one-out one (Dubrule 1983), with the covariance of wet floor where
    the neighbours are wet; and never more than the reading stands beyond all its nearest
    neighbours but one, so that no flank of wet floor counts.
    """
    source = np.flatnonzero(used)
    tree = type(scene.tree)(scene.points[source])
    count = min(NEIGHBOURS + 1, source.size)
    wanted = np.arange(len(values)) if only is None else only
    residual, sd = np.zeros(wanted.size), np.ones(wanted.size)
    for start in range(0, wanted.size, CHUNK):
        part = wanted[start : start + CHUNK]
        index = source[tree.query(scene.points[part], k=count)[1]]
        # the reading itself first, then its neighbours by distance
        own = index == part[:, None]
        rest = np.take_along_axis(index, np.argsort(own, axis=1, kind="stable"), axis=1)
        group = np.column_stack([part, rest[:, : count - 1]])
        done = slice(start, start + part.size)
        residual[done], sd[done] = _residual(scene, calm, values, group)
    return residual, sd


def _residual(
    scene: Scene, calm: CalmFloor, values: Array, group: NDArray[np.intp]
) -> tuple[Array, Array]:
    distance = distances_within(scene.points[group])
    over = values[group] - calm.base[group[:, 0]][:, None]
    excess = np.maximum(over[:, 1:] - 2 * calm.sd, 0.0)
    nearest = np.sort(excess[:, :NEAREST], axis=1)
    most = nearest[:, max(nearest.shape[1] - 1 - DISCOUNTED, 0)]
    weight = np.exp(-0.5 * (distance[:, 0, 1:] / max(NEAR_M, NEAR_SPACINGS * scene.spacing)) ** 2)
    amplitude = (weight * np.minimum(excess, most[:, None])).sum(axis=1) / weight.sum(axis=1)
    matrix = calm.between(distance) + unknown_level(calm)
    matrix += (amplitude**2)[:, None, None] * wet_covariance(distance)
    matrix += calm.noise * scene.share[group][:, :, None] * np.eye(group.shape[1])
    first = np.zeros((len(group), group.shape[1], 1))
    first[:, 0] = 1.0
    precision = np.linalg.solve(matrix, first)[..., 0]
    own = precision[:, 0]
    residual = np.einsum("nk,nk->n", precision, over) / own
    order = np.sort(values[group[:, 1 : NEAREST + 1]], axis=1)
    here = values[group[:, 0]]
    above, below = here - order[:, -2], here - order[:, 1]
    held = np.where(
        residual > 0,
        np.minimum(residual, np.maximum(above, 0.0)),
        np.maximum(residual, np.minimum(below, 0.0)),
    )
    return held, 1.0 / np.sqrt(own)


@dataclass(frozen=True)
class Held:
    """Readings held against their neighbours: residual and sd, and what they were worked out from.

    Each of shape (n,); what is unchanged about a reading need not be worked out again.
    """

    residual: Array
    sd: Array
    values: Array
    used: Mask


@dataclass(frozen=True)
class Lone:
    """Readings that stand alone.

    Attributes
    ----------
    off : ndarray, shape (n,)
        How far each stands off [reading]; 0 for those that do not.
    held : Held or None
        What it was judged by.
    """

    off: Array
    held: Held | None = None


def held_against(
    scene: Scene, calm: CalmFloor, values: Array, used: Mask, before: Held | None
) -> Held:
    """Hold all readings against their neighbours, anew only near what has changed."""
    if before is None:
        return Held(*standing_alone(scene, calm, values, used), values.copy(), used)
    changed = np.flatnonzero((values != before.values) | (used != before.used))
    if not changed.size:
        return before
    again = _neighbouring(scene, changed)
    residual, sd = before.residual.copy(), before.sd.copy()
    residual[again], sd[again] = standing_alone(scene, calm, values, used, again)
    return Held(residual, sd, values.copy(), used)


def _neighbouring(scene: Scene, found: Index) -> Index:
    """Return readings that may have had some among the neighbours they are held against."""
    near = scene.tree.query_ball_point(scene.points[found], REACHED * scene.spacing)
    return np.unique(np.concatenate([np.asarray(one, dtype=np.intp) for one in near]))


def find_lone(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    free: Mask,
    limit: float,
    known: Lone,
) -> Lone:
    """Find readings that stand alone.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, what is already known to be a thing taken out.
    free : ndarray of bool, shape (n,)
        Readings that may be found.
    limit : float
        Residual that counts [sd].
    known : Lone
        What was found before.

    Returns
    -------
    Lone
    """
    off, held = known.off.copy(), known.held
    loose = UNEVEN * np.abs(scene.values - values)
    tree = scene.tree
    for _ in range(ROUNDS):
        held = held_against(scene, calm, values, off == 0, held)
        strange = held.residual / np.hypot(held.sd, loose)
        strange = np.where(strange < 0, strange * LOWER, strange)
        found = np.flatnonzero((np.abs(strange) > limit) & free & (off == 0))
        if not found.size:
            break
        taken = np.zeros(len(values), dtype=bool)
        for one in found[np.argsort(-np.abs(strange[found]), kind="stable")]:
            if not taken[one]:
                off[one] = held.residual[one]
                taken[tree.query_ball_point(scene.points[one], APART * scene.spacing)] = True
    return Lone(off, held)
