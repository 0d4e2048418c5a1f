"""Hole depth and stop setting from the slab."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moisturemap.base_material import CALCIUM_SULPHATE, TIMBER, material_of
from moisturemap.floorplan import Room, Slab

SHARE_OF_THICKNESS = {1: 0.40, 2: 0.20}
"""Depth of the hole over the thickness, by drying faces: ASTM F2170 section 10.2 as quoted by trade
guides; NT BUILD 439. At that depth a drying slab reads what its whole depth evens out to once
covered (0.439 and 0.220 for the first eigenmode of linear drying)."""

LEAST_OVER_PIPES_MM = 30.0
"""Least screed over heating pipes: EN 1264-4:2021, 4.2.2.9.2, as quoted by a trade association."""


@dataclass(frozen=True, slots=True)
class HoleDepth:
    """Depth of a hole.

    Attributes
    ----------
    depth_mm : float
        Depth and stop setting from the top face [mm]; NaN when it cannot be given.
    note : str
        How it follows, or why not, with what to watch.
    """

    depth_mm: float
    note: str


def is_timber(slab: Slab) -> bool:
    """Return whether a floor is timber or board, where no RH hole is drilled."""
    return material_of(slab.base) == TIMBER


def hole_depth(slab: Slab) -> HoleDepth:
    """Return the depth of an in-situ RH hole in a slab.

    Parameters
    ----------
    slab : Slab
        Base, thickness [mm] and drying faces of the layer.
    """
    if is_timber(slab):
        return HoleDepth(
            math.nan,
            f"{slab.base}: no drilled RH hole; pin-meter test into the timber, species and "
            "temperature corrected.",
        )
    if slab.thickness_mm is None:
        return HoleDepth(
            math.nan,
            "Thickness not known, so no depth is given: measure it (drawings are not enough) and "
            "enter it before drilling.",
        )
    share = SHARE_OF_THICKNESS[2 if slab.open_faces == 2 else 1]
    faces = "from both faces" if slab.open_faces == 2 else "from the top only"
    depth = float(math.floor(share * slab.thickness_mm + 0.5))
    note = (
        f"Depth stop at {depth:.0f} mm: {share:.0%} of {slab.thickness_mm:g} mm, taken as drying "
        f"{faces}."
    )
    if slab.heated:
        note += (
            f" Heated: pipes or cables may lie from {LEAST_OVER_PIPES_MM:.0f} mm down"
            + (", so this depth may reach them" if depth > 0.8 * LEAST_OVER_PIPES_MM else "")
            + "; drill at marked test points only, with the loop drawing and a thermal image."
        )
    if material_of(slab.base) == CALCIUM_SULPHATE:
        note += " Calcium sulfate screed: a carbide test is often what is specified."
    return HoleDepth(depth, note)


def without_depth(rooms: Sequence[Room]) -> list[str]:
    """Say in which of some rooms no depth is given to a hole.

    Parameters
    ----------
    rooms : sequence of Room
        Those with holes.
    """
    of_rh = [room for room in rooms if not is_timber(room.slab)]
    named = ", ".join(room.name for room in of_rh if room.slab.thickness_mm is None)
    if not named:
        return []
    return [
        f"No depth is given for holes in {named}: the thickness there is not known. Measure it"
        " (drawings are not enough) and enter it before drilling."
    ]
