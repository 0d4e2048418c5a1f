"""A hint of where the water of a zone may come from, with its evidence; never a finding."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan, exterior_walls

TOUCH_M = 0.15
"""A zone this close to a wall touches it [m]."""

ALONG = 0.6
"""Share of a zone's longest extent a line must run inside it to be followed by the zone."""


def source_hint(
    zone: BaseGeometry, peak: tuple[float, float], plan: FloorPlan, flagged: gpd.GeoDataFrame | None
) -> str:
    """Return what the shape of a zone suggests about its source, in one sentence.

    Parameters
    ----------
    zone : shapely geometry
        The zone [m].
    peak : (float, float)
        Place of its highest mapped reading [m].
    plan : FloorPlan
    flagged : GeoDataFrame or None
        Anomalies with ``anomaly, kind, geometry``.
    """
    followed = [
        *_followed(
            zone,
            [
                (_named(line.kind, line.name), line.geometry)
                for line in plan.lines_of("movement-joint", "day-joint")
            ],
        ),
        *_followed(
            zone,
            [
                (f"the known service {line.name}".strip(), line.geometry)
                for line in plan.lines_of("known-service")
            ],
        ),
        *_followed(zone, _flagged_lines(flagged)),
    ]
    found = [f"lies along {name} for {length:.1f} m" for name, length in followed]
    touch = _wall_touch(zone, peak, plan)
    if touch:
        found.append(touch)
    if not found:
        gap = zone.distance(plan.outline.boundary)
        if gap <= TOUCH_M:
            return ""
        found = [f"stands by itself, {gap:.1f} m from the nearest wall"]
    return f"Hint, not a finding: the zone {' and '.join(found)}."


def _named(kind: str, name: str) -> str:
    words = f"the {kind.replace('-', ' ')}"
    return f"{words} {name}" if name else words


def _flagged_lines(flagged: gpd.GeoDataFrame | None) -> list[tuple[str, BaseGeometry]]:
    if flagged is None or flagged.empty:
        return []
    named = zip(flagged["kind"], flagged["anomaly"], flagged.geometry, strict=True)
    return [(f"the flagged line {name}", line) for kind, name, line in named if kind == "line"]


def _followed(zone: BaseGeometry, lines: list[tuple[str, BaseGeometry]]) -> list[tuple[str, float]]:
    """Return the lines that run through most of a zone's length, with that length [m]."""
    extent = _longest_extent(zone)
    near = zone.buffer(TOUCH_M)
    found = []
    for name, line in lines:
        length = float(line.intersection(near).length)
        if length >= ALONG * extent:
            found.append((name, length))
    return found


def _longest_extent(zone: BaseGeometry) -> float:
    box = zone.minimum_rotated_rectangle
    ring = np.asarray(getattr(box, "exterior", box).coords)
    return float(np.hypot(*np.diff(ring, axis=0).T).max())


def _wall_touch(zone: BaseGeometry, peak: tuple[float, float], plan: FloorPlan) -> str:
    """Say along which kind of wall a zone lies, over what length and how far its peak is."""
    wall, assumed = exterior_walls(plan)
    name = "the outer edge of the plan" if assumed else "an exterior wall"
    length = float(wall.intersection(zone.buffer(TOUCH_M)).length)
    if length < 0.5:
        return ""
    gap = wall.distance(Point(peak))
    return f"touches {name} over {length:.1f} m, its peak {gap:.1f} m from it"
