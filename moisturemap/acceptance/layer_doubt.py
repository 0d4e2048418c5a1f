"""What keeps a floor from meeting because of its layer: unknown, too young, or bonded to a slab.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.evidence import AT_DEPTH_METHODS, JudgedTest
from moisturemap.acceptance.supersede import SAMPLED
from moisturemap.base_material import CEMENT, TIMBER, is_fast, material_of

_MINERAL = re.compile(
    r"slab|dalle|platte|decke\b|sohle|screed|estrich|chape|topping|hormig|calcestr|massett|mortar"
    r"|mörtel|mortier|level+ing|stahlbeton|losa|terrazzo",
    re.IGNORECASE,
)
"""Words for mineral layers beside those that tell the binder (common words)."""

DAYS_PER_MM = 0.25
"""No mineral layer dries in less than this [d/mm]: a quarter of the day a millimetre of trade
guidance (BS 8204-1, from memory); project choice."""

CEMENT_DAYS, SCREED_MM = 28.0, 30.0
"""No layer of cement this thick [mm] is judged younger than so many days: cement is tested and its
limits are stated from its age of 28 days on (from memory; thinner are levelling compounds). Project
choice."""

UNKNOWN_MM = 40.0
"""Thickness taken where none is stated [mm]: the thinnest usual screed (project choice)."""


WITH_SLAB_MM = 100.0
"""A bonded layer stated as this thick is taken to be stated with its slab: screeds bonded to one
are some 50 mm thick at most (DIN 18560-3, from memory), slabs 100 mm at least; project choice."""

_NEW = re.compile(
    r"\b(?:new|young|fresh|green|neu|jung|frisch|nouve|jeune)|monolith|wet[- ]on",
    re.IGNORECASE,
)
_OLD = re.compile(
    r"\b(?:old|existing|years|tested dry|alt(?:e[mnrs]?|bau|beton)?\b|bestehend|bestand|jahre"
    r"|trocken geprüft|existant|ancien)",
    re.IGNORECASE,
)
"""Words for slabs below that are still drying, and for those that are not (common words)."""


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
    if material_of(base) == TIMBER or is_fast(base):
        return ""
    days = (read.date() - room.slab.placed).days
    thick = entry.thickness_mm or room.slab.thickness_mm or UNKNOWN_MM
    least = DAYS_PER_MM * thick
    cement = material_of(base) == CEMENT and thick >= SCREED_MM
    if 0 < days < CEMENT_DAYS and cement and days >= least:
        return (
            f"{entry.label}: {days} days after it was placed a layer of cement is not tested for"
            f" its covering, {CEMENT_DAYS:.0f} days are the least: test again then; say so in base"
            " where it is made to dry fast"
        )
    if days <= 0 or days >= least:
        return ""
    return (
        f"{entry.label}: {days} days after it was placed no layer of {thick:g} mm is dry (a quarter"
        f" of a day for each millimetre, {least:.0f} days, is the least): see the day it was"
        " placed, the sample and the instrument; say so in base where it is made to dry fast"
    )


def bonded_alone(test: JudgedTest) -> str:
    """Say that a layer bonded to a slab was tested as if it dried by itself.

    By humidity at the depth of the layer alone; by a sample of it where the slab below may be new:
    on an old one it is the layer that dries.
    """
    entry, room, key = test.entry, test.entry.room, test.entry.method.key
    if room is None or not test.judged or key not in (*AT_DEPTH_METHODS, *SAMPLED):
        return ""
    slab, thick = room.slab, max(entry.thickness_mm or 0.0, room.slab.thickness_mm or 0.0)
    bonded = slab.build_up == "bonded" or re.search(r"(?<!un)bonded|verbund", slab.base, re.I)
    if not bonded or thick >= WITH_SLAB_MM:
        return ""
    if key in AT_DEPTH_METHODS:
        return (
            f"{room.name}: {entry.label} was read in a layer bonded to a slab, which dries as one"
            f" with it, and {thick:g} mm is the layer alone: test at the depth that layer and slab"
            " together ask for, and state the thickness of both"
        )
    if _OLD.search(slab.base) and not _NEW.search(slab.base):
        return ""
    return (
        f"{room.name}: {entry.label} is a sample of a layer bonded to a slab, and whether the slab"
        " below is still drying is not stated: test the slab too, and say in base that it is old"
        " or tested dry"
    )
