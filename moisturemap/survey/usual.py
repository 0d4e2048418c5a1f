"""What floors under work usually show: values beyond it are possible, and often in another unit.

Nothing here refuses a value; it tells where to ask.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Usual:
    """The usual range of one kind of value.

    Attributes
    ----------
    low, high : float
        [`unit`]
    unit : str
    """

    low: float
    high: float
    unit: str

    def holds(self, value: float) -> bool:
        """Whether a value lies in the range."""
        return self.low <= value <= self.high


DEGREES = Usual(4.0, 40.0, "C")
"""Air and slab (our choice: heated slabs stay below 35 C, and 40 F is 4 C, as cold as a floor on
which work goes on)."""

HUMIDITY = Usual(2.0, 100.0, "%RH")
"""Air (our choice: drier air is hardly met, and a share of 1 looks like it)."""

THICKNESS = Usual(20.0, 600.0, "mm")
"""Slab or screed (our choice: screeds from 20 mm, slabs on the ground up to 600 mm)."""

DEPTH = Usual(10.0, 400.0, "mm")
"""Measuring point (our choice: two fifths of a metre thick slab, a quarter of a 40 mm screed)."""

RESULTS = {
    "in-situ-rh": Usual(20.0, 100.0, "%RH"),
    "sleeve-rh": Usual(20.0, 100.0, "%RH"),
    "hood-rh": Usual(20.0, 100.0, "%RH"),
    "carbide": Usual(0.0, 15.0, "CM-%"),
    "mver": Usual(0.0, 25.0, "lb/1000 ft2/24 h"),
    "oven-dry": Usual(0.0, 60.0, "mass-%"),
    "pin": Usual(2.0, 100.0, "%MC"),
}
"""Results by method of test (our choice: drier slabs are hardly met, wetter ones can hold no more
or leave the range of the method)."""

MEANT: dict[str, dict[str, tuple[float, float]]] = {
    "C": {"F": (1 / 1.8, -32 / 1.8)},
    "%RH": {"as a share of 1": (100.0, 0.0)},
    "%MC": {"as a share of 1": (100.0, 0.0)},
    "mm": {"cm": (10.0, 0.0), "m": (1000.0, 0.0), "in": (25.4, 0.0)},
}
"""Units a value may have been meant in, by the unit it stands in: factor and what is added."""


def meanings(value: float, usual: Usual) -> dict[str, float]:
    """Return what an unusual value is in `usual.unit`, by each other unit that makes it usual.

    >>> {unit: round(value, 1) for unit, value in meanings(64, DEGREES).items()}
    {'F': 17.8}
    >>> meanings(75, HUMIDITY)
    {}
    """
    if usual.holds(value):
        return {}
    read = {unit: a * value + b for unit, (a, b) in MEANT.get(usual.unit, {}).items()}
    return {unit: found for unit, found in read.items() if usual.holds(found)}
