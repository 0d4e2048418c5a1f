"""Readings that stand far above the floor right around them, though not above all of the floor.

A meter that creeps, a floor read in part through a covering, rooms of two pours: what is high at
one end is usual at the other, and a leak is told from its own neighbours alone.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat import spacing_of
from moisturemap.survey import USED_FLAGS
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.standing_out import (
    BESIDE_M,
    BESIDE_SPACINGS,
    LEAST_READINGS,
    NEIGHBOURS,
    STANDS_OUT,
    UNKNOWN_NOISE,
    clear_level,
    far_above,
    groups,
)
from moisturemap.zones.wettest_part import TOP_SHARE

RING = (2.0, 5.0)
"""The floor around a reading lies between so many spacings of it; project choice."""

LEAST_AROUND = 8
"""Fewer readings of the same room around one tell no floor to hold it against; project choice."""

PLANE_STEPS = 20
"""Rounds of reweighting the plane of a room; it hardly moves after ten."""


def high_beside(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return readings far above the floor around them that other rules take for usual floor.

    Parameters
    ----------
    study : MappedVisit

    Returns
    -------
    tuple of HighPlace
        By neighbours, the highest first. What stands above the level or far above the whole floor,
        and its rim, is not among them: other rules ask for it.
    """
    used = study.readings[study.readings["flag"].isin((*USED_FLAGS, "stray"))]
    used = used.dropna(subset=["x", "y", "value"])
    if len(used) < LEAST_READINGS:
        return ()
    placed = used.groupby(["x", "y"], as_index=False).agg({"value": "mean", "room": "first"})
    places, value = placed[["x", "y"]].to_numpy(dtype=float), placed["value"].to_numpy(dtype=float)
    spacing = spacing_of(places)
    score = np.fmax(*(_scatters_above(study, placed, spacing, level) for level in (False, True)))
    clear = clear_level(study)
    bar = min(far_above(study, value)[1], np.inf if clear is None else clear)
    near, asked = NEIGHBOURS * spacing, []
    why = "readings stand far above the floor right around them"
    within = max(BESIDE_M, BESIDE_SPACINGS * spacing)
    some = np.flatnonzero((np.nan_to_num(score) > STANDS_OUT) & (value <= bar))
    for group in (some[one] for one in groups(places[some], near)):
        top = group[int(np.argmax(value[group]))]
        if _is_foot(group, top, places, value, near, bar):
            continue
        part = group[score[group] >= TOP_SHARE * score[top]]
        order = part[np.argsort(-value[part], kind="stable")]
        where = tuple((float(x), float(y)) for x, y in places[order])
        asked.append(HighPlace(why, "at the highest of them", "", within, float(value[top]), where))
    return tuple(sorted(asked, key=lambda one: -float(one.value or 0.0)))


def above_the_ring(placed: pd.DataFrame, spacing: float, level: bool) -> NDArray[np.float64]:
    """Return how far each reading stands above the middle of the floor around it.

    Parameters
    ----------
    placed : DataFrame
        ``x``, ``y`` [m], ``value`` and ``room``, one row a place.
    spacing : float
        Of the readings [m].
    level : bool
        Take out a slope over the whole room first, such as of a meter that creeps along the walk.

    Returns
    -------
    ndarray, shape (n,)
        [reading units]; NaN where too little of the same room was read around it.
    """
    places = placed[["x", "y"]].to_numpy(dtype=float)
    value = placed["value"].to_numpy(dtype=float, copy=True)
    room, height = placed["room"].to_numpy(dtype=str), np.full(len(placed), np.nan)
    for name in np.unique(room):
        own = np.flatnonzero(room == name)
        tree = cKDTree(places[own])
        if level:
            value[own] = _levelled(places[own], value[own])
        reached = tree.query_ball_point(places[own], RING[1] * spacing)
        for one, around in zip(own, reached, strict=True):
            away = np.hypot(*(places[own[around]] - places[one]).T)
            ring = own[around][away > RING[0] * spacing]
            if len(ring) >= LEAST_AROUND:
                height[one] = value[one] - float(np.median(value[ring]))
    return height


def _levelled(places: NDArray[np.float64], value: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return readings less the plane of least absolute deviations through them."""
    plane = np.column_stack([np.ones(len(value)), places - places.mean(axis=0)])
    weight = np.ones(len(value))
    rest = value
    for _ in range(PLANE_STEPS):
        root = np.sqrt(weight)
        found = np.linalg.lstsq(plane * root[:, None], value * root, rcond=None)[0]
        rest = value - plane @ found
        weight = 1.0 / np.maximum(np.abs(rest), 0.1 * float(np.median(np.abs(rest))) + 1e-9)
    return rest


def _scatters_above(
    study: MappedVisit, placed: pd.DataFrame, spacing: float, level: bool
) -> NDArray[np.float64]:
    """Height of readings above the floor around them in scatters of it, at least noise and step."""
    height = above_the_ring(placed, spacing, level)
    known = height[np.isfinite(height)]
    if len(known) < LEAST_READINGS:
        return np.full(len(height), np.nan)
    usual = 1.4826 * float(np.median(np.abs(known - np.median(known))))
    noise = study.clean.repeat_sd or UNKNOWN_NOISE * abs(float(placed["value"].median()))
    return height / max(usual, noise, study.clean.step, 1e-9)


def _is_foot(
    group: NDArray[np.intp],
    top: np.intp,
    places: NDArray[np.float64],
    value: NDArray[np.float64],
    near: float,
    bar: float,
) -> bool:
    """Whether a group lies at the foot of higher floor, for which a test is asked already."""
    beside = cKDTree(places).query_ball_point(places[group], near)
    around = np.unique(np.concatenate([np.asarray(one, dtype=int) for one in beside]))
    others = np.setdiff1d(around, group)
    return bool((value[others] > min(float(value[top]), bar)).any())
