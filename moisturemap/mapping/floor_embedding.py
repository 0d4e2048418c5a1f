"""Places of a domain in a space where straight distance follows the floor."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import GeodesicOptions, geodesic_distance, is_convex_enough
from moisturemap.geostat import Embedding
from moisturemap.mapping.kept_places import KeptPlaces

Array = NDArray[np.float64]

LANDMARKS = 120
CANDIDATES = 4000

SMALL_COLUMN_M = 0.6
"""Columns that fit into a square of this side are walked across: moisture passes beneath [m]."""


@dataclass(frozen=True)
class FloorEmbedding:
    """How places of a domain become coordinates for kriging.

    Where the floor is convex enough, coordinates are those of the plan. Elsewhere they are an
    embedding of the distances inside the floor, so that the two arms of a C-shaped floor do not
    colour each other through the void (Loland and Host, Environmetrics 14 (2003) 307).

    Attributes
    ----------
    geometry : shapely geometry
    landmarks : ndarray, shape (k, 2), or None
        Places whose distances carry the embedding; None for plain coordinates.
    scaling : Embedding or None
    """

    geometry: BaseGeometry
    landmarks: Array | None = None
    scaling: Embedding | None = None
    _kept: KeptPlaces = field(default_factory=KeptPlaces, compare=False, repr=False)

    @classmethod
    def of(cls, geometry: BaseGeometry) -> FloorEmbedding:
        """Choose plain coordinates or an embedding for a domain; the last few floors are kept."""
        return _embedding_of(geometry)

    @classmethod
    def made(cls, geometry: BaseGeometry) -> FloorEmbedding:
        """Choose plain coordinates or an embedding for a domain."""
        if is_convex_enough(geometry):
            return cls(geometry)
        landmarks = _spread_places(geometry, LANDMARKS)
        distance = geodesic_distance(geometry, landmarks, landmarks, options=_options())
        reached = np.isfinite(distance).all(axis=1)
        if np.count_nonzero(reached) < 8:
            return cls(geometry)
        landmarks, distance = landmarks[reached], distance[np.ix_(reached, reached)]
        return cls(geometry, landmarks, Embedding.of(0.5 * (distance + distance.T)))

    @property
    def is_straight(self) -> bool:
        """True when coordinates are those of the plan."""
        return self.scaling is None

    def coordinates(self, points: Array) -> Array:
        """Coordinates for kriging of plan places (m, 2) [m]: (m, 2) or (m, dimensions)."""
        scaling, landmarks = self.scaling, self.landmarks
        if scaling is None or landmarks is None:
            return points
        if len(points) == 0:
            return np.empty((0, scaling.coordinates.shape[1]))
        return self._kept.of(points, lambda new: self._embedded(new, scaling, landmarks))

    def _embedded(self, points: Array, embedding: Embedding, landmarks: Array) -> Array:
        distance = geodesic_distance(self.geometry, landmarks, points, options=_options())
        lost = ~np.isfinite(distance).all(axis=0)
        if lost.any():
            moved = self._onto_floor(points[lost])
            distance[:, lost] = geodesic_distance(
                self.geometry, landmarks, moved, options=_options()
            )
            straight = np.hypot(*(landmarks[:, None, :] - points[None, :, :]).T).T
            distance = np.where(np.isfinite(distance), distance, straight)
        return embedding.place(distance)

    def _onto_floor(self, points: Array) -> Array:
        """Move places that stand off the floor to its nearest point."""
        nearest = shapely.shortest_line(self.geometry, shapely.points(points))
        return np.asarray(shapely.get_coordinates(shapely.get_point(nearest, 0)))


@lru_cache(maxsize=8)
def _embedding_of(geometry: BaseGeometry) -> FloorEmbedding:
    return FloorEmbedding.made(geometry)


def _options() -> GeodesicOptions:
    return GeodesicOptions(ignore_below=SMALL_COLUMN_M)


def _spread_places(geometry: BaseGeometry, count: int) -> Array:
    """Places spread over a floor, each the farthest from those before."""
    west, south, east, north = geometry.bounds
    step = float(np.sqrt(geometry.area / CANDIDATES))
    x, y = np.meshgrid(
        np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)
    )
    places = np.column_stack([x.ravel(), y.ravel()])
    places = places[shapely.contains_xy(geometry, places[:, 0], places[:, 1])]
    if len(places) <= count:
        return np.asarray(places)
    chosen = [0]
    gap = np.hypot(*(places - places[0]).T)
    for _ in range(count - 1):
        chosen.append(int(gap.argmax()))
        gap = np.minimum(gap, np.hypot(*(places - places[chosen[-1]]).T))
    return np.asarray(places[chosen])
