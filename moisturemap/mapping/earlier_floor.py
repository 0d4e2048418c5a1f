"""Floors read before with the same instrument, and what a further one may borrow from them.

Method: docs/method/kriging.md, "Earlier floors".
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from moisturemap.checked import at_least, checked, within
from moisturemap.errors import OptionError
from moisturemap.geostat import EarlierFloors, FloorPattern
from moisturemap.survey import CleanReadings, Instrument

FEWEST_READINGS = 100
"""Fewest readings of a floor that others borrow from: fewer leave what was expected beforehand in
what is passed on. Our choice."""


@dataclass(frozen=True)
@checked
class EarlierFloor:
    """One floor read before.

    Attributes
    ----------
    floor, key : str
        Its name, and a hash of its readings: a floor never borrows from itself.
    instrument_model : str
        Empty where the survey does not state it; nothing is borrowed then.
    scale : (float, float) or None
        Scale of the instrument.
    readings : int
        Readings that made the map of its largest part.
    pattern : FloorPattern
    borrowed_floors : int
        Floors it borrowed from itself; such a floor is not borrowed from again.
    footprint_m : float or None
        Footprint that its survey states for the instrument [m]; None where it states none.
    """

    floor: str
    key: str
    instrument_model: str
    scale: tuple[float, float] | None
    readings: Annotated[int, at_least(1)]
    pattern: FloorPattern
    borrowed_floors: Annotated[int, at_least(0)] = 0
    footprint_m: Annotated[float | None, within(0.01, 0.5, "m")] = None


@dataclass(frozen=True)
@checked
class SameInstrument:
    """What floors read with one instrument model on one scale lead to expect.

    Attributes
    ----------
    instrument_model : str
    scale : (float, float)
    floors : EarlierFloors
    footprint_m : float or None
        Median of the footprints their surveys state [m]; None where none does.
    """

    instrument_model: str
    scale: tuple[float, float]
    floors: EarlierFloors
    footprint_m: float | None = None

    @classmethod
    def among(cls, floors: Iterable[EarlierFloor], clean: CleanReadings) -> SameInstrument | None:
        """Gather those of the instrument and scale of some readings; None where there is none."""
        instrument, key = clean.instrument, readings_key(clean)
        if not instrument.model or instrument.scale is None:
            return None
        alike = [
            one
            for one in floors
            if (one.instrument_model, one.scale) == (instrument.model, instrument.scale)
            and one.readings >= FEWEST_READINGS
            and not one.borrowed_floors
            and one.key != key
        ]
        expected = EarlierFloors.of([one.pattern for one in alike])
        if expected is None:
            return None
        stated = [one.footprint_m for one in alike if one.footprint_m is not None]
        footprint = float(np.median(stated)) if stated else None
        return cls(instrument.model, instrument.scale, expected, footprint)

    def footprint_for(self, instrument: Instrument) -> float | None:
        """Return the footprint to lend an instrument [m]; None where its survey states its own."""
        return self.footprint_m if instrument.footprint_m is None else None

    def check(self, instrument: Instrument) -> None:
        """Refuse an instrument or scale that these floors were not read with.

        Raises
        ------
        OptionError
        """
        if (instrument.model, instrument.scale) != (self.instrument_model, self.scale):
            low, high = self.scale
            raise OptionError(
                "earlier floors were read with another instrument or scale",
                value=f"{instrument.model or 'no model'}, scale {instrument.scale}",
                allowed=f"{self.instrument_model}, scale {low:g} to {high:g}",
            )

    @property
    def note(self) -> str:
        """What is said beside a map that borrows."""
        footprint = ""
        if self.footprint_m is not None:
            footprint = f" They state a footprint of {self.footprint_m:g} m for it."
        return (
            "How far readings resemble each other and how much they scatter is borrowed in part "
            f"from earlier floors read with {self.instrument_model}: {self.floors.floors} of them."
            f"{footprint}"
        )


def readings_key(clean: CleanReadings) -> str:
    """Return a hash of places and values that tells the readings of a visit from all others."""
    table = np.round(clean.locations[["x", "y", "value"]].to_numpy(dtype=float), 6) + 0.0
    ordered = table[np.lexsort(table.T)]
    return hashlib.sha256(np.ascontiguousarray(ordered).tobytes()).hexdigest()[:16]
