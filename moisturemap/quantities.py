"""What a number means: a quantity with its unit.

A relative reading is never a calibrated value, and no test method converts to another. The one
bridge is ``calibration``: this floor's scan against its tests, with the error, and never for
acceptance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isclose, isfinite

FEET = 0.3048
"""Metres in one international foot (exact; international yard and pound agreement 1959)."""

METRES_PER_UNIT = {"m": 1.0, "mm": 0.001, "cm": 0.01, "ft": FEET, "in": FEET / 12}
"""Metres in one unit of length accepted at the door."""

MVER_GRAMS_PER_LB = 453.59237 / 92.90304
"""g/(m2 24 h) in one lb/(1000 ft2 24 h): exact pound over exact 1000 square feet."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A measured quantity.

    Attributes
    ----------
    key : str
        Short stable name used in files.
    label : str
        Name as the trade says it.
    unit : str
        Unit as printed; empty for a relative reading.
    calibrated : bool
        True when the value is traceable to a calibrated test method.
    """

    key: str
    label: str
    unit: str
    calibrated: bool

    def __str__(self) -> str:
        return f"{self.label} [{self.unit}]" if self.unit else self.label


RELATIVE = Quantity("relative", "relative reading", "", False)
RH_IN_SITU = Quantity("rh-in-situ", "in-situ relative humidity", "%RH", True)
RH_HOOD = Quantity("rh-hood", "equilibrium relative humidity under a hood", "%RH", True)
RH_SLEEVE = Quantity("rh-sleeve", "equilibrium relative humidity in a sleeve", "%RH", True)
CARBIDE = Quantity("carbide", "carbide (CM) moisture", "CM-%", True)
MVER = Quantity("mver", "moisture vapour emission rate", "lb/1000 ft2/24 h", True)
OVEN_DRY = Quantity("oven-dry", "oven-dry moisture content", "mass-%", True)
PIN_TIMBER = Quantity("pin", "timber moisture content by pin meter", "%MC", True)

QUANTITIES = {
    quantity.key: quantity
    for quantity in (RELATIVE, RH_IN_SITU, RH_HOOD, RH_SLEEVE, CARBIDE, MVER, OVEN_DRY, PIN_TIMBER)
}


MOST_DECIMALS = 6


def beside(value: float, *bounds: float | None, decimals: int) -> str:
    """Write a number so that it stands to each bound as it does unrounded.

    Parameters
    ----------
    value : float
    bounds : float or None
        What it is held against, in the same unit; None is no bound.
    decimals : int
        Decimals it has at least; more where fewer would set it on a bound or across it.

    Examples
    --------
    >>> beside(11.96, 12.0, decimals=0), beside(11.2, 12.0, decimals=0)
    ('11.96', '11')
    """
    held = [one for one in bounds if one is not None and isfinite(one)]
    for more in range(decimals, MOST_DECIMALS + 1):
        text = f"{value:.{more}f}"
        if all(_side(float(text), one) == _side(value, one) for one in held):
            return text
    return f"{value:.{decimals}f}"


def _side(value: float, bound: float) -> int:
    if isclose(value, bound, rel_tol=0.0, abs_tol=10.0**-MOST_DECIMALS):
        return 0
    return 1 if value > bound else -1


def three_figures(value: float, *bounds: float | None) -> str:
    """Write a calibrated value as finely as tests are read: ``82.7``, ``2.14``.

    Finer beside the bounds it is held against, as :func:`beside` has it.
    """
    return beside(value, *bounds, decimals=1 if abs(value) >= 10 else 2)


def spoken_figures(value: float, *bounds: float | None) -> str:
    """Write a calibrated value in a sentence: as :func:`three_figures`, ``82`` for ``82.0``."""
    text = three_figures(value, *bounds)
    return text.rstrip("0").rstrip(".")


def tape(metres: float) -> str:
    """Write a distance or coordinate [m] of a sentence: ``3.20``, or ``6.096`` between centimetres.

    So it is rounded once, where it is printed: :meth:`moisturemap.units.Units.sentence` writes it
    as :meth:`moisturemap.units.Units.length` writes the number itself.
    """
    exact = f"{metres:.3f}"
    return exact[:-1] if exact.endswith("0") else exact


DISCLAIMER = (
    "Relative readings: not a moisture content. The map guides where to test; "
    "acceptance rests on calibrated tests."
)
"""Stands on every map, table and document."""
