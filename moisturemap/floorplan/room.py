"""A room and the slab it stands on."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from shapely.geometry import Polygon

MEMBRANES = ("seen-intact", "drawing-only", "none", "damaged")
"""What may be known of a membrane: seen whole, only drawn, not there, or found damaged."""

BUILD_UPS = ("slab", "bonded", "floating", "timber")
"""A slab by itself, a screed bonded to one, a screed floating on insulation, a timber deck."""


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
    covered, lifted, first_fault : datetime.date or None
        Day the covering was laid, was taken up again, and first showed a fault.
    membrane : str
        What is known of the membrane below, one of ``MEMBRANES``; "" when nothing is.
    build_up : str
        One of ``BUILD_UPS``; "" when not stated.
    """

    base: str = "concrete"
    thickness_mm: float | None = None
    drying_faces: int = 1
    heated: bool = False
    placed: date | None = None
    pour: str = ""
    covered: date | None = None
    lifted: date | None = None
    first_fault: date | None = None
    membrane: str = ""
    build_up: str = ""


@dataclass(frozen=True, slots=True)
class Room:
    """A named room: a polygon in metres with holes for columns and pits."""

    name: str
    polygon: Polygon
    slab: Slab = field(default_factory=Slab)
