"""Distance inside a floor: the shortest way round corners, walls and columns."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from scipy.spatial.distance import cdist
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.checked import checked
from moisturemap.floorplan.joint import polygons_of
from moisturemap.floorplan.visibility import MOST_VIEWS, Sight, bends

Array = NDArray[np.float64]

BLOCK = 8192
"""Targets worked on at once: bounds the memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class GeodesicOptions:
    """How closely the shape of a floor is followed.

    Attributes
    ----------
    tolerance : float
        Walls and round columns are first simplified by at most this much [m].
    ignore_below : float
        Holes (columns, pits) that fit into a square of this side are walked across [m]. Columns
        much smaller than the spacing of the readings change no map, but cost time.
    snap : float
        A place this close outside the walls counts as standing at the wall [m].
    """

    tolerance: float = 0.01
    ignore_below: float = 0.0
    snap: float = 0.05


def geodesic_distance(
    geometry: BaseGeometry,
    sources: Array,
    targets: Array,
    *,
    options: GeodesicOptions | None = None,
) -> Array:
    """Return the lengths of the shortest ways inside a floor.

    Parameters
    ----------
    geometry : Polygon or MultiPolygon
        Floor with holes [m].
    sources, targets : array_like, shape (n, 2) and (m, 2)
        Places [m].
    options : GeodesicOptions, optional

    Returns
    -------
    ndarray, shape (n, m)
        Metres; inf where no way leads, or a place lies off the floor.

    Notes
    -----
    A shortest way in a polygon with holes is a chain of straight pieces that bends at reflex
    corners only (de Berg, Cheong, van Kreveld & Overmars 2008, Computational Geometry, 3rd ed.,
    lemma 15.1), so the visibility graph of those corners gives it exactly, up to the tolerance of
    the simplified outline.
    """
    options = options or GeodesicOptions()
    start = np.asarray(sources, dtype=float).reshape(-1, 2)
    end = np.asarray(targets, dtype=float).reshape(-1, 2)
    if len(start) > len(end):
        return geodesic_distance(geometry, end, start, options=options).T
    length = np.full((len(start), len(end)), np.inf)
    for part in polygons_of(geometry):
        ways = paths_of(part, options)
        rows, from_places = ways.stand(start)
        columns, to_places = ways.stand(end)
        if rows.size == len(start) and columns.size == len(end):
            return ways.lengths(from_places, to_places)
        if rows.size and columns.size:
            window = np.ix_(rows, columns)
            length[window] = np.minimum(length[window], ways.lengths(from_places, to_places))
    return length


def shortest_path(
    geometry: BaseGeometry,
    source: tuple[float, float],
    target: tuple[float, float],
    *,
    options: GeodesicOptions | None = None,
) -> LineString | None:
    """Return the shortest way between two places [m] as a line, or None when no way leads.

    Parameters
    ----------
    geometry : shapely geometry
        Floor [m].
    source : (float, float)
        x, y [m].
    target : (float, float)
        x, y [m].
    options : GeodesicOptions, optional
    """
    options = options or GeodesicOptions()
    best: LineString | None = None
    for part in polygons_of(geometry):
        ways = paths_of(part, options)
        from_place, to_place = ways.stand(np.array([source]))[1], ways.stand(np.array([target]))[1]
        if len(from_place) and len(to_place):
            way = ways.way(from_place[0], to_place[0])
            best = way if best is None or way.length < best.length else best
    return best


@dataclass(frozen=True)
class LastLegs:
    """The straight last pieces of ways, from a corner to a target, sorted by target."""

    count: int
    corner: NDArray[np.intp]
    length: Array
    reached: NDArray[np.intp]
    begin: NDArray[np.intp]

    @classmethod
    def sorted(
        cls,
        count: int,
        target: list[NDArray[np.intp]],
        corner: list[NDArray[np.intp]],
        length: list[Array],
    ) -> LastLegs:
        """Sort legs, found corner by corner, by the target they reach."""
        if not target:
            nothing = np.empty(0, dtype=np.intp)
            return cls(count, nothing, np.empty(0), nothing, nothing)
        where = np.concatenate(target)
        order = np.argsort(where, kind="stable")
        reached, begin = np.unique(where[order], return_index=True)
        return cls(
            count, np.concatenate(corner)[order], np.concatenate(length)[order], reached, begin
        )

    def shortest(self, to_corner: Array) -> Array:
        """Shortest length (count,) to each target over its last legs [m]; inf without one."""
        shortest = np.full(self.count, np.inf)
        if self.reached.size:
            whole = to_corner[self.corner] + self.length
            shortest[self.reached] = np.minimum.reduceat(whole, self.begin)
        return shortest


@lru_cache(maxsize=16)
def paths_of(polygon: Polygon, options: GeodesicOptions) -> Paths:
    """Return the visibility graph of a polygon; the last few are kept."""
    return Paths(polygon, options)


