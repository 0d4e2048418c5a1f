"""Published rules of thumb for the number of machines, as a cross-check.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moisturemap.equipment.machine import Machine

FT = 0.3048
US_PINT_L = 0.473176473

SQUARE_FEET_PER_MOVER = (50.0, 70.0)
"""Wet floor for each air mover [ft2]: ANSI/IICRC S500-2015, 13.5.6.1, kept in S500-2021 (seen
through trade accounts, not in the standard itself)."""

LOW_GRAIN_DIVISOR = {1: 100.0, 2: 50.0, 3: 40.0, 4: 50.0}
"""Cubic feet of air for each pint a day of a low-grain refrigerant dehumidifier at the start, by
class of water (S500; from memory, to be confirmed in the standard)."""

LITRES_A_DAY = {
    "l/day": 1.0,
    "l/d": 1.0,
    "litres/day": 1.0,
    "l/24h": 1.0,
    "l/24 h": 1.0,
    "pints/day": US_PINT_L,
    "pint/day": US_PINT_L,
    "ppd": US_PINT_L,
    "pints": US_PINT_L,
}


@dataclass(frozen=True, slots=True)
class SizingRule:
    """A rule of thumb beside what is there.

    Attributes
    ----------
    rule : str
        What it counts.
    low, high : float
        What the rule asks for.
    present : float or None
        What stands on the floor; None when not known.
    source : str
        With its standing: secondary, or from memory.
    sentence : str
    """

    rule: str
    low: float
    high: float
    present: float | None
    source: str
    sentence: str


def size_machines(
    machines: Sequence[Machine],
    wet_by_room: dict[str, float],
    floor_m2: float,
    ceiling_m: float | None,
    water_class: int,
) -> tuple[SizingRule, ...]:
    """Apply the rules of thumb.

    Parameters
    ----------
    machines : sequence of Machine
    wet_by_room : dict of str to float
        Wet floor of each affected room [m2].
    floor_m2 : float
        Floor of the affected rooms [m2].
    ceiling_m : float or None
        Height of the rooms [m]; without it no capacity is worked out.
    water_class : int
        1 to 4; concrete and other bound water is 4.

    Returns
    -------
    tuple of SizingRule
        With the source of each.
    """
    if not wet_by_room:
        return ()
    movers = sum(one.kind == "air-mover" for one in machines)
    rules = [_air_movers(movers, wet_by_room)]
    if ceiling_m is not None:
        rules.append(_capacity(machines, floor_m2 * ceiling_m, water_class))
    return tuple(rules)


def _air_movers(present: int, wet_by_room: dict[str, float]) -> SizingRule:
    square_feet = [area / FT**2 for area in wet_by_room.values()]
    few, many = (
        sum(1 + math.ceil(area / share) for area in square_feet)
        for share in reversed(SQUARE_FEET_PER_MOVER)
    )
    count = f"{few} air movers" if few == many else f"{few} to {many} air movers"
    sentence = (
        f"Rule of thumb: {count} for {sum(wet_by_room.values()):.1f} m2 of wet "
        f"zones as outlined (one for each affected room and one for each 50 to 70 ft2; wall "
        f"offsets not counted), {present} there. It is for surface water on the first day: on a "
        "slab whose surface is dry, air movers add little."
    )
    return SizingRule(
        "air movers",
        float(few),
        float(many),
        float(present),
        "ANSI/IICRC S500-2015 13.5.6.1 and 2021, through trade accounts (secondary)",
        sentence,
    )


def _capacity(machines: Sequence[Machine], volume_m3: float, water_class: int) -> SizingRule:
    pints = volume_m3 / FT**3 / LOW_GRAIN_DIVISOR[water_class]
    litres = pints * US_PINT_L
    driers = [one for one in machines if one.kind == "dehumidifier"]
    litres_of = {one.name: LITRES_A_DAY.get(one.unit.casefold().strip()) for one in driers}
    known = [
        one.capacity * factor
        for one in driers
        if one.capacity is not None and (factor := litres_of[one.name])
    ]
    present = float(sum(known)) if driers and len(known) == len(driers) else None
    there = "the capacity there is not known" if present is None else f"{present:.0f} l/day there"
    return SizingRule(
        "starting capacity of dehumidifiers [l/day]",
        litres,
        litres,
        present,
        "ANSI/IICRC S500, low-grain divisors (from memory; confirm in the standard)",
        f"Rule of thumb: about {litres:.0f} l/day of low-grain refrigerant capacity to start with "
        f"for {volume_m3:.0f} m3 of air, class {water_class}; {there}. After the first day, "
        "readings decide.",
    )
