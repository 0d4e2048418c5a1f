"""Floors covered before they can have dried: what was built in is still there."""

from __future__ import annotations

from datetime import date

from moisturemap.base_material import CEMENT, material_of
from moisturemap.floorplan import Slab
from moisturemap.investigation.clue import Clue

DAYS_PER_MM = 1.0
"""Cement dries no faster than this through one face [days/mm]: the rule of thumb of the trade for
the first 50 mm, thicker layers take longer (common practice; BS 8203, from memory)."""


def covered_early(slab: Slab, placed: object, covered: object) -> Clue | None:
    """Say that a cement layer was covered sooner than it dries, None where it was not.

    Parameters
    ----------
    slab : Slab
    placed, covered : date or None
        None, or what is no day, where it is not known.
    """
    if not isinstance(placed, date) or not isinstance(covered, date) or not slab.thickness_mm:
        return None
    days, needed = (covered - placed).days, DAYS_PER_MM * slab.thickness_mm / slab.open_faces
    if material_of(slab.base) != CEMENT or not 0 <= days < needed:
        return None
    return Clue(
        "covered-early",
        "history",
        "seen",
        f"It was covered {days} days after it was placed; {slab.thickness_mm:g} mm need"
        f" {needed:.0f} days and more to dry.",
        float(days),
        f"{needed:.0f} days",
        "1 day for each mm that dries through one face: common practice",
        speaks_for=("construction-water",),
    )
