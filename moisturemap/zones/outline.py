"""Zone outlines: smooth polygons from the map, joined across thin walls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import unary_union
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.bands import area_above

Array = NDArray[np.float64]

THIN_WALL_M = 0.35
"""Patches on one slab this close on two sides of a wall are one zone [m]."""


@dataclass(frozen=True, slots=True)
class Patch:
    """A connected part of the floor above the level, clipped to the rooms."""

    domain: Domain
    geometry: BaseGeometry
    rooms: tuple[str, ...]


def above(surface: MoistureSurface, plan: FloorPlan, values: Array, level: float) -> BaseGeometry:
    """Return the floor where values on the map's cells, shape (ny, nx), lie above a level."""
    return area_above(surface.on_cells(values), plan, level)


def by_domain(surface: MoistureSurface, area: BaseGeometry) -> list[tuple[Domain, BaseGeometry]]:
    """Split an area by domain, leaving out domains it does not reach."""
    parts: list[tuple[Domain, BaseGeometry]] = []
    for domain in surface.domains:
        if domain.key in surface.fields:
            here = polygons(domain.geometry.intersection(area))
            if here:
                parts.append((domain, MultiPolygon(here)))
    return parts


def polygons(geometry: BaseGeometry) -> list[Polygon]:
    """Return the polygons in a geometry, leaving out lines, points and slivers."""
    if isinstance(geometry, Polygon):
        return [geometry] if geometry.area > 1e-9 else []
    parts = getattr(geometry, "geoms", ())
    return [polygon for part in parts for polygon in polygons(part)]


def patches(surface: MoistureSurface, plan: FloorPlan, area: BaseGeometry) -> list[Patch]:
    """Split an area into connected patches, joined across thin walls of one slab."""
    found = []
    for domain, part in by_domain(surface, area):
        pieces = []
        for room in plan.rooms:
            if room.name in domain.rooms:
                inside = polygons(room.polygon.intersection(part))
                pieces += [(piece, room.name) for piece in inside]
        for group in _joined(pieces):
            geometry = unary_union([pieces[i][0] for i in group])
            rooms = tuple(dict.fromkeys(pieces[i][1] for i in group))
            found.append(Patch(domain, geometry, rooms))
    return found


def _joined(pieces: list[tuple[Polygon, str]]) -> list[list[int]]:
    """Group pieces that touch, or face each other across a thin wall."""
    group = list(range(len(pieces)))
    for i, (one, room) in enumerate(pieces):
        for j in range(i):
            other, other_room = pieces[j]
            reach = THIN_WALL_M if room != other_room else 1e-6
            if group[i] != group[j] and one.distance(other) <= reach:
                old, new = group[i], group[j]
                group = [new if g == old else g for g in group]
    return [[i for i, g in enumerate(group) if g == key] for key in dict.fromkeys(group)]