class Paths:
    """The visibility graph of one polygon."""

    def __init__(self, polygon: Polygon, options: GeodesicOptions) -> None:
        self._options = options
        self._floor = simplified(polygon, options)
        self._sight = Sight(self._floor)
        self._bends = bends(self._floor)
        self.corners = self._bends.corner
        count = len(self.corners)
        graph = np.zeros((count, count))
        for index in range(count):
            graph[index] = self._leg(self.corners[index])
        graph[np.isinf(graph)] = 0.0
        self.between: Array = graph
        self._before: NDArray[np.int32] = np.zeros((count, count), dtype=np.int32)
        self._firsts: dict[bytes, Array] = {}
        if count:
            self.between, self._before = dijkstra(graph, directed=False, return_predecessors=True)

    def stand(self, places: Array) -> tuple[NDArray[np.intp], Array]:
        """Return which places are on the floor, and those places moved inside the walls."""
        points = shapely.points(places)
        gap = shapely.distance(self._floor, points)
        rows = np.flatnonzero(gap <= self._options.snap)
        inside = places[rows].copy()
        off = gap[rows] > 0
        if off.any():
            lines = shapely.shortest_line(self._floor, points[rows][off])
            inside[off] = shapely.get_coordinates(shapely.get_point(lines, 0))
        return rows, inside

    def lengths(self, sources: Array, targets: Array) -> Array:
        """Return the lengths (n, m) of the shortest ways from sources to targets [m]."""
        length = np.asarray(cdist(sources, targets))
        firsts = [self._to_corners(source) for source in sources]
        for begin in range(0, len(targets), BLOCK):
            block = targets[begin : begin + BLOCK]
            legs = self._last_legs(block)
            for row, (source, first) in enumerate(zip(sources, firsts, strict=True)):
                hidden = ~self._sight.sees(source, block)
                if hidden.any():
                    line = length[row, begin : begin + BLOCK]
                    np.copyto(line, legs.shortest(first), where=hidden)
        return length

    def _to_corners(self, source: Array) -> Array:
        """Shortest lengths (k,) from a place to each corner [m]; kept for the next time."""
        key = source.tobytes()
        shortest = self._firsts.get(key)
        if shortest is None:
            first = self._leg(source)
            seen = np.isfinite(first)
            shortest = np.full(len(self.corners), np.inf)
            if seen.any():
                shortest = (first[seen, None] + self.between[seen]).min(axis=0)
            if len(self._firsts) >= MOST_VIEWS:
                self._firsts = {}
            self._firsts[key] = shortest
        return shortest

    def _last_legs(self, targets: Array) -> LastLegs:
        target, corner, length = [], [], []
        for index, place in enumerate(self.corners):
            taut = np.flatnonzero(self._bends.taut(index, targets))
            reached = taut[self._sight.sees(place, targets[taut])]
            target.append(reached)
            corner.append(np.full(reached.size, index))
            length.append(np.hypot(*(targets[reached] - place).T))
        return LastLegs.sorted(len(targets), target, corner, length)

    def way(self, source: Array, target: Array) -> LineString:
        """Return the shortest way between two places inside the walls."""
        if not len(self.corners) or self._sight.sees(source, target[None])[0]:
            return LineString([source, target])
        first = self._leg(source)
        last = self._leg(target)
        total = first[:, None] + self.between + last[None, :]
        start, corner = np.unravel_index(total.argmin(), total.shape)
        chain = [target, self.corners[corner]]
        while corner != start:
            corner = self._before[start, corner]
            chain.append(self.corners[corner])
        return LineString([*chain, source][::-1])

    def _leg(self, place: Array) -> Array:
        seen = self._sight.sees(place, self.corners)
        leg: Array = np.where(seen, np.hypot(*(self.corners - place).T), np.inf)
        return leg


def simplified(polygon: Polygon, options: GeodesicOptions) -> Polygon:
    """Return the floor with small holes left out and its outline simplified within tolerance."""
    holes = [
        ring
        for ring in polygon.interiors
        if max(
            ring.bounds[2] - ring.bounds[0],
            ring.bounds[3] - ring.bounds[1],
        )
        >= options.ignore_below
    ]
    floor = Polygon(polygon.exterior, holes)
    if options.tolerance <= 0:
        return floor
    simple = floor.simplify(options.tolerance)
    sound = isinstance(simple, Polygon) and simple.is_valid and not simple.is_empty
    return simple if sound else floor


def is_convex_enough(geometry: BaseGeometry, width: float = 0.35, detour: float = 0.5) -> bool:
    """Tell whether straight-line distance serves inside a floor.

    Parameters
    ----------
    geometry : Polygon or MultiPolygon
    width : float
        Recesses, nibs and columns up to this wide do not count [m]; moisture passes under them.
    detour : float
        Extra way that does not matter [m]; at least 2% of the floor's diagonal is allowed.

    Returns
    -------
    bool
        True when the floor is one piece and nowhere the way round an obstacle is longer than
        the straight line by more than the allowed detour.
    """
    parts = polygons_of(geometry)
    if len(parts) != 1:
        return False
    floor = parts[0]
    west, south, east, north = floor.bounds
    allowed = max(detour, 0.02 * float(np.hypot(east - west, north - south)))
    hull = floor.convex_hull
    voids = hull.difference(floor).buffer(-width / 2, join_style="mitre")
    voids = voids.buffer(width / 2 + 1e-9, join_style="mitre")
    return all(_detour(void, hull) <= allowed for void in polygons_of(voids))


def _detour(void: Polygon, hull: BaseGeometry) -> float:
    """Longest extra way round a void, not less than the true one [m]."""
    outline = void.exterior
    lid = outline.intersection(hull.boundary.buffer(1e-6)).length
    if lid > 0:
        return float(outline.length - 2 * lid)
    box = void.minimum_rotated_rectangle.exterior.coords
    sides = [float(np.hypot(*np.subtract(box[i], box[i + 1])[:2])) for i in (0, 1)]
    return float(outline.length / 2 - min(sides))
