"""Rooms of a building model in IFC (ISO 16739-1): the floor of each space of one storey.

Its services and tendons near that floor become lines to keep clear of (``ifc_services``).

The outline of a room is the floor of its space: the faces of its shape that lie level and look
down, seen from above. Lengths are those of the model, in metres by its own units. Read by
IfcOpenShell (LGPL-3.0-or-later, extra ``ifc``), in the process for reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from moisturemap.errors import FormatError, MissingExtra, OptionError, PlanError
from moisturemap.files.ifc_services import service_lines
from moisturemap.floorplan import FloorPlan, Outline, make_plan
from moisturemap.floorplan.joint import polygons_of
from moisturemap.floorplan.outline import CLOSING_M

_LEVEL = 0.9
"""Faces whose normal is nearer to straight down than this (cosine) are floor; the rest is walls,
ceilings and slopes steeper than 25 degrees. Our choice."""
_GRID_M = 1e-5
"""Corners this close are one corner: triangles of one floor meet there [m]."""
MOST_SPACES = 2_000

Array = NDArray[np.float64]

LAST_BYTES = 4096
"""The last line of a STEP file (ISO 10303-21, 5.1) is looked for in so many bytes; signatures and
comments may follow it."""


def read_ifc_plan(
    path: Path, coordinates: str = "m", layer: str | None = None
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read the rooms of one storey of a building model.

    Parameters
    ----------
    path : Path
    coordinates : str
        Not used: a building model states its units.
    layer : str, optional
        Name of the storey, where several have spaces.

    Raises
    ------
    MissingExtra
        When IfcOpenShell is not installed.
    FormatError
        When the file is no building model or is damaged.
    OptionError
        When a storey must be chosen, or there is none of that name; names those there are.
    PlanError
        When no space has a floor, or the plan cannot be mended without guessing.
    """
    model = _opened(path)
    storeys = spaces_by_storey(model)
    chosen = _chosen(storeys, layer, path.name)
    notes = [f"Rooms are the {len(storeys[chosen])} spaces of the storey '{chosen}'."]
    outlines: list[Outline] = []
    heights: list[float] = []
    for space, name in zip(storeys[chosen], _names(storeys[chosen]), strict=True):
        outlines += _outlines(space, name, path.name, notes, heights)
    lines, told = service_lines(
        model,
        float(np.median(heights)) if heights else 0.0,
        [Polygon(one.rings[0]) for one in outlines],
    )
    plan = make_plan(outlines, lines, source=path.name, notes=[*notes, *told])
    return plan, plan.notes


def storeys_in(path: Path) -> list[tuple[str, int]]:
    """Return the storeys of a building model that have spaces, lowest first, with their number.

    Raises
    ------
    MissingExtra, FormatError
        As :func:`read_ifc_plan`.
    """
    return [(name, len(spaces)) for name, spaces in spaces_by_storey(_opened(path)).items()]


def _opened(path: Path) -> Any:
    try:
        import ifcopenshell
    except ImportError:
        raise MissingExtra("Reading rooms from IFC", "ifc") from None
    with path.open("rb") as file:
        head = file.read(64)
        file.seek(max(path.stat().st_size - LAST_BYTES, 0))
        last = file.read()
    if not head.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"ISO-10303-21"):
        raise FormatError(
            "this is no building model in IFC",
            source=path.name,
            allowed="a STEP file (.ifc) that begins with ISO-10303-21",
        )
    if b"END-ISO-10303-21" not in last:
        raise FormatError(
            "this building model is cut short: it does not end with END-ISO-10303-21, and rooms or"
            " services may be lost",
            source=path.name,
            allowed="the whole file, copied or exported once more",
        )
    try:
        return ifcopenshell.open(str(path))
    except (ifcopenshell.Error, OSError, RuntimeError, ValueError, TypeError) as error:
        raise FormatError(
            f"this building model cannot be read: {str(error)[:200] or type(error).__name__}",
            source=path.name,
        ) from None


