"""How well a machine at a position serves a wet place.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.position import Positions
from moisturemap.floorplan import geodesic_distance

Array = NDArray[np.float64]

HALF_ANGLE_DEG = 30.0
"""Half the opening of the stream of an air mover [degrees]; project choice."""

FULL_SHARE = 0.5
"""Share of the throw up to which the stream counts in full; it then fades to nothing at its end
(our choice: the stream of a fan slows with distance)."""

ON_WET_M = 0.35
ON_WET_SPACINGS = 0.75
"""Nearer than this to a wet place [m], or than this share of the distance between such places, a
machine stands on the wet floor."""

ON_WET = 0.8
"""What the service of a machine counts that stands on the wet floor (our choice): air movers are
set beside the patch they blow across, and leads and plugs stay off the wet."""

SIGHT = 1.02
"""A place is in sight where the way to it is no longer than this times the straight line."""


def ways(space: BaseGeometry, positions: Positions, places: Array) -> Array:
    """Length of the way air takes from positions to places (n, m) [m]; inf where none leads."""
    if not len(positions.points) or not len(places):
        return np.empty((len(positions.points), len(places)))
    distinct, inverse = np.unique(positions.points, axis=0, return_inverse=True)
    return geodesic_distance(space, distinct, places)[inverse.ravel()]


def by_nearness(way: Array, reach: float) -> Array:
    """Service of dehumidifiers (n, m) [m]: how much nearer than the reach a place is."""
    return np.asarray(np.maximum(reach - way, 0.0))


def by_stream(way: Array, positions: Positions, places: Array, throw_m: float) -> Array:
    """Service of air movers (n, m), 1 up to half the throw, falling to 0 at its end.

    Only places in sight and within ``HALF_ANGLE_DEG`` of where it blows: air is thrown forward, and
    what lies beside or behind the machine gets none. Without a known direction, the best of all
    directions is taken place by place.
    """
    offset = places[None, :, :] - positions.points[:, None, :]
    straight = np.hypot(offset[..., 0], offset[..., 1])
    seen = way <= SIGHT * straight + 0.05
    angle = np.degrees(np.arctan2(offset[..., 1], offset[..., 0]))
    off = np.abs((angle - positions.direction_deg[:, None] + 180.0) % 360.0 - 180.0)
    within = np.isnan(off) | (off <= HALF_ANGLE_DEG)
    fade = np.clip((1.0 - straight / throw_m) / (1.0 - FULL_SHARE), 0.0, 1.0)
    return np.asarray(np.where(seen & within, fade, 0.0))


def off_the_wet(positions: Positions, places: Array) -> Array:
    """Factor (n, 1) on the service of positions: below 1 on the wet floor itself."""
    if not len(positions.points) or not len(places):
        return np.ones((len(positions.points), 1))
    tree = cKDTree(places)
    apart = np.asarray(tree.query(places, k=2)[0])[:, 1] if len(places) > 1 else np.zeros(1)
    spacing = float(np.median(apart))
    near = tree.query(positions.points)[0] < max(ON_WET_M, ON_WET_SPACINGS * spacing)
    return np.where(near, ON_WET, 1.0)[:, None]
