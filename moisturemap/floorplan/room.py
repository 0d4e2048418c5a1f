"""A room and the slab it stands on."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from typing import Annotated

from shapely.geometry import Polygon

from moisturemap.checked import checked, one_of, within
from moisturemap.floorplan.storey import Storey

SLAB_POSITIONS = ("ground", "below-ground", "suspended")
"""What a slab may lie on; "" where it is not stated."""
MEMBRANES = ("seen-intact", "drawing-only", "none", "damaged")
"""What may be known of a membrane: seen whole, only drawn, not there, or found damaged."""

BUILD_UPS = ("slab", "bonded", "floating", "timber")
"""A slab by itself, a screed bonded to one, a screed floating on insulation, a timber deck."""

_ON_METAL = re.compile(
    r"(metal|steel|profiled|composite) ?(deck|sheet)|stahlblech|trapezblech", re.I
)
"""Slabs cast on sheet metal, in the words of a base (trade usage)."""

_CLOSED_BELOW = re.compile(
    r"(?<!no )(?<!without )(?<!ohne )(?<!sans )(?:insulat\w*|\b[ex]ps\b(?! (?:bead|aggregate))"
    r"|polystyr\w*|foam board|mineral wool|polythene|polyethylene|foil|\bdp[cm]\b|membrane"
    r"|vapou?r (?:barrier|retarder|check)|separating layer|slip (?:sheet|layer)|acoustic (?:mat"
    r"|layer)"
    r"|impact sound|bitum\w*|\btank(?:ed|ing)\b|\w*dämm\w*|trennlage|trennschicht|\w*folie\w*"
    r"|abdicht\w*|dampf(?:sperre|bremse)|isolant\w*|isolation\w*|polyane|pare-vapeur|étanchéité"
    r"|(?:underside|soffit|unterseite|sous-face)\W+(?:\w+\W+){0,3}?(?:paint|seal|coat|tile|epox"
    r"|gestrichen|beschicht|peint)\w*)",
    re.IGNORECASE,
)
"""What a lower face does not dry through, in the words of a base (trade usage)."""


@dataclass(frozen=True, slots=True)
@checked
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
    heated : bool or None
        True with pipes or cables for floor heating in the layer; None where it is not stated,
        which the rules take for not heated and say so.
    placed : datetime.date or None
        Day the layer was placed.
    pour : str
        Name of the pour; rooms of different pours never share a surface.
    on : str
        ``ground``, ``below-ground`` or ``suspended``; "" where it is not stated, which rules on
        walls take for ground.
    service_temperature_c, service_rh_pct : float or None
        Air of the room in normal use, averaged [C] and [%RH]; None where it is not known.
    covered, lifted, first_fault : datetime.date or None
        Day the covering was laid, was taken up again, and first showed a fault.
    membrane : str
        What is known of the membrane below, one of ``MEMBRANES``; "" when nothing is.
    build_up : str
        One of ``BUILD_UPS``; "" when not stated.
    """

    base: str = "concrete"
    thickness_mm: Annotated[float | None, within(0, 3000, "mm")] = None
    drying_faces: Annotated[int, one_of(1, 2)] = 1
    heated: bool | None = None
    placed: date | None = None
    pour: str = ""
    on: Annotated[str, one_of("", *SLAB_POSITIONS)] = ""
    service_temperature_c: Annotated[float | None, within(-40, 60, "C")] = None
    service_rh_pct: Annotated[float | None, within(0, 100, "%RH")] = None
    covered: date | None = None
    lifted: date | None = None
    first_fault: date | None = None
    membrane: str = ""
    build_up: str = ""

    def covered_on(self, day: date | None) -> bool:
        """Whether a covering lies on it on a day; without one, whether one does in the end."""
        if self.covered is None or (day is not None and day < self.covered):
            return False
        return self.lifted is None or (day is not None and day < self.lifted)

    @property
    def open_faces(self) -> int:
        """Faces that can dry: the top alone on the ground, a metal deck, a membrane or insulation.

        So it is whatever is stated of its faces, and where the words of its base alone tell of
        what lies below: a hole for two would be too shallow.
        """
        closed = self.on in ("ground", "below-ground") or self.build_up == "floating"
        closed = closed or self.membrane in ("seen-intact", "drawing-only")
        closed = closed or bool(_ON_METAL.search(self.base) or _CLOSED_BELOW.search(self.base))
        return 1 if closed else self.drying_faces


@dataclass(frozen=True, slots=True)
class Room:
    """A named room: a polygon in metres with holes for columns and pits."""

    name: str
    polygon: Polygon
    slab: Slab = field(default_factory=Slab)
    storey: Storey | None = None
