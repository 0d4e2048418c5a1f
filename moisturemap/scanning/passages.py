"""Ways on foot through a plan: inside a room round its corners, between rooms through the doors.

A shortest way bends at corners and at sills only, so the doors' sills are joined into a graph whose
edges are the shortest ways inside a room (``floorplan.geodesic``) and the steps across a wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import LineString, Point, Polygon

from moisturemap.floorplan import FloorPlan, geodesic_distance, shortest_path

Place = tuple[float, float]

DOOR_REACH_M = 0.4
"""A door drawn this near to two rooms joins them [m] (our choice: most inner walls are thinner)."""

NO_STEP_M = 1e-6
"""Length of the way through a door in a wall of no thickness [m]; a graph takes 0 for no way."""


@dataclass(frozen=True)
class Sill:
    """Where a door is entered from a room [m]."""

    door: int
    room: str
    place: Place


class Passages:
    """The shortest ways on foot between places of a plan.

    Parameters
    ----------
    plan : FloorPlan
        Its lines of kind ``"door"`` join the rooms within ``DOOR_REACH_M`` of their middle.
    """

    def __init__(self, plan: FloorPlan) -> None:
        self._rooms: dict[str, Polygon] = {room.name: room.polygon for room in plan.rooms}
        self._sills = _sills(plan)
        self._in_room = {
            name: [k for k, sill in enumerate(self._sills) if sill.room == name]
            for name in self._rooms
        }
        self._between, self._before = self._shortest()

    def length(self, room: str, start: Place, other: str, end: Place) -> float:
        """Return how far it is on foot [m]; inf where no doors lead from the one to the other."""
        if room == other:
            return float(self._inside(room, start, [end])[0])
        return float(self._over_sills(room, start, other, end).min(initial=np.inf))

    def way(self, room: str, start: Place, other: str, end: Place) -> LineString | None:
        """Return the shortest way on foot, or None where no doors lead there."""
        if room == other:
            return self._leg(room, start, end)
        lengths = self._over_sills(room, start, other, end)
        if not np.isfinite(lengths).any():
            return None
        row, column = np.unravel_index(int(lengths.argmin()), lengths.shape)
        chain = self._chain(self._in_room[room][row], self._in_room[other][column])
        places = list(self._leg(room, start, self._sills[chain[0]].place).coords)
        for one, next_one in pairwise(chain):
            places += self._between_sills(self._sills[one], self._sills[next_one])[1:]
        return LineString([*places, *self._leg(other, places[-1], end).coords[1:]])

    def _over_sills(self, room: str, start: Place, other: str, end: Place) -> NDArray[np.float64]:
        """Lengths [m] over each sill of the one room and each of the other."""
        out, back = self._in_room[room], self._in_room[other]
        first = self._inside(room, start, [self._sills[k].place for k in out])
        last = self._inside(other, end, [self._sills[k].place for k in back])
        lengths: NDArray[np.float64] = (
            first[:, None] + self._between[np.ix_(out, back)] + last[None, :]
        )
        return lengths

    def _inside(self, room: str, start: Place, ends: list[Place]) -> NDArray[np.float64]:
        if not ends:
            return np.empty(0)
        return _on_foot(self._rooms[room], start, ends)

    def _leg(self, room: str, start: Place, end: Place) -> LineString:
        """Return the way inside a room; straight where the plan leaves no other."""
        straight = LineString([start, end])
        if shapely.covers(self._rooms[room], straight):
            return straight
        return shortest_path(self._rooms[room], start, end) or straight

    def _shortest(self) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
        count = len(self._sills)
        if not count:
            return np.empty((0, 0)), np.empty((0, 0), dtype=np.int32)
        graph = np.zeros((count, count))
        for name, here in self._in_room.items():
            for k in here:
                places = [self._sills[j].place for j in here]
                graph[k, here] = self._inside(name, self._sills[k].place, places)
        for one, other in combinations(range(count), 2):
            if self._sills[one].door == self._sills[other].door:
                across = np.subtract(self._sills[one].place, self._sills[other].place)
                graph[one, other] = graph[other, one] = max(float(np.hypot(*across)), NO_STEP_M)
        graph[~np.isfinite(graph)] = 0.0
        between, before = dijkstra(graph, directed=False, return_predecessors=True)
        return between, before

    def _chain(self, first: int, last: int) -> list[int]:
        chain = [last]
        while chain[-1] != first:
            chain.append(int(self._before[first, chain[-1]]))
        return chain[::-1]

    def _between_sills(self, one: Sill, other: Sill) -> list[Place]:
        if one.door == other.door:
            return [one.place, other.place]
        return list(self._leg(one.room, one.place, other.place).coords)


def _on_foot(room: Polygon, start: Place, ends: list[Place]) -> NDArray[np.float64]:
    lengths: NDArray[np.float64] = geodesic_distance(room, np.array([start]), np.array(ends))[0]
    return lengths


def _sills(plan: FloorPlan) -> list[Sill]:
    sills: list[Sill] = []
    for number, line in enumerate(one for one in plan.lines if one.kind == "door"):
        middle = _middle(line.geometry)
        near = [room for room in plan.rooms if room.polygon.distance(middle) <= DOOR_REACH_M]
        sills += [Sill(number, room.name, _on(room.polygon, middle)) for room in near]
    return sills


def _middle(door: shapely.Geometry) -> Point:
    if isinstance(door, LineString):
        return door.interpolate(0.5, normalized=True)
    return door.centroid


def _on(room: Polygon, middle: Point) -> Place:
    """Return the place of a room nearest to a door."""
    near = shapely.get_point(shapely.shortest_line(room, middle), 0)
    return float(near.x), float(near.y)
