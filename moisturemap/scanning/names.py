"""Names of places to read that mean one place each, also where a visit was laid out twice."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import count
from typing import NamedTuple

import geopandas as gpd

ONE_PLACE_M = 0.05
"""A name means the same place when it lies no farther apart [m]; a tape is read to a centimetre or
two. Project choice."""


class NamedPlace(NamedTuple):
    """A place that was read under a name."""

    room: str
    label: str
    x: float
    y: float


def named_apart(places: gpd.GeoDataFrame, taken: Iterable[NamedPlace]) -> gpd.GeoDataFrame:
    """Give places other names where theirs stand for other places already.

    Parameters
    ----------
    places : geopandas.GeoDataFrame
        ``LAYOUT_COLUMNS``.
    taken : iterable of NamedPlace

    Returns
    -------
    geopandas.GeoDataFrame
        The same places; all labels end in one letter more (``A1b``) where any of them was taken.
    """
    known: dict[tuple[str, str], list[NamedPlace]] = {}
    for one in taken:
        known.setdefault((one.room, one.label), []).append(one)
    rows = [NamedPlace(*row) for row in places[list(NamedPlace._fields)].itertuples(index=False)]

    def clash(suffix: str) -> bool:
        return any(
            math.hypot(row.x - other.x, row.y - other.y) > ONE_PLACE_M
            for row in rows
            for other in known.get((row.room, row.label + suffix), ())
        )

    suffix = next(one for one in _suffixes() if not clash(one))
    return places.assign(label=places["label"] + suffix) if suffix else places


def _suffixes() -> Iterator[str]:
    yield ""
    for number in count(1):
        yield from (letter * number for letter in "bcdefghjkmnpqrstuvwxyz")
