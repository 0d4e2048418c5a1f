"""Layers that are heated by their words or by what the plan shows in them, and not by the record.

A heated screed has a lower limit and is tested at marked points with the heating off (EN 1264-4,
DIN 18560-1, from secondary sources).

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re

from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan, Room

_HEATED = (
    r"(?:(?<!not )(?<!nicht )\bheat(?:ed|ing|s)?\b|\bheat mats?\b|\bu\.?f\.?h\b\.?|\bf\.?b\.?h\b\.?"
    r"|\bradiant|\bhydronic|(?<!un)(?<!un[bg]e)heiz|\bwarmwasserf|\bchauff|\bcalefac|\briscald"
    r"|\bverwarm|\bogrzew)"
)
_WARM = re.compile(_HEATED, re.IGNORECASE)
_LAID = re.compile(
    r"\b1264\b|\bpe-?xa?\b|\bpe-?rt\b|\belectric\w* (?:mats?|cables?|wires?|foils?|films?|floor)"
    r"|\b(?:loops?|circuits?|coils?|manifolds?)\b",
    re.IGNORECASE,
)
"""What only heating is called in the name of a layer; a line of the plan may be of anything."""

_DENIED = re.compile(
    r"\b(?:no|not|non|never|without|ohne|kein\w*|nicht|sans|pas de|pas|un)[- ]+"
    r"(?:(?:any|under|floor|underfloor|electric|wet|water|de|sol|au) ?-?){0,3}"
    rf"\w*(?:{_HEATED}|heiz)\w*(?:[- ](?:heating|loops?|pipes?|circuits?|mats?|water))*",
    re.IGNORECASE,
)
"""Common words for floor heating, and what denies it."""

_FEEDS = re.compile(
    r"\bheating (?:supply|feed|mains?|risers?)\b|radiat(?:or|eur)|heizkörper|heizungs?zuleitung"
    r"|convector|konvektor",
    re.IGNORECASE,
)
"""Lines that feed what hangs on walls: no floor heating."""

IN_ROOM_M = 0.5
"""A drawn heating that runs so far through a room heats it [m]; our choice: less is a feed."""


def names_heating(base: str) -> bool:
    """Whether the name of a layer speaks of floor heating and does not deny it.

    Parameters
    ----------
    base : str

    Examples
    --------
    >>> [names_heating(one) for one in ("cement screed, FBH", "unheated screed", "no UFH", "slab")]
    [True, False, False, False]
    """
    told = _DENIED.sub(" ", base)
    return bool(_WARM.search(told) or _LAID.search(told))


def is_heating(name: str) -> bool:
    """Whether a line of the plan is one of floor heating, by its name.

    Parameters
    ----------
    name : str

    Examples
    --------
    >>> [is_heating(one) for one in ("UFH loop 1", "heating supply", "lighting circuit")]
    [True, False, False]
    """
    return bool(_WARM.search(_DENIED.sub(" ", name))) and not _FEEDS.search(name)


def heated_in_words(room: Room, plan: FloorPlan) -> str:
    """Say that a layer is heated by its words or by the plan, and not by what is stated of it.

    Parameters
    ----------
    room : Room
    plan : FloorPlan
    """
    if room.slab.heated:
        return ""
    how = "denied" if room.slab.heated is False else "not stated"
    if names_heating(room.slab.base):
        return (
            f"{room.name} is of {room.slab.base}, and that it is heated is {how}: heated layers"
            " have lower limits and are tested at marked points with the heating off; state heated"
            " = true, or correct the name of the layer"
        )
    drawn = [
        line.name for line in plan.lines if is_heating(line.name) and _lies_in(line.geometry, room)
    ]
    if not drawn:
        return ""
    return (
        f"the plan draws {drawn[0]!r} through {room.name}, and that it is heated is {how}: heated"
        " layers have lower limits and are tested at marked points with the heating off; state"
        " heated = true, or correct the plan"
    )


def _lies_in(geometry: BaseGeometry, room: Room) -> bool:
    shared = geometry.intersection(room.polygon)
    if geometry.geom_type in ("Point", "MultiPoint"):
        return not shared.is_empty
    return bool(shared.length > IN_ROOM_M)
