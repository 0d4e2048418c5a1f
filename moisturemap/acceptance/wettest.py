"""Whether the wettest floor was tested: in the wettest zone, or where the scan cannot show one.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import geopandas as gpd
import numpy as np
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from moisturemap.acceptance.cover import Cover, Ground, place_cover, places_of
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import PlaceRule
from moisturemap.acceptance.spread import REACH
from moisturemap.zones.high_place import HighPlace

ZONE_REACH_M = 0.3
"""A test this near a wet zone counts as in it [m]; the reach of one reading."""

TOP_REACH_M = 0.1
"""A test this near the part of a zone that reads wettest counts as in it [m]; a cell and the tape:
where a patch is steep, farther off it is another floor (our choice)."""


def wettest_zone(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    """Hold the tests against the rule that the wettest floor is tested.

    Parameters
    ----------
    rule : PlaceRule
    tests : sequence of JudgedTest
    ground : Ground
    """
    zones, names = ground.zones, {room.name for room in ground.rooms}
    for high in ground.highest:
        if high.room in ("", *names) and not _tested(tests, high):
            return _asks(rule, high)
    beyond = _beyond(rule, tests, ground)
    if beyond is not None:
        return beyond
    if zones is not None and "room" in zones:
        zones = zones[zones["room"].isin(names)]
    if zones is None:
        if ground.highest:
            sentence = "a valid test stands at the highest reading of the scan"
            return place_cover(rule, 1, sentence, [])
        sentence = "no scan was given, so it cannot be told whether the wettest floor was tested"
        return Cover(rule, False, 0, 1, None, sentence)
    blind = _blind(tests, ground)
    if blind:
        sentence = (
            f"the scan took no reading in {', '.join(blind)}, and no valid test stands there, so it"
            " cannot be told whether the wettest floor was tested"
        )
        return Cover(rule, False, 0, 1, None, sentence)
    if zones.empty:
        return Cover(rule, False, 0, 0, True, _no_zone(ground))
    return _in_zones(rule, tests, zones, ground.wettest, ground.read_wet)


def _beyond(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover | None:
    """Ask for a test on wet floor of which none speaks; None where there is no such floor."""
    wet = ground.wet
    if wet is None:
        return None
    points = np.array([(point.x, point.y) for point, _ in places_of(tests)]).reshape(-1, 2)
    area = sum(room.polygon.area for room in ground.rooms)
    reach = REACH * float(np.sqrt(area / max(ground.needed, 1)))
    names = {room.name for room in ground.rooms}
    left = [one for one in wet.beyond(points, reach) if wet.room[one] in names]
    if not left:
        return None
    (x, y), read = wet.places[left[0]], wet.value[left[0]]
    where = f"near ({x:.2f}, {y:.2f}), where it reads {read:g}"
    sentence = (
        f"no valid test within {reach:.1f} m of wet floor {where} stands where the scan reads at"
        " least three quarters as high"
    )
    return place_cover(rule, 1, sentence, [where])


def _in_zones(
    rule: PlaceRule,
    tests: Sequence[JudgedTest],
    zones: gpd.GeoDataFrame,
    wettest: Mapping[str, tuple[BaseGeometry, ...]],
    read_wet: frozenset[str],
) -> Cover:
    """Ask for a test where the wettest zone reads wettest, and in each that is surely wet.

    Zones that reach full scale alike are all the wettest: none can be called so.
    """
    points = [point for point, _ in places_of(tests)]

    def stands_in(shape: BaseGeometry, reach: float = ZONE_REACH_M) -> bool:
        return any(shape.distance(point) <= reach for point in points)

    names = [str(name) for name in zones["zone"]]
    wet = zones["peak"] == zones["peak"].max()
    alike = [name for name, one in zip(names, wet, strict=True) if one]
    inside = dict(zip(names, map(stands_in, zones.geometry), strict=True))
    sure = (zones["sure_m2"].to_numpy(dtype=float) > 0.0) | zones["zone"].isin(read_wet).to_numpy()
    held = [name for name, one in zip(names, wet | sure, strict=True) if one]
    asked = [name for name in held if not inside[name]]
    rim = [
        (name, top)
        for name in held
        if inside[name]
        for top in wettest.get(name, ())
        if not top.is_empty and not stands_in(top, TOP_REACH_M)
    ]
    beside = [name for name in names if not inside[name] and name not in asked]
    told = f"; none in {_zones(beside)}, which the map is not sure of" if beside else ""
    needed = max(len(asked) + len(rim), 1)
    places = [f"in zone {name}" for name in asked]
    if rim:
        peaks = [_peak_words(name, top) for name, top in rim]
        also = f"; no valid test in {_zones(asked)}, surely wet" if asked else ""
        sentence = (
            f"no valid test {', '.join(peaks)}: those in it stand where it reads less than three"
            f" quarters of the way from the driest floor to its peak{also}{told}"
        )
        return place_cover(rule, needed, sentence, [*peaks, *places])
    if not asked:
        sentence = f"the wettest zone of the scan, {alike[0]}, has a valid test{told}"
        return place_cover(rule, 1, sentence, [])
    sentence = f"no valid test in {_zones(asked)}, surely wet by the scan{told}"
    if alike[0] in asked:
        sentence = f"no valid test in {_zones(asked)}, the wettest of the scan{told}"
    return place_cover(rule, needed, sentence, places)


def _peak_words(zone: str, top: BaseGeometry) -> str:
    at = top.representative_point()
    return f"where zone {zone} reads wettest, about ({at.x:.2f}, {at.y:.2f})"


def _zones(names: Sequence[str]) -> str:
    return f"{'zone' if len(names) == 1 else 'zones'} {', '.join(names)}"


def _no_zone(ground: Ground) -> str:
    sentence = "the scan shows no distinct wet zone"
    unread = [room.name for room in ground.rooms if room.name in ground.unread]
    if unread:
        sentence += f"; it did not read {', '.join(unread)}, where a valid test stands"
    beside = [high.why for high in ground.highest]
    return "; ".join([sentence, *(f"{why}, and a valid test stands there" for why in beside)])


def _blind(tests: Sequence[JudgedTest], ground: Ground) -> list[str]:
    """Rooms with neither a reading nor a valid test."""
    tested = {test.entry.room.name for test in tests if test.entry.room}
    names = [room.name for room in ground.rooms]
    return [name for name in names if name in ground.unread and name not in tested]


def _tested(tests: Sequence[JudgedTest], high: HighPlace) -> bool:
    if high.saturated or high.instead:
        return False
    asked = high.part if high.part is not None else MultiPoint(high.places)
    return any(point.distance(asked) <= high.within_m for point, _ in places_of(tests))


def _asks(rule: PlaceRule, high: HighPlace) -> Cover:
    """Say where a test is lacking, or that no place can be named."""
    if high.saturated:
        sentence = (
            f"{high.why}: {len(high.places)} readings stand at full scale, so none can be called"
            " the wettest; read again on a range that reaches"
        )
        return Cover(rule, rule.required, 0, 1, False, sentence)
    if high.instead:
        return Cover(rule, rule.required, 0, 1, False, f"{high.why}; {high.instead}")
    x, y = high.places[0]
    read = "" if high.value is None else f"{high.value:g} "
    where = f"{high.where}, {read}at ({x:.2f}, {y:.2f})"
    alone = where.replace("the highest of them", "the high reading")
    return place_cover(rule, 1, f"{high.why}; no valid test {where}", [alone])
