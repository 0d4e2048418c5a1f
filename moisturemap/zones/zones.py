"""Wet zones and the level they are drawn at."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
from shapely import union_all
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True)
class WetLevel:
    """The relative reading above which floor is called wet, and why that one.

    Attributes
    ----------
    value : float or None
        None when the readings show no distinct wet zone.
    how : str
        ``"stated"``, ``"dry-reference"``, ``"two-populations"`` or ``"none"``.
    explanation : str
        Sentence for the reader.
    base : str
        Material it is of, as rooms state it; "" where the survey tells of one alone, or not which.
    """

    value: float | None
    how: str
    explanation: str
    base: str = ""


ZONE_COLUMNS = (
    "zone",
    "standing",
    "room",
    "rooms",
    "domain",
    "area_m2",
    "area_low_m2",
    "area_high_m2",
    "sure_m2",
    "peak",
    "peak_x",
    "peak_y",
    "mean",
    "mean_sd",
    "confidence",
    "hint",
    "geometry",
)
"""``standing`` is ``wet``, or ``contested`` where half and more of the zone would be gone if what
is contested were things; ``room`` is where the peak lies and ``rooms`` all it reaches; the area's
interval comes from conditional draws; ``sure_m2`` lies in the surely wet set; ``peak`` is the
highest mapped reading, at most full scale where the map's options state the
meter's scale; ``mean`` and ``mean_sd`` are the block average; ``confidence`` is the
probability that the zone holds wet floor at all; ``hint`` is what its shape suggests about a
source, or ""."""


@dataclass(frozen=True)
class WetZones:
    """Wet zones of one surface.

    Attributes
    ----------
    level : WetLevel
    zones : geopandas.GeoDataFrame
        Columns ``ZONE_COLUMNS``; outline where P(wet) = 0.5; ``zone`` is "A", "B", ... by peak.
    sure : geopandas.GeoDataFrame
        ``domain, geometry``: surely wet, simultaneous confidence ``confidence``.
    possible : geopandas.GeoDataFrame
        ``domain, geometry``: floor that is not surely dry (the possible rim).
    confidence : float
        Simultaneous confidence of ``sure`` and of the dry remainder, e.g. 0.9.
    statement : str
        One sentence for the reader.
    small_m2 : tuple of float
        Areas of the patches above the level that are too small to be zones [m2].
    """

    level: WetLevel
    zones: gpd.GeoDataFrame
    sure: gpd.GeoDataFrame
    possible: gpd.GeoDataFrame
    confidence: float
    statement: str
    small_m2: tuple[float, ...] = ()

    @property
    def unsure(self) -> BaseGeometry:
        """The floor of which the map cannot tell whether it is wet: possible but not sure."""
        possible, sure = (union_all(list(one.geometry)) for one in (self.possible, self.sure))
        return possible.difference(sure)
