"""Results so wet that no covering bears them, whatever the method the limit is meant for."""

from __future__ import annotations

from moisturemap.acceptance.record import RH_METHODS, TestEntry, method_named
from moisturemap.acceptance.verdict import TestVerdict, limit_value, refusal
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

WET_FOR_COVERINGS_PCT = 90.0
"""The same of a humidity where the limit is one of a covering, up to half of the above [%RH]: the
highest usual limit of coverings by humidity (project choice)."""


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
    if method.key in RH_METHODS and _of_a_covering(limit):
        bound = WET_FOR_COVERINGS_PCT
    if value < bound or not refusal(entry, limit):
        return None
    shown = f"{spoken_figures(value, bound)} {method.units[0]} by {method.quantity.label}"
    return TestVerdict(
        "conflict",
        f"{shown} is wet whatever the covering (from {bound:g} on), and the limit is for another"
        " quantity: one of the results is wrong, or they are of different depths",
    )


def _of_a_covering(limit: Limit) -> bool:
    """Whether a limit of another quantity than humidity is none of a moisture barrier."""
    key = method_named(limit.method).key
    return key not in RH_METHODS and limit_value(limit) <= PLAINLY_WET[key] / 2.0
