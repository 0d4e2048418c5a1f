"""A straight thing: its course, its ends and the response across it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

REACH = 3.0
"""Beyond this many widths nothing is felt of it."""


@dataclass(frozen=True)
class Ridge:
    """A straight ridge [m]: centre, direction [rad], length and sd of its profile."""

    centre: tuple[float, float]
    angle: float
    length: float
    width: float

    @classmethod
    def of(cls, first: Array, last: Array, width: float) -> Ridge:
        """Build from its ends, each (2,) [m]."""
        middle, way = 0.5 * (first + last), last - first
        angle = float(np.arctan2(way[1], way[0]))
        return cls((float(middle[0]), float(middle[1])), angle, float(np.hypot(*way)), float(width))

    @property
    def way(self) -> Array:
        """Unit vector along the ridge."""
        return np.array([np.cos(self.angle), np.sin(self.angle)])

    @property
    def ends(self) -> Array:
        """Both ends, shape (2, 2) [m]."""
        half = 0.5 * self.length * self.way
        return np.array([np.asarray(self.centre) - half, np.asarray(self.centre) + half])

    @property
    def extent(self) -> float:
        """Half its length [m]."""
        return 0.5 * self.length

    @property
    def reach(self) -> float:
        """How far from its centre it is felt at most [m]."""
        return self.extent + REACH * self.width

    def frame(self, points: Array) -> tuple[Array, Array]:
        """Coordinates along and across the ridge from its centre, each (n,) [m]."""
        offset = points - np.asarray(self.centre)
        way = self.way
        return offset @ way, offset @ np.array([-way[1], way[0]])

    def past(self, points: Array) -> Array:
        """How far points (n, 2) lie past its ends, 0 beside it, (n,) [m]."""
        along, _ = self.frame(points)
        return np.maximum(np.abs(along) - self.extent, 0.0)

    def rise(self, points: Array) -> Array:
        """Rise of readings at points (n, 2) for a unit of strength, (n,)."""
        _, across = self.frame(points)
        away = np.hypot(self.past(points), across) / self.width
        return np.where(away <= REACH, np.exp(-0.5 * away**2), 0.0)

    @staticmethod
    def rises(ends: Array, widths: Array, points: Array) -> Array:
        """Rise at points (n, 2) for many ridges at once, ends (k, 2, 2) and widths (k,): (n, k)."""
        middle, way = 0.5 * (ends[:, 0] + ends[:, 1]), ends[:, 1] - ends[:, 0]
        length = np.hypot(way[:, 0], way[:, 1])
        way = way / length[:, None]
        along = points @ way.T - (middle * way).sum(axis=1)
        across = points[:, 1:] * way[:, 0] - points[:, :1] * way[:, 1]
        across -= middle[:, 1] * way[:, 0] - middle[:, 0] * way[:, 1]
        past = np.maximum(np.abs(along) - 0.5 * length, 0.0)
        away = (past**2 + across**2) / widths**2
        return np.where(away <= REACH**2, np.exp(-0.5 * away), 0.0)

    def slope(self, points: Array) -> Array:
        """How fast the rise changes across the ridge at points (n, 2), (n,) [1/m]."""
        _, across = self.frame(points)
        return self.rise(points) * np.abs(across) / self.width**2
