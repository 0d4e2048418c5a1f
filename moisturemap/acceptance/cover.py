"""What one rule on the tests as a whole asks for, and the floor it is asked of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import geopandas as gpd
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import AgeRule, PlaceRule
from moisturemap.acceptance.wet_reach import WetReadings
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import CountRule
from moisturemap.zones.high_place import HighPlace


@dataclass(frozen=True)
class Cover:
    """One rule on the tests as a whole.

    Attributes
    ----------
    rule : CountRule, PlaceRule or AgeRule
    required : bool
        Whether the floor cannot be called proven without it.
    found, needed : int
    met : bool or None
        None where it cannot be told.
    sentence : str
    lacking : tuple of str
        Places that lack a test, as they are said in a next step: ``"in zone B"``.
    """

    rule: CountRule | PlaceRule | AgeRule
    required: bool
    found: int
    needed: int
    met: bool | None
    sentence: str
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ground:
    """The floor that one method of test has to cover.

    Attributes
    ----------
    method : str
        Method of the limit.
    rooms : tuple of Room
        Rooms whose limit is of that method.
    plan : FloorPlan
    zones : geopandas.GeoDataFrame or None
        Wet zones of the scan; None without a scan.
    unread : tuple of str
        Rooms in which the scan took no reading.
    highest : tuple of HighPlace
        Floor of which no wet zone speaks.
    wettest : mapping of str to tuple of shapely geometry
        Parts of each zone that read wettest, one about each peak.
    read_wet : frozenset of str
        Zones whose readings stand above the wet level beyond their noise.
    wet : WetReadings or None
        Readings of the scan by height; None without a scan that tells.
    needed : int
        Tests that the rules on number ask for.
    """

    method: str
    rooms: tuple[Room, ...]
    plan: FloorPlan
    zones: gpd.GeoDataFrame | None
    unread: tuple[str, ...] = ()
    highest: tuple[HighPlace, ...] = ()
    wettest: Mapping[str, tuple[BaseGeometry, ...]] = field(default_factory=dict)
    read_wet: frozenset[str] = frozenset()
    wet: WetReadings | None = None
    needed: int = 1


def places_of(tests: Sequence[JudgedTest]) -> list[tuple[Point, Room | None]]:
    """Return the places of tests."""
    return [(Point(test.entry.place), test.entry.room) for test in tests if test.entry.place]


def place_cover(rule: PlaceRule, needed: int, sentence: str, lacking: list[str]) -> Cover:
    """Make the cover of a rule on places from those that lack a test."""
    found = needed - len(lacking)
    return Cover(rule, rule.required, found, needed, not lacking, sentence, tuple(lacking))