def spaces_by_storey(model: Any) -> dict[str, list[Any]]:
    """Return the spaces of a model by the name of their storey, lowest storey first.

    Parameters
    ----------
    model : ifcopenshell.file
    """
    found: dict[int, tuple[Any, list[Any]]] = {}
    loose: list[Any] = []
    for space in model.by_type("IfcSpace"):
        storey = _storey_of(space)
        if storey is None:
            loose.append(space)
        else:
            found.setdefault(storey.id(), (storey, []))[1].append(space)
    ordered = sorted(found.values(), key=lambda one: _elevation(one[0]))
    names: dict[str, list[Any]] = {}
    for storey, spaces in ordered:
        stem = str(storey.LongName or storey.Name or "storey").strip() or "storey"
        name, number = stem, 2
        while name in names:
            name, number = f"{stem} ({number})", number + 1
        names[name] = spaces
    if loose:
        names["without a storey"] = loose
    return names


def _storey_of(space: Any) -> Any | None:
    """Walk up what a space is part of; spaces may be parts of spaces."""
    above: Any | None = space
    for _ in range(16):
        relations = getattr(above, "Decomposes", ()) or getattr(above, "ContainedInStructure", ())
        if not relations:
            return None
        relation = relations[0]
        above = getattr(relation, "RelatingObject", None) or getattr(
            relation, "RelatingStructure", None
        )
        if above is None or above.is_a("IfcBuildingStorey"):
            return above
    return None


def _elevation(storey: Any) -> float:
    value = getattr(storey, "Elevation", None)
    return float(value) if value is not None else 0.0


def _chosen(storeys: dict[str, list[Any]], wanted: str | None, source: str) -> str:
    if not storeys:
        raise PlanError(
            "the building model has no spaces",
            source=source,
            allowed="rooms exported as IfcSpace: switch the export of rooms or spaces on",
        )
    listed = ", ".join(f"'{name}' ({len(spaces)} spaces)" for name, spaces in storeys.items())
    if wanted is None and len(storeys) > 1:
        raise OptionError(
            "the building model has several storeys", source=source, allowed=f"one of {listed}"
        )
    chosen = next(iter(storeys)) if wanted is None else wanted
    if chosen not in storeys:
        raise OptionError(
            "there is no such storey with spaces", source=source, value=chosen, allowed=listed
        )
    if len(storeys[chosen]) > MOST_SPACES:
        raise PlanError(f"the storey has more than {MOST_SPACES:,} spaces", source=source)
    return chosen


def _names(spaces: Sequence[Any]) -> list[str]:
    """Return number and name as the model has them: '1.03 kitchen'."""
    names = []
    for space in spaces:
        parts = [str(part).strip() for part in (space.Name, space.LongName) if part]
        names.append(" ".join(dict.fromkeys(part for part in parts if part)))
    return names


def _outlines(
    space: Any, name: str, source: str, notes: list[str], heights: list[float]
) -> list[Outline]:
    where = f"space '{name}'" if name else f"space #{space.id()}"
    floor, height = _floor(space)
    heights += [] if floor is None else [height]
    parts = [] if floor is None else polygons_of(floor)
    parts = [part for part in parts if not part.buffer(-CLOSING_M / 2).is_empty]
    if not parts:
        notes.append(f"{where}: has no level floor and was left out.")
        return []
    if len(parts) > 1:
        notes.append(f"{where}: has {len(parts)} floors apart; numbered as rooms of their own.")
    return [
        Outline(
            f"{name} {number}" if len(parts) > 1 and name else name,
            tuple(np.asarray(ring.coords) for ring in (part.exterior, *part.interiors)),
            where,
        )
        for number, part in enumerate(parts, 1)
    ]


def _floor(space: Any) -> tuple[Any | None, float]:
    """Return the floor of a space seen from above and its height [m], or None without a shape."""
    from ifcopenshell import geom

    make: Any = geom
    settings = make.settings()
    settings.set("use-world-coords", True)
    try:
        shape: Any = make.create_shape(settings, space)
    except RuntimeError:  # a space without a shape, or with a damaged one
        return None, 0.0
    places: Array = np.asarray(shape.geometry.verts, dtype=float).reshape(-1, 3)
    faces = np.asarray(shape.geometry.faces, dtype=int).reshape(-1, 3)
    if not len(faces):
        return None, 0.0
    triangles = places[faces]
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    length = np.linalg.norm(normal, axis=1)
    down = (length > 0) & (-normal[:, 2] >= _LEVEL * length)
    flat = [Polygon(triangle[:, :2]) for triangle in triangles[down]]
    if not flat:
        return None, 0.0
    joined = shapely.union_all(np.array(flat), grid_size=_GRID_M)
    return shapely.simplify(joined, _GRID_M), float(triangles[down][:, :, 2].min())
