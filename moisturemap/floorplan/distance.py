"""Distance inside a floor: the shortest way round corners, walls and columns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from scipy.spatial.distance import cdist
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan.joint import polygons_of
from moisturemap.floorplan.visibility import Sight, bends

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOptions:
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


def in_room_distance(
    geometry: BaseGeometry,
    sources: Array,
    targets: Array,
    *,
    options: WayOptions | None = None,
) -> Array:
    """Return the lengths of the shortest ways inside a floor.

    Parameters
    ----------
    geometry : Polygon or MultiPolygon
        Floor with holes [m].
    sources, targets : array_like, shape (n, 2) and (m, 2)
        Places [m].
    options : WayOptions, optional

    Returns
    -------
    ndarray, shape (n, m)
        Metres; inf where no way leads, or a place lies off the floor.

    Notes
    -----
    A shortest way in a polygon with holes is a chain of straight pieces that bends at reflex
    corners only (de Berg, Cheong, van Kreveld & Overmars 2008, Computational Geometry, 3rd ed.,
    lemma 15.1), so the visibility graph of those corners gives it exactly, up to the tolerance of
    the simplified outline. Cost: (n + corners) (edges^2 + m log edges) + n m corners.
    """
    options = options or WayOptions()
    start = np.asarray(sources, dtype=float).reshape(-1, 2)
    end = np.asarray(targets, dtype=float).reshape(-1, 2)
    if len(start) > len(end):
        return in_room_distance(geometry, end, start, options=options).T
    length = np.full((len(start), len(end)), np.inf)
    for part in polygons_of(geometry):
        ways = Ways(part, options)
        rows, from_places = ways.stand(start)
        columns, to_places = ways.stand(end)
        if rows.size and columns.size:
            for row, line in zip(rows, ways.lengths(from_places, to_places), strict=True):
                length[row, columns] = np.minimum(length[row, columns], line)
    return length


def shortest_path(
    geometry: BaseGeometry,
    source: tuple[float, float],
    target: tuple[float, float],
    *,
    options: WayOptions | None = None,
) -> LineString | None:
    """Return the shortest way between two places [m] as a line, or None when no way leads."""
    options = options or WayOptions()
    best: LineString | None = None
    for part in polygons_of(geometry):
        ways = Ways(part, options)
        from_place, to_place = ways.stand(np.array([source]))[1], ways.stand(np.array([target]))[1]
        if len(from_place) and len(to_place):
            way = ways.way(from_place[0], to_place[0])
            best = way if best is None or way.length < best.length else best
    return best


class Ways:
    """The visibility graph of one polygon."""

    def __init__(self, polygon: Polygon, options: WayOptions) -> None:
        self._options = options
        self._floor = simplified(polygon, options)
        self._sight = Sight(self._floor)
        self.corners = bends(self._floor)
        seen = np.array([self._sight.sees(corner, self.corners) for corner in self.corners])
        count = len(self.corners)
        direct = cdist(self.corners, self.corners) if count else np.empty((0, 0))
        graph = np.where(seen.reshape(count, count), direct, 0.0)
        self.between, self._before = (
            dijkstra(graph, return_predecessors=True, directed=False)
            if count
            else (graph, graph.astype(int))
        )

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

    def lengths(self, sources: Array, targets: Array) -> Iterator[Array]:
        """Yield for each source the shortest lengths (m,) to the targets [m]."""
        places = np.concatenate([self.corners, targets])
        count = len(self.corners)
        last_leg = np.full((count, len(targets)), np.inf)
        for index, corner in enumerate(self.corners):
            seen = self._sight.sees(corner, targets)
            last_leg[index, seen] = np.hypot(*(targets[seen] - corner).T)
        for source in sources:
            seen = self._sight.sees(source, places)
            line = np.hypot(*(targets - source).T)
            hidden = np.flatnonzero(~seen[count:])
            if hidden.size:
                first = np.where(seen[:count], np.hypot(*(self.corners - source).T), np.inf)
                line[hidden] = self._round_corners(first, last_leg, hidden)
            yield line

    def _round_corners(self, first: Array, last_leg: Array, hidden: NDArray[np.intp]) -> Array:
        if not len(first):
            return np.full(hidden.size, np.inf)
        to_corner = (first[:, None] + self.between).min(axis=0)
        best = np.full(hidden.size, np.inf)
        for reached, leg in zip(to_corner, last_leg, strict=True):
            np.minimum(best, reached + leg[hidden], out=best)
        return best

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


def simplified(polygon: Polygon, options: WayOptions) -> Polygon:
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
    simple = floor.simplify(options.tolerance) if options.tolerance > 0 else floor
    return simple if isinstance(simple, Polygon) and simple.is_valid and not simple.is_empty \
        else floor


def is_convex_enough(geometry: BaseGeometry, width: float = 0.35, detour: float = 0.5) -> bool:
    """Tell whether straight-line distance serves inside a floor.

    Parameters
    ----------
    geometry : Polygon or MultiPolygon
    width : float
        Recesses, nibs and columns up to this wide do not count [m]; moisture passes under them.
    detour : float
        Extra way that does not matter [m]; at least 2 % of the floor's diagonal is allowed.

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
