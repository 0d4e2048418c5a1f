"""Lines of the plan that matter: walls, joints, known services."""

from __future__ import annotations

import re
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

LINE_KINDS = (
    "exterior-wall",
    "interior-wall",
    "movement-joint",
    "day-joint",
    "known-service",
    "door",
    "keep-clear",
    "power-point",
)
"""What a line (or point, or area) of the plan may be."""


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A wall, joint, service, door, keep-clear area or power point of the plan [m]."""

    kind: str
    geometry: BaseGeometry
    name: str = ""


_WORDS = {
    "exterior-wall": ("exterior wall", "external wall", "outer wall", "outside wall", "facade"),
    "interior-wall": ("interior wall", "internal wall", "inner wall", "partition", "wall", "walls"),
    "movement-joint": ("movement joint", "expansion joint", "isolation joint"),
    "day-joint": ("day joint", "construction joint", "pour joint", "cold joint", "pour break"),
    "known-service": (
        "known service",
        "service",
        "services",
        "pipe",
        "pipes",
        "cable",
        "cables",
        "conduit",
        "duct",
        "drain",
        "heating pipe",
        "water pipe",
        "gas pipe",
        "tendon",
        "tendons",
    ),
    "door": ("door", "doors", "doorway", "door opening"),
    "keep-clear": ("keep clear", "no drill", "no drilling", "exclusion", "restricted"),
    "power-point": ("power point", "power points", "socket", "sockets", "outlet", "outlets"),
}
_VOID_WORDS = (
    "void",
    "column",
    "columns",
    "pillar",
    "pillars",
    "pit",
    "pits",
    "shaft",
    "opening",
    "hole",
    "stairwell",
)
_ROOM_WORDS = ("room", "rooms", "space", "floor", "area", "outline", "slab")

_KIND_OF_WORD = {word: kind for kind, words in _WORDS.items() for word in words}
_KIND_OF_WORD |= dict.fromkeys(_VOID_WORDS, "void") | dict.fromkeys(_ROOM_WORDS, "room")


def kind_of(text: object) -> str | None:
    """Return the kind a word of a drawing stands for, or None when it is not known.

    Parameters
    ----------
    text : object
        As written in the drawing.

    Returns
    -------
    str or None
        One of ``LINE_KINDS``, ``"room"``, or ``"void"`` (a column, pit or opening). A layer name
        such as ``"A-DAY-JOINT"`` or ``"02_Columns"`` is understood by the words it ends with.

    Examples
    --------
    >>> kind_of("Expansion_Joint"), kind_of("A-DOOR"), kind_of("furniture")
    ('movement-joint', 'door', None)
    """
    words = re.sub(r"[\W_\d]+", " ", str(text).casefold()).split()
    for begin in range(len(words)):
        kind = _KIND_OF_WORD.get(" ".join(words[begin:]))
        if kind:
            return kind
    return None
