"""Domains: parts of the floor whose moisture is one continuous field."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class Domain:
    """A part of the floor mapped as one field.

    Rooms on one slab form one domain although thin walls stand between them; a day joint, a
    different material, thickness or pour separates domains.

    Attributes
    ----------
    key : str
        ``"D1"``, ``"D2"``, ... in plan order.
    geometry : shapely geometry
        The rooms of the domain and the thin walls between them [m].
    rooms : tuple of str
        Names of the rooms it lies in.
    """

    key: str
    geometry: BaseGeometry
    rooms: tuple[str, ...]
