"""Services and tendons of a building model in IFC (ISO 16739-1), as lines to keep clear of.

What lies in or just above the floor of the storey, or below it, is seen from above: slender
straight pieces as their axis, all others as their outline, so that the full width of a duct or the
bends of a heating pipe are kept clear of. The model tells heights, not what was built: detect and
mark out before drilling.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import PlanLine

CLASSES = {
    "IfcPipeSegment": "pipe",
    "IfcPipeFitting": "pipe",
    "IfcDuctSegment": "duct",
    "IfcDuctFitting": "duct",
    "IfcCableCarrierSegment": "cable duct",
    "IfcCableCarrierFitting": "cable duct",
    "IfcCableSegment": "cable",
    "IfcCableFitting": "cable",
    "IfcTendon": "tendon",
    "IfcTendonAnchor": "tendon",
    "IfcTendonConduit": "tendon",
    "IfcFlowSegment": "service",
    "IfcFlowFitting": "service",
}
"""Classes of ISO 16739-1 that are services or tendons, the closer ones first; models of IFC 2x3
have ``IfcFlowSegment`` and ``IfcFlowFitting`` only."""

ABOVE_M, BELOW_M = 0.5, 1.0
"""How far above and below the floor of the rooms a service counts as one of the floor [m] (our
choice, wide: a false line costs a hole elsewhere, a missing one a pipe)."""

BESIDE_M = 1.0
"""Services farther than this from every room of the storey are left out [m] (our choice)."""

SLENDER_M = 0.12
"""A straight piece up to this wide is drawn as its axis [m]: holes stay 0.3 m from it."""

MOST = 20_000
_GRID_M = 1e-4

Array = NDArray[np.float64]


@dataclass
class _Counts:
    drawn: int = 0
    high: int = 0
    shapeless: int = 0
    left: int = 0


def service_lines(
    model: Any, floor_m: float, rooms: Sequence[BaseGeometry]
) -> tuple[list[PlanLine], list[str]]:
    """Return the services near the floor of a storey, and what the model does not tell of them.

    Parameters
    ----------
    model : ifcopenshell.file
    floor_m : float
        Height of the floor [m].
    rooms : sequence of Polygon
        Rooms of the storey [m].

    Returns
    -------
    lines : list of PlanLine
        Of kind ``"known-service"`` [m].
    notes : list of str
        What was drawn, what was left out, and that a model proves no place free of services.
    """
    near = shapely.union_all([shapely.buffer(room, BESIDE_M) for room in rooms])
    lines: list[PlanLine] = []
    counts = _Counts()
    for element, word in _elements(model, counts):
        places, faces = _shape(element)
        if not len(places):
            counts.shapeless += 1
            continue
        if places[:, 2].max() < floor_m - BELOW_M or places[:, 2].min() > floor_m + ABOVE_M:
            counts.high += 1
            continue
        seen = _seen_from_above(places, faces)
        if seen.intersects(near):
            name = str(getattr(element, "Name", None) or "").strip()
            lines.append(PlanLine("known-service", seen, f"{word} {name}".strip()[:80]))
    counts.drawn = len(lines)
    return lines, _notes(counts)


def _elements(model: Any, counts: _Counts) -> Iterator[tuple[Any, str]]:
    met: set[int] = set()
    for name, word in CLASSES.items():
        try:
            found = model.by_type(name)
        except RuntimeError:  # this version of the standard has no such class
            continue
        for element in found:
            if element.id() in met:
                continue
            met.add(element.id())
            if len(met) > MOST:
                counts.left += 1
            else:
                yield element, word


def _shape(element: Any) -> tuple[Array, NDArray[np.intp]]:
    """Return corners (n, 3) [m] and triangles (m, 3) of an element, none without a shape."""
    from ifcopenshell import geom

    make: Any = geom
    settings = make.settings()
    settings.set("use-world-coords", True)
    try:
        shape: Any = make.create_shape(settings, element)
    except RuntimeError:
        return np.empty((0, 3)), np.empty((0, 3), dtype=np.intp)
    places: Array = np.asarray(shape.geometry.verts, dtype=float).reshape(-1, 3)
    return places, np.asarray(shape.geometry.faces, dtype=np.intp).reshape(-1, 3)


def _seen_from_above(places: Array, faces: NDArray[np.intp]) -> BaseGeometry:
    flat = [one for one in shapely.polygons(places[faces][:, :, :2]) if one.area > 0]
    if not flat:
        return shapely.convex_hull(shapely.multipoints(places[:, :2]))
    outline = shapely.union_all(np.array(flat), grid_size=_GRID_M)
    box = outline.minimum_rotated_rectangle
    if box.geom_type == "Polygon" and outline.area >= 0.9 * box.area:
        corners = np.asarray(box.exterior.coords)[:4]
        sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
        long = int(np.argmax(sides[:2]))
        if sides[:2].min() <= SLENDER_M and sides[long] >= 2 * sides[1 - long]:
            ends = [(corners[k] + corners[k - 1]) / 2 for k in (long, long + 2)]
            return LineString([tuple(end) for end in ends])
    return shapely.simplify(outline, 0.01)


def _notes(counts: _Counts) -> list[str]:
    if not counts.drawn + counts.high + counts.shapeless + counts.left:
        return [
            "The building model has no pipes, ducts, cables or tendons: services are not in this "
            "file. Draw what is known of them before holes are planned, and detect before drilling."
        ]
    said = [
        f"{counts.drawn} pipes, ducts, cables and tendons within {ABOVE_M:g} m above and "
        f"{BELOW_M:g} m below the floor are drawn as known services. A model shows what was "
        "planned, not what was built: detect before drilling."
    ]
    if counts.high:
        said.append(f"{counts.high} services farther above or below the floor are not drawn.")
    if counts.shapeless or counts.left:
        said.append(
            f"{counts.shapeless + counts.left} services of the model have no shape that can be "
            "read, on this storey or another: they are not drawn. Draw them by hand before holes "
            "are planned."
        )
    return said
