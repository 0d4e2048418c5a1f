"""What keeps a floor from meeting because of its layer: a material nobody knows, or one too young.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.base_material import TIMBER, material_of

_MINERAL = re.compile(
    r"slab|dalle|platte|decke\b|sohle|screed|estrich|chape|topping|hormig|calcestr|massett|mortar"
    r"|mörtel|mortier|level+ing|stahlbeton|losa|terrazzo",
    re.IGNORECASE,
)
"""Words for mineral layers beside those that tell the binder (common words)."""

_FAST = re.compile(r"fast|rapid|quick|early|schnell|rapide|accelerat|beschleunig", re.IGNORECASE)
"""Words for layers made to dry in days: their makers say when they are tested."""

DAYS_PER_MM = 0.25
"""No mineral layer dries in less than this [d/mm]: a quarter of the day a millimetre of trade
guidance (BS 8204-1, from memory); project choice."""

UNKNOWN_MM = 40.0
"""Thickness taken where none is stated [mm]: the thinnest usual screed (project choice)."""


def unknown_material(test: JudgedTest) -> str:
    """Say that nobody can tell whether method and limit hold for a material."""
    room = test.entry.room
    if room is None or not test.judged:
        return ""
    base = room.slab.base.strip()
    material = material_of(base)
    if material == "magnesite" and test.entry.method.key != "oven-dry":
        return (
            f"{room.name}: the layer is of magnesite, and limits of cement and concrete by"
            f" {test.entry.method.key} do not hold for it: test as its maker asks, by drying"
        )
    if material or _MINERAL.search(base):
        return ""
    return (
        f"{room.name}: whether method and limit hold for a layer of {base!r} is not known: state"
        ' what it is made of, such as base = "concrete slab" or "cement screed"'
    )


def too_young(test: JudgedTest) -> str:
    """Say that no mineral layer dries so fast: its day, the result or the sample is wrong."""
    entry, room, read = test.entry, test.entry.room, test.read
    if room is None or room.slab.placed is None or read is None or not test.judged:
        return ""
    base = room.slab.base
    if material_of(base) == TIMBER or _FAST.search(base):
        return ""
    days = (read.date() - room.slab.placed).days
    thick = entry.thickness_mm or room.slab.thickness_mm or UNKNOWN_MM
    least = DAYS_PER_MM * thick
    if days <= 0 or days >= least:
        return ""
    return (
        f"{entry.label}: {days} days after it was placed no layer of {thick:g} mm is dry (a quarter"
        f" of a day for each millimetre, {least:.0f} days, is the least): see the day it was"
        " placed, the sample and the instrument; say so in base where it is made to dry fast"
    )
