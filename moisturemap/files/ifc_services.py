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

from moisturemap.floorplan import NOT_KEPT_CLEAR, PlanLine

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
    "IfcDistributionChamberElement": "chamber",
    "IfcTank": "tank",
    "IfcSpaceHeater": "heater",
    "IfcDistributionElement": "service",
}
"""Classes of ISO 16739-1 that are services or tendons, the closer ones first; all other parts of
services, and those of models of IFC 2x3, are ``IfcDistributionElement``."""

NOT_TOLD = {
    "IfcReinforcingElement": "bars, meshes and the like",
    "IfcBuildingElementProxy": "objects of no class",
}
"""Classes that are no services by the standard, and may lie in the floor all the same."""

ABOVE_M, BELOW_M = 0.5, 1.0
"""How far above and below the floor of the rooms a service counts as one of the floor [m] (our
choice, wide: a false line costs a hole elsewhere, a missing one a pipe)."""

BESIDE_M = 1.0
"""Services farther than this from every room of the storey are left out [m] (our choice)."""

SLENDER_M = 0.12
"""A straight piece up to this wide is drawn as its axis [m]: holes stay 0.3 m from it."""

IN_FLOOR_M = 0.01
"""What reaches this far below the top of the floor lies in it [m] (our choice)."""

MOST, MOST_LOOKED_AT = 20_000, 2_000
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
        shape = _shape(element)
        if shape is None:
            counts.shapeless += 1
            continue
        if not shape.reaches(floor_m - BELOW_M, floor_m + ABOVE_M):
            counts.high += 1
            continue
        seen = shape.from_above()
        if seen.intersects(near):
            name = str(getattr(element, "Name", None) or "").strip()
            lines.append(PlanLine("known-service", seen, f"{word} {name}".strip()[:80]))
    counts.drawn = len(lines)
    return lines, [*_notes(counts), *_not_told(model, floor_m, near)]


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


@dataclass(frozen=True)
class _Shape:
    """Corners (n, 3) [m], triangles (m, 3) between them and, without any, edges (k, 2)."""

    places: Array
    faces: NDArray[np.intp]
    edges: NDArray[np.intp]

    def reaches(self, low: float, high: float) -> bool:
        """Whether some of it lies between two heights [m]."""
        return bool(self.places[:, 2].max() >= low and self.places[:, 2].min() <= high)

    def from_above(self) -> BaseGeometry:
        """Return the axis of what is slender and straight, else the outline [m]."""
        flat = [one for one in shapely.polygons(self.places[self.faces][:, :, :2]) if one.area > 0]
        if flat:
            return _slender(shapely.union_all(np.array(flat), grid_size=_GRID_M))
        lines = shapely.union_all(shapely.linestrings(self.places[self.edges][:, :, :2]))
        if lines.length > 0:
            return shapely.line_merge(lines) if lines.geom_type != "LineString" else lines
        return shapely.convex_hull(shapely.multipoints(self.places[:, :2]))


def _shape(element: Any) -> _Shape | None:
    """Return the shape of an element, of its body or else of its axis; None without one."""
    from ifcopenshell import geom, ifcopenshell_wrapper

    make: Any = geom
    wrapper: Any = ifcopenshell_wrapper
    for representation in (None, *_representations(element)):
        settings = make.settings()
        settings.set("use-world-coords", True)
        given = () if representation is None else (representation,)
        if given:
            settings.set("dimensionality", wrapper.CURVES_SURFACES_AND_SOLIDS)
        try:
            shape: Any = make.create_shape(settings, element, *given)
        except RuntimeError:
            continue
        places: Array = np.asarray(shape.geometry.verts, dtype=float).reshape(-1, 3)
        faces = np.asarray(shape.geometry.faces, dtype=np.intp).reshape(-1, 3)
        edges = np.asarray(shape.geometry.edges, dtype=np.intp).reshape(-1, 2)
        if len(places) and (len(faces) or len(edges)):
            return _Shape(places, faces, edges)
    return None


def _representations(element: Any) -> Sequence[Any]:
    """Return the representations of an element, its body first and its box last."""
    held = getattr(element, "Representation", None)
    found = [] if held is None else list(held.Representations)
    order = {"Body": 0, "Axis": 1}
    return sorted(found, key=lambda one: order.get(one.RepresentationIdentifier, 2))


def _slender(outline: BaseGeometry) -> BaseGeometry:
    box = outline.minimum_rotated_rectangle
    if box.geom_type == "Polygon" and outline.area >= 0.9 * box.area:
        corners = np.asarray(box.exterior.coords)[:4]
        sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
        long = int(np.argmax(sides[:2]))
        if sides[:2].min() <= SLENDER_M and sides[long] >= 2 * sides[1 - long]:
            ends = [(corners[k] + corners[k - 1]) / 2 for k in (long, long + 2)]
            return LineString([tuple(end) for end in ends])
    return shapely.simplify(outline, 0.01)


def _not_told(model: Any, floor_m: float, near: BaseGeometry) -> list[str]:
    """Name what lies in the floor and is no service by its class: it is not kept clear of."""
    said = []
    for kind, word in NOT_TOLD.items():
        shapes = [_shape(one) for one in model.by_type(kind)[:MOST_LOOKED_AT]]
        count = sum(
            one is not None
            and one.reaches(floor_m - BELOW_M, floor_m - IN_FLOOR_M)
            and one.from_above().intersects(near)
            for one in shapes
        )
        if count:
            said.append(
                f"The building model has {count} {word} ({kind}) in the floor: {NOT_KEPT_CLEAR}."
            )
    return said


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
            f"read, on this storey or another: {NOT_KEPT_CLEAR}. Draw them by hand before holes "
            "are planned."
        )
    return said
