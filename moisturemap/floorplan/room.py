"""A room and the slab it stands on."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from shapely.geometry import Polygon


@dataclass(frozen=True, slots=True)
class Slab:
    """What the floor of a room is made of.

    Attributes
    ----------
    base : str
        Material, e.g. ``"concrete slab"``, ``"cement screed"``, ``"timber deck"``.
    thickness_mm : float or None
        Drying thickness of the layer under test [mm]; None when not known.
    drying_faces : int
        1 when only the top can dry (membrane, ground, metal deck), 2 when both faces can.
    heated : bool
        True with pipes or cables for floor heating in the layer.
    placed : datetime.date or None
        Day the layer was placed.
    pour : str
        Name of the pour; rooms of different pours never share a surface.
    """

    base: str = "concrete"
    thickness_mm: float | None = None
    drying_faces: int = 1
    heated: bool = False
    placed: date | None = None
    pour: str = ""


@dataclass(frozen=True, slots=True)
class Room:
    """A named room: a polygon in metres with holes for columns and pits."""

    name: str
    polygon: Polygon
    slab: Slab = field(default_factory=Slab)
