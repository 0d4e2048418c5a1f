"""Results so wet that they contradict a floor within its limit, whatever the limit is meant for."""

from __future__ import annotations

from moisturemap.acceptance.record import RH_METHODS, TestEntry, method_named
from moisturemap.acceptance.verdict import TestVerdict, limit_value, refusal
from moisturemap.base_material import CALCIUM_SULPHATE, TIMBER, material_of
from moisturemap.quantities import spoken_figures
from moisturemap.slab import equilibrium_moisture
from moisturemap.survey import Limit

PLAINLY_WET = {
    **dict.fromkeys(RH_METHODS, 95.0),
    "carbide": 4.0,
    "oven-dry": 8.0,
    "mver": 10.0,
    "pin": 25.0,
}
"""Above these a floor is wet by any document, in the first unit of the method. Project choice:
twice the highest usual limit of coverings, near saturation for a humidity, near what fungi need in
timber. No method is converted."""

HIGHEST_OF_COVERINGS = {
    **dict.fromkeys(RH_METHODS, 90.0),
    "carbide": 2.0,
    "oven-dry": 4.0,
    "mver": 5.0,
    "pin": 14.0,
}
"""Highest usual limits of coverings: 90 %RH, 2 CM-% of DIN 18560-1, 4 mass-%, 5 lb/1000 ft2/24 h;
timber decks are laid on up to 14 %MC (common practice)."""

GYPSUM_SHARE = 0.25
"""Calcium sulphate is wet at a quarter of that by mass (0.5 CM-% of DIN 18560-1 for 2.0)."""

INDOORS_C = 20.0
"""Temperature at which timber and air are held against each other; 10 K change it by 0.3 %MC."""


def wet_by_another_method(entry: TestEntry, value: float, limit: Limit) -> TestVerdict | None:
    """Return the contradiction of a wet result to a limit of another method; None else.

    Parameters
    ----------
    entry : TestEntry
    value : float
        In the first unit of its method.
    limit : Limit
    """
    method = entry.method
    bound, why = _bound(entry, limit)
    if value <= bound or not refusal(entry, limit):
        return None
    shown = f"{spoken_figures(value, bound)} {method.units[0]} by {method.quantity.label}"
    return TestVerdict(
        "conflict",
        f"{shown} is wet {why} (above {spoken_figures(bound, value)}), and the limit is for another"
        " quantity: one of the results is wrong, or they are of different depths",
    )


def _bound(entry: TestEntry, limit: Limit) -> tuple[float, str]:
    """Return from where on a result contradicts a limit of another method, and why."""
    key = entry.method.key
    whatever, coverings = PLAINLY_WET[key], HIGHEST_OF_COVERINGS[key]
    material = material_of(entry.room.slab.base) if entry.room else ""
    if key in ("carbide", "oven-dry") and material == CALCIUM_SULPHATE:
        whatever, coverings = whatever * GYPSUM_SHARE, coverings * GYPSUM_SHARE
    if key == "oven-dry" and material == TIMBER:
        whatever, coverings = PLAINLY_WET["pin"], HIGHEST_OF_COVERINGS["pin"]
    if material == TIMBER and method_named(limit.method).key == "pin":
        return _beside_pins(entry, limit, whatever)
    if limit_value(limit) > HIGHEST_OF_COVERINGS[method_named(limit.method).key]:
        return whatever, "whatever the covering"
    return coverings, "for a covering"


def _beside_pins(entry: TestEntry, limit: Limit, whatever: float) -> tuple[float, str]:
    """Return what in timber contradicts a limit by pins: as much water, or air in balance with it.

    An oven gives the moisture content pins estimate; a humidity is held against that at which the
    timber would settle (Wood Handbook, see ``equilibrium_moisture``).
    """
    allowed = min(limit_value(limit), whatever)
    if entry.method.key == "oven-dry":
        return allowed, "beside the limit by pins"
    if entry.method.key not in RH_METHODS:
        return whatever, "whatever the covering"
    bounds = range(30, int(HIGHEST_OF_COVERINGS[entry.method.key]))
    wet = (rh for rh in bounds if equilibrium_moisture(INDOORS_C, rh + 1) > allowed)
    return float(next(wet, bounds.stop)), "for timber of such a limit"
