"""Whether the wettest floor was tested: in the wettest zone, or where the scan cannot show one.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import geopandas as gpd
import pandas as pd
from shapely.geometry import Point

from moisturemap.acceptance.cover import Cover, Ground, HighPlace, place_cover, places_of
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import PlaceRule
from moisturemap.anomalies import ANOMALY_KINDS
from moisturemap.survey import Survey
from moisturemap.zones import MappedVisit

ZONE_REACH_M = 0.3
"""A test this near a wet zone counts as in it [m]; the reach of one reading."""

UNMAPPED_REACH_M = 0.5
"""A test this near the highest reading of floor without a map counts as at it [m]; project choice:
a hole beside the reading."""

BESIDE_REACH_M = 1.0
"""A test this near the highest reading set aside as a thing counts as beside it [m]: a hole
keeps clear of the thing itself (project choice)."""

LEAST_READINGS = 10
"""A scan of fewer readings shows no wet zones that a verdict could rest on; project choice."""


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
    return _in_zones(rule, tests, zones)


def _in_zones(rule: PlaceRule, tests: Sequence[JudgedTest], zones: gpd.GeoDataFrame) -> Cover:
    """Ask for a test in the wettest zone, and name the others without one."""
    first = str(zones.sort_values("peak", ascending=False).iloc[0]["zone"])
    points = [point for point, _ in places_of(tests)]
    lacking = [
        str(name)
        for name, shape in zip(zones["zone"], zones.geometry, strict=True)
        if not any(shape.distance(point) <= ZONE_REACH_M for point in points)
    ]
    others = [name for name in lacking if name != first]
    beside = f"; none in {'zone' if len(others) == 1 else 'zones'} {', '.join(others)}"
    beside = beside if others else ""
    if first not in lacking:
        sentence = f"the wettest zone of the scan, {first}, has a valid test{beside}"
        return place_cover(rule, 1, sentence, [])
    sentence = f"no valid test in zone {first}, the wettest of the scan{beside}"
    return place_cover(rule, 1, sentence, [f"in zone {first}"])


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
    if high.saturated:
        return False
    places = [Point(place) for place in high.places]
    return any(
        point.distance(place) <= high.within_m for point, _ in places_of(tests) for place in places
    )


def _asks(rule: PlaceRule, high: HighPlace) -> Cover:
    """Say where a test is lacking, or that no place can be named."""
    if high.saturated:
        sentence = (
            f"{high.why}: {len(high.places)} readings stand at full scale, so none can be called"
            " the wettest; read again on a range that reaches"
        )
        return Cover(rule, rule.required, 0, 1, False, sentence)
    x, y = high.places[0]
    where = f"{high.where}, {high.value:g} at {x:.2f}, {y:.2f}"
    return place_cover(rule, 1, f"{high.why}; no valid test {where}", [where])


def highest_places(survey: Survey, study: MappedVisit | None) -> tuple[HighPlace, ...]:
    """Return the highest readings of which no wet zone of the map speaks.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
        The map beside the tests: none, of an earlier visit, or of too few readings.

    Returns
    -------
    tuple of HighPlace
        Of the latest scan where it was left out or is too thin to show wet zones; else of each room
        without a map, and of what left the map as things where no zone was drawn.
    """
    readings = survey.readings
    if readings.empty:
        return ()
    scanned = [one.id for one in survey.visits if (readings["visit"] == one.id).any()]
    current = study is not None and study.visit.id == scanned[-1]
    if study is None or not current or _thin(study):
        latest = readings[readings["visit"] == scanned[-1]]
        why = "the latest scan is left out or too thin to show wet zones"
        return _highest(latest, HighPlace(why, "at the highest reading of the scan"))
    found: tuple[HighPlace, ...] = ()
    for room in study.moisture.unmapped_rooms:
        own = study.readings[study.readings["room"] == room]
        where = f"at the highest reading of {room}"
        found += _highest(own, HighPlace(f"the scan gave no map of {room}", where, room))
    return found + _set_aside(study)


def _thin(study: MappedVisit) -> bool:
    return len(study.readings) < LEAST_READINGS and study.wet.zones.empty


def _set_aside(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Highest reading above the wet level that left the map as a thing, where no zone was drawn."""
    level, readings = study.wet.level.value, study.readings
    if level is None or not study.wet.zones.empty or readings.empty:
        return ()
    hidden = readings[readings["flag"].isin(ANOMALY_KINDS) & (readings["value"] > level)]
    things = ", ".join(sorted({str(name) for name in hidden["anomaly"] if name}))
    count = "1 reading" if len(hidden) == 1 else f"{len(hidden)} readings"
    why = f"{count} above the wet level left the map as things ({things})"
    return _highest(
        hidden,
        HighPlace(why, "beside the highest of them", within_m=BESIDE_REACH_M),
        may_saturate=False,
    )


def _highest(
    readings: pd.DataFrame, asked: HighPlace, *, may_saturate: bool = True
) -> tuple[HighPlace, ...]:
    """Return what is asked with value and places of the highest of some readings."""
    known = readings.dropna(subset=["x", "y", "value"])
    if known.empty:
        return ()
    top = known[known["value"] == known["value"].max()]
    full = "censored" in top and bool((top["censored"] == "above").any())
    places = tuple(dict.fromkeys(zip(top["x"].astype(float), top["y"].astype(float), strict=True)))
    saturated = may_saturate and full and len(places) > 1
    value = float(top["value"].iloc[0])
    return (replace(asked, value=value, places=places, saturated=saturated),)
