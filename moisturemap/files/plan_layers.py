"""What may be picked in a plan file: layers of a drawing, storeys of a building model."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from moisturemap.files.apart import read_apart
from moisturemap.files.dxf_plan import dxf_strokes
from moisturemap.files.geopackage_plan import layers_in
from moisturemap.files.ifc_plan import storeys_in
from moisturemap.floorplan import kind_of


@dataclass(frozen=True)
class PlanLayer:
    """One layer or storey.

    ``kind`` is the kind of line its name tells of, "" for none; ``parts`` counts its strokes,
    shapes or spaces and ``closed`` those that enclose an area, None where that is not known.
    """

    name: str
    kind: str = ""
    parts: int | None = None
    closed: int | None = None


@dataclass(frozen=True)
class PlanLayers:
    """``of`` is "layer", "storey", or "" for a format that has neither."""

    of: str
    layers: tuple[PlanLayer, ...]


def plan_layers(path: Path) -> PlanLayers:
    """List what may be given as ``layer`` to :func:`moisturemap.files.plan.read_plan`.

    Parameters
    ----------
    path : Path
        Plan file of any format that is read.

    Raises
    ------
    FormatError
        When the file is damaged or of another format than its ending says.
    MissingExtra
        When DXF or IFC support is not installed.
    """
    ending = path.suffix.lower()
    if ending == ".ifc":
        storeys = read_apart(storeys_in, path)
        return PlanLayers("storey", tuple(PlanLayer(name, "", n, n) for name, n in storeys))
    if ending == ".dxf":
        return PlanLayers("layer", read_apart(_drawn_layers, path))
    if ending == ".gpkg":
        return PlanLayers("layer", read_apart(_table_layers, path))
    return PlanLayers("", ())


def _drawn_layers(path: Path) -> tuple[PlanLayer, ...]:
    strokes = dxf_strokes(path)
    parts = Counter(stroke.layer for stroke in strokes)
    closed = Counter(stroke.layer for stroke in strokes if stroke.closed)
    # those that enclose areas first: one of them holds the rooms
    names = sorted(parts, key=lambda name: (-closed[name], name))
    return tuple(PlanLayer(name, kind_of(name) or "", parts[name], closed[name]) for name in names)


def _table_layers(path: Path) -> tuple[PlanLayer, ...]:
    areas = [name for name, geometry in layers_in(path).items() if "Polygon" in geometry]
    return tuple(PlanLayer(name, kind_of(name) or "") for name in areas)
