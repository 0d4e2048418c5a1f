"""How well a machine at a position serves a wet place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.position import Positions
from moisturemap.floorplan import in_room_distance

Array = NDArray[np.float64]

HALF_ANGLE_DEG = 30.0
"""Half the opening of the stream of an air mover [degrees]; project choice."""

NEAR_M = 1.0
"""Round the machine itself the air moves whichever way it blows [m]."""

SIGHT = 1.02
"""A place is in sight where the way to it is no longer than this times the straight line."""


def ways(space: BaseGeometry, positions: Positions, places: Array) -> Array:
    """Length of the way air takes from positions to places (n, m) [m]; inf where none leads."""
    if not len(positions.points) or not len(places):
        return np.empty((len(positions.points), len(places)))
    distinct, inverse = np.unique(positions.points, axis=0, return_inverse=True)
    return in_room_distance(space, distinct, places)[inverse.ravel()]


def by_nearness(way: Array, reach: float) -> Array:
    """Service of dehumidifiers (n, m) [m]: how much nearer than the reach a place is."""
    return np.asarray(np.maximum(reach - way, 0.0))


def by_stream(way: Array, positions: Positions, places: Array, throw_m: float) -> Array:
    """Service of air movers (n, m), 1 at the machine to 0 at the end of its throw.

    Only places in sight, within ``HALF_ANGLE_DEG`` of where it blows or right beside it. Without a
    known direction, the best of all directions is taken place by place.
    """
    offset = places[None, :, :] - positions.points[:, None, :]
    straight = np.hypot(offset[..., 0], offset[..., 1])
    seen = way <= SIGHT * straight + 0.05
    angle = np.degrees(np.arctan2(offset[..., 1], offset[..., 0]))
    off = np.abs((angle - positions.direction_deg[:, None] + 180.0) % 360.0 - 180.0)
    within = np.isnan(off) | (off <= HALF_ANGLE_DEG) | (straight <= NEAR_M)
    fade = np.maximum(1.0 - straight / throw_m, 0.0)
    return np.asarray(np.where(seen & within, fade, 0.0))
