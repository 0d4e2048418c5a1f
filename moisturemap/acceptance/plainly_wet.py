"""Results so wet that no covering bears them, whatever the method the limit is meant for."""

from __future__ import annotations

from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.verdict import TestVerdict, refusal
from moisturemap.base_material import CALCIUM_SULPHATE, material_of
from moisturemap.quantities import spoken_figures
from moisturemap.survey import Limit

PLAINLY_WET = {
    "in-situ-rh": 95.0,
    "sleeve-rh": 95.0,
    "hood-rh": 95.0,
    "carbide": 4.0,
    "oven-dry": 8.0,
    "mver": 10.0,
    "pin": 25.0,
}
"""From here on a floor is wet by any document, in the first unit of the method. Project choice:
twice the highest usual limit of a method (2 CM-% of DIN 18560-1, 4 mass-%, 5 lb/1000 ft2/24 h, 12
%MC), near saturation for a humidity (the highest usual limit is 90 %RH). No method is converted."""

GYPSUM_SHARE = 0.25
"""Calcium sulphate is wet at a quarter of that by mass (0.5 CM-% of DIN 18560-1 for 2.0)."""


def wet_by_another_method(entry: TestEntry, value: float, limit: Limit) -> TestVerdict | None:
    """Return the contradiction of a plainly wet result to a limit of another method; None else.

    Parameters
    ----------
    entry : TestEntry
    value : float
        In the first unit of its method.
    limit : Limit
    """
    method = entry.method
    bound = PLAINLY_WET[method.key]
    base = entry.room.slab.base if entry.room else ""
    if method.key in ("carbide", "oven-dry") and material_of(base) == CALCIUM_SULPHATE:
        bound *= GYPSUM_SHARE
    if value < bound or not refusal(entry, limit):
        return None
    shown = f"{spoken_figures(value, bound)} {method.units[0]} by {method.quantity.label}"
    return TestVerdict(
        "conflict",
        f"{shown} is wet whatever the covering (from {bound:g} on), and the limit is for another"
        " quantity: one of the results is wrong, or they are of different depths",
    )
