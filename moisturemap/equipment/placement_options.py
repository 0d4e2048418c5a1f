"""Options of the placement of machines.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class PlacementOptions:
    """How machines are placed.

    Attributes
    ----------
    dehumidifiers, air_movers : int or None
        How many to place; None places those that are there.
    throw_m : float
        How far an air mover reaches [m]; take it from the maker's sheet (project choice).
    cable_m : float
        Longest cable from a power point, where the plan shows any [m] (project choice).
    closed_doors : tuple of str
        Names of doors that stand closed.
    stagnant_weight : float
        By how much more stagnant floor counts (project choice).
    least_gain : float
        A move that adds less than this share of what could be served is not proposed.
    ceiling_m : float or None
        Height of the rooms for the rule of thumb on capacity [m].
    water_class : int
        Class of water for that rule, 1 to 4; concrete is 4.
    """

    dehumidifiers: int | None = None
    air_movers: int | None = None
    throw_m: float = 6.0
    cable_m: float = 10.0
    closed_doors: tuple[str, ...] = ()
    stagnant_weight: float = 2.0
    least_gain: float = 0.02
    ceiling_m: float | None = None
    water_class: int = 4

    def __post_init__(self) -> None:
        for name in ("dehumidifiers", "air_movers"):
            count = getattr(self, name)
            if count is not None and not 0 <= count <= 200:
                message = f"{name} is a number of machines"
                raise OptionError(message, value=count, allowed="0 to 200")
        for name in ("throw_m", "cable_m", "stagnant_weight"):
            if not getattr(self, name) > 0:
                message = f"{name} is above 0"
                raise OptionError(message, value=getattr(self, name), allowed="above 0")
        if self.ceiling_m is not None and not 1.5 <= self.ceiling_m <= 30.0:
            message = "the height of the rooms is in metres"
            raise OptionError(message, value=self.ceiling_m, allowed="1.5 to 30")
        if self.water_class not in (1, 2, 3, 4):
            message = "the class of water is a whole number"
            raise OptionError(message, value=self.water_class, allowed="1, 2, 3 or 4")
