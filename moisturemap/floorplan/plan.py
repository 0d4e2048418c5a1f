"""The floor plan: rooms and lines in metres, in the plan's own frame."""

from __future__ import annotations

from dataclasses import dataclass, field

from shapely import unary_union
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan.line import PlanLine
from moisturemap.floorplan.room import Room


@dataclass(frozen=True)
class FloorPlan:
    """Rooms and lines of one floor [m], x right then y up.

    Attributes
    ----------
    rooms : tuple of Room
        Never empty; names are unique; polygons valid and not overlapping.
    lines : tuple of PlanLine
        Walls, joints, known services and the like.
    notes : tuple of str
        What was mended or assumed while reading, in sentences.
    same_named : tuple of tuple of str
        Rooms drawn with one name, by the names they have here; each group begins with that name.
    """

    rooms: tuple[Room, ...]
    lines: tuple[PlanLine, ...] = ()
    notes: tuple[str, ...] = ()
    same_named: tuple[tuple[str, ...], ...] = field(default=(), compare=False)

    @property
    def outline(self) -> BaseGeometry:
        """All rooms as one geometry [m]."""
        return unary_union([room.polygon for room in self.rooms])

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east, north [m]."""
        west, south, east, north = self.outline.bounds
        return west, south, east, north

    def room(self, name: str) -> Room:
        """Return the room of that name."""
        return {room.name: room for room in self.rooms}[name]

    def room_at(self, x: float, y: float) -> Room | None:
        """Return the room that covers a place [m], or None off the plan."""
        place = Point(x, y)
        return next((room for room in self.rooms if room.polygon.covers(place)), None)

    def lines_of(self, *kinds: str) -> tuple[PlanLine, ...]:
        """Return the lines of the given kinds."""
        return tuple(line for line in self.lines if line.kind in kinds)
