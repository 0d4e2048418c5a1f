"""Joints that part a slab, and the pieces they leave."""

from __future__ import annotations

import math
from collections.abc import Iterable

from shapely import polygonize, unary_union
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan.line import PlanLine

JOINT_KINDS = ("movement-joint", "day-joint")

JOINT_REACH_M = 0.35
"""A joint drawn this much short of the wall still parts the slab [m]."""

SLIVER_WIDTH_M = 0.10
"""A piece narrower than this stays with its neighbour [m]: no reading could lie in it."""


def cut_by_joints(geometry: BaseGeometry, joints: Iterable[PlanLine]) -> list[Polygon]:
    """Cut an area along its joints and return the pieces, largest first.

    A joint that ends inside the floor, farther than ``JOINT_REACH_M`` from any edge or other
    joint, parts nothing.
    """
    lines = [_reach_out(part) for joint in joints for part in _line_parts(joint.geometry)]
    crossing = [line for line in lines if line.intersects(geometry)]
    if not crossing:
        return sorted(polygons_of(geometry), key=lambda piece: -piece.area)
    net = unary_union([geometry.boundary, *crossing])
    faces = [
        face
        for face in polygonize(list(getattr(net, "geoms", [net]))).geoms
        if geometry.covers(face.representative_point())
    ]
    return _join_slivers(faces)


def polygons_of(geometry: BaseGeometry) -> list[Polygon]:
    """Return the polygons an area consists of."""
    if isinstance(geometry, Polygon):
        return [] if geometry.is_empty else [geometry]
    return [part for item in getattr(geometry, "geoms", []) for part in polygons_of(item)]


def _line_parts(geometry: BaseGeometry) -> list[LineString]:
    if isinstance(geometry, Polygon):
        return _line_parts(geometry.boundary)
    if hasattr(geometry, "geoms"):
        return [part for item in geometry.geoms for part in _line_parts(item)]
    return [LineString(geometry.coords)] if geometry.length > 0 else []


def _reach_out(line: LineString) -> LineString:
    places = list(line.coords)
    if line.is_closed:
        return line
    return LineString([_beyond(places[1], places[0]), *places, _beyond(places[-2], places[-1])])


def _beyond(start: tuple[float, ...], end: tuple[float, ...]) -> tuple[float, float]:
    run, rise = end[0] - start[0], end[1] - start[1]
    length = math.hypot(run, rise) or 1.0
    return end[0] + run / length * JOINT_REACH_M, end[1] + rise / length * JOINT_REACH_M


def _join_slivers(faces: list[Polygon]) -> list[Polygon]:
    pieces = sorted(faces, key=lambda piece: -piece.area)
    broad = [p for p in pieces if not p.buffer(-SLIVER_WIDTH_M / 2).is_empty]
    for sliver in (p for p in pieces if p.buffer(-SLIVER_WIDTH_M / 2).is_empty):
        shared = [sliver.intersection(piece).length for piece in broad]
        if shared and max(shared) > 0:
            best = shared.index(max(shared))
            joined = polygons_of(unary_union([broad[best], sliver]))
            broad[best] = max(joined, key=lambda piece: piece.area)
    return sorted(broad or pieces, key=lambda piece: -piece.area)
