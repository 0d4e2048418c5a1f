"""Whether the tests cover the floor by the rules: how many, where, and how old."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd
from shapely.geometry import Point

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import AgeRule, PlaceRule, RuleBook
from moisturemap.acceptance.supersede import SAME_SPOT_M
from moisturemap.floorplan import FloorPlan, Room, Slab, exterior_walls, walls
from moisturemap.survey import CountRule, Survey, counts_for
from moisturemap.zones import MappedVisit

COVERAGE_COLUMNS = (
    "rule",
    "asked",
    "required",
    "found",
    "needed",
    "met",
    "sentence",
    "document",
    "source",
    "sureness",
)
"""``met`` is True, False, or None where it cannot be told."""

ZONE_REACH_M = 0.3
"""A test this near a wet zone counts as in it [m]; the reach of one reading."""

UNMAPPED_REACH_M = 0.5
"""A test this near the highest reading of a scan without a map counts as at it [m]; project choice:
a hole beside the reading."""

LEAST_READINGS = 10
"""A scan of fewer readings shows no wet zones that a verdict could rest on; project choice."""

LEAST_WALL_M = 1.0
"""Shorter exterior walls need no test of their own [m]; project choice."""

ON_WALL_M = 0.35
"""A wall whose middle is this near the outer edge is exterior [m]."""

CONDITION_RULES = (
    "conditioned",
    "air-temperature",
    "air-humidity",
    "slab-temperature",
    "service-held",
)
"""Ends of the names of rules on the air of the room."""


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
    unmapped : tuple of str
        Rooms of which the scan gave no map.
    unread : tuple of str
        Rooms in which the scan took no reading.
    highest : tuple of float or None
        Highest reading of the latest scan, where that was left out or is too thin to show wet
        zones: value and place x, y [m].
    """

    method: str
    rooms: tuple[Room, ...]
    plan: FloorPlan
    zones: gpd.GeoDataFrame | None
    unmapped: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    highest: tuple[float, float, float] | None = None


def highest_left_out(
    survey: Survey, study: MappedVisit | None
) -> tuple[float, float, float] | None:
    """Return the highest reading of the latest scan where the map says nothing of it.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
        The map beside the tests: none, of an earlier visit, or of too few readings.

    Returns
    -------
    tuple of float or None
        Value and place x, y [m]; None where the latest scan is mapped, or nothing was scanned.
    """
    readings = survey.readings
    if readings.empty:
        return None
    scanned = [one.id for one in survey.visits if (readings["visit"] == one.id).any()]
    if study is not None and study.visit.id == scanned[-1]:
        thin = len(study.readings) < LEAST_READINGS and study.wet.zones.empty
        if not thin:
            return None
    known = readings[readings["visit"] == scanned[-1]].dropna(subset=["x", "y", "value"])
    if known.empty:
        return None
    top = known.iloc[int(known["value"].to_numpy().argmax())]
    return float(top["value"]), float(top["x"]), float(top["y"])


def cover(
    tests: Sequence[JudgedTest], ground: Ground, book: RuleBook, units: str
) -> tuple[Cover, ...]:
    """Hold the judged tests of a method against the rules on number and place.

    Parameters
    ----------
    tests : sequence of JudgedTest
    ground : Ground
    book : RuleBook
    units : str
        ``metric`` or ``feet``, the unit the job is reported in; ``stricter`` for the one of the
        two that asks for more.
    """
    method = ground.method
    judged = [t for t in tests if t.judged and t.entry.method.key == method]
    found = _counts(tuple(book.counts.values()), judged, ground, units)
    places = [rule for rule in book.places.values() if method in rule.methods]
    return (*found, *(_PLACES[rule.kind](rule, judged, ground) for rule in places))


def places_of(tests: Sequence[JudgedTest]) -> list[tuple[Point, Room | None]]:
    """Return the places of tests."""
    return [(Point(test.entry.place), test.entry.room) for test in tests if test.entry.place]


def _counts(
    rules: Sequence[CountRule], tests: Sequence[JudgedTest], ground: Ground, units: str
) -> list[Cover]:
    """Hold the number of places against the rules; heated layers are counted by themselves."""
    covers = []
    for heated in (False, True):
        rooms = [room for room in ground.rooms if room.slab.heated is heated]
        ways = ("metric", "feet") if units == "stricter" else (units,)
        both = [counts_for(rules, ground.method, units=way, heated=heated) for way in ways]
        for rule in max(both, key=lambda way: _asked(way, rooms)) if rooms else ():
            parts = [[room] for room in rooms] if rule.per_room else [rooms]
            covers += [_count(rule, tests, part) for part in parts if rule.count(_area(part))]
    return covers


def _asked(rules: Sequence[CountRule], rooms: Sequence[Room]) -> int:
    return sum(rule.count(_area(rooms)) for rule in rules)


def _area(rooms: Sequence[Room]) -> float:
    return float(sum(room.polygon.area for room in rooms))


def _count(rule: CountRule, tests: Sequence[JudgedTest], rooms: Sequence[Room]) -> Cover:
    needed = rule.count(_area(rooms))
    own = [test for test in tests if any(test.entry.room is room for room in rooms)]
    found = distinct_places(own)
    where = f" in {rooms[0].name}" if rule.per_room else ""
    several = "valid test" if found == 1 else "valid tests"
    sentence = (
        f"{found} {several}{where} of the {needed} that {rule.document} asks for on"
        f" {_area(rooms):.0f} m2 ({rule.words})"
    )
    short = (f"in {rooms[0].name}",) if rule.per_room and found < needed else ()
    return Cover(rule, True, found, needed, found >= needed, sentence, short)


def distinct_places(tests: Sequence[JudgedTest]) -> int:
    """Count places, not records: two tests within ``SAME_SPOT_M`` are one place.

    Tests without a place may all be of one hole: those of a room are one place.
    """
    kept: list[JudgedTest] = []
    unplaced = set()
    for test in tests:
        here = test.entry.place
        if here is None:
            unplaced.add(test.entry.room.name if test.entry.room else "")
        elif not any(_near(here, other) for other in kept):
            kept.append(test)
    return len(kept) + len(unplaced)


def _near(here: tuple[float, float], other: JudgedTest) -> bool:
    there = other.entry.place
    return there is not None and Point(here).distance(Point(there)) <= SAME_SPOT_M


def _rooms(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    tested = {test.entry.room.name for test in tests if test.entry.room}
    lacking = [room.name for room in ground.rooms if room.name not in tested]
    sentence = "every room has a valid test"
    if lacking:
        sentence = f"no valid test in {_rooms_named(lacking, ground)}"
    return _place_cover(rule, len(ground.rooms), sentence, [f"in {name}" for name in lacking])


def _pours(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    pours: dict[tuple[object, ...], list[str]] = {}
    for room in ground.rooms:
        pours.setdefault(_pour(room.slab), []).append(room.name)
    tested = {_pour(test.entry.slab) for test in tests}
    lacking = [rooms for pour, rooms in pours.items() if pour not in tested]
    sentence = "every pour, thickness and material has a valid test"
    if lacking:
        named = "; of ".join(_rooms_named(rooms, ground) for rooms in lacking)
        sentence = f"no valid test on the slab of {named}"
    return _place_cover(rule, len(pours), sentence, [f"in {rooms[0]}" for rooms in lacking])


def _rooms_named(names: Sequence[str], ground: Ground) -> str:
    """Name rooms; of many the first, and how many more."""
    if len(names) <= LISTED:
        return ", ".join(names)
    if len(names) == len(ground.rooms):
        return f"all {len(names)} rooms"
    return f"{', '.join(names[:LISTED])} and {len(names) - LISTED} more rooms"


def _pour(slab: Slab) -> tuple[object, ...]:
    return slab.base, slab.thickness_mm, slab.drying_faces, slab.pour, slab.heated


def _zones(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    zones = ground.zones
    if zones is not None:
        names = {room.name for room in ground.rooms}
        zones = zones[zones["room"].isin(names)] if "room" in zones else zones
    if ground.highest is not None:
        return _highest(rule, tests, ground.highest)
    if zones is None:
        sentence = "no scan was given, so it cannot be told whether the wettest floor was tested"
        return Cover(rule, False, 0, 1, None, sentence)
    blind = _blind(tests, ground, with_zones=not zones.empty)
    if blind:
        sentence = f"{blind}, so it cannot be told whether the wettest floor was tested"
        return Cover(rule, False, 0, 1, None, sentence)
    if zones.empty:
        unread = [room.name for room in ground.rooms if room.name in ground.unread]
        sentence = "the scan shows no distinct wet zone"
        if unread:
            sentence += f"; it did not read {', '.join(unread)}, where a valid test stands"
        return Cover(rule, False, 0, 0, True, sentence)
    wettest = zones.sort_values("peak", ascending=False).iloc[0]
    points = [point for point, _ in places_of(tests)]
    lacking = [
        str(name)
        for name, shape in zip(zones["zone"], zones.geometry, strict=True)
        if not any(shape.distance(point) <= ZONE_REACH_M for point in points)
    ]
    first = str(wettest["zone"])
    others = [name for name in lacking if name != first]
    beside = f"; none in {'zone' if len(others) == 1 else 'zones'} {', '.join(others)}"
    beside = beside if others else ""
    if first not in lacking:
        sentence = f"the wettest zone of the scan, {first}, has a valid test{beside}"
        return _place_cover(rule, 1, sentence, [])
    sentence = f"no valid test in zone {first}, the wettest of the scan{beside}"
    return _place_cover(rule, 1, sentence, [f"in zone {first}"])


def _blind(tests: Sequence[JudgedTest], ground: Ground, *, with_zones: bool) -> str:
    """Say which rooms the scan is blind to: no map, or neither a reading nor a valid test."""
    names = [room.name for room in ground.rooms]
    blind = [name for name in names if name in ground.unmapped and not with_zones]
    if blind:
        return f"the scan gave no map of {', '.join(blind)}"
    tested = {test.entry.room.name for test in tests if test.entry.room}
    blind = [name for name in names if name in ground.unread and name not in tested]
    return f"the scan took no reading in {', '.join(blind)}, and no valid test stands there" * bool(
        blind
    )


def _highest(
    rule: PlaceRule, tests: Sequence[JudgedTest], reading: tuple[float, float, float]
) -> Cover:
    """Ask for a test at the highest reading of a scan too thin for a map, or left out."""
    value, x, y = reading
    where = f"at the highest reading of the scan, {value:g} at {x:.2f}, {y:.2f}"
    near = any(point.distance(Point(x, y)) <= UNMAPPED_REACH_M for point, _ in places_of(tests))
    found = "a" if near else "no"
    sentence = (
        f"the latest scan is left out or too thin to show wet zones; {found} valid test {where}"
    )
    return _place_cover(rule, 1, sentence, [] if near else [where])


def _walls(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    edges, note = exterior_walls(ground.plan)
    places, lacking, count = places_of(tests), [], 0
    on_grade = [room for room in ground.rooms if room.slab.on != "suspended"]
    if not on_grade:
        return Cover(rule, False, 0, 0, True, "no slab on or below grade: no wall asks for a test")
    for room in on_grade:
        for wall in walls(room):
            middle = wall.line.interpolate(0.5, normalized=True)
            if wall.length < LEAST_WALL_M or middle.distance(edges) > ON_WALL_M:
                continue
            count += 1
            near = any(
                own is room and wall.line.distance(point) <= rule.within_m + 1e-6
                for point, own in places
            )
            if not near:
                where = f" of {room.name}" if len(ground.plan.rooms) > 1 else ""
                lacking.append(f"within {rule.within_m:g} m of the {wall.name}{where}")
    sentence = f"each of {count} exterior walls has a valid test within {rule.within_m:g} m"
    if lacking:
        sentence = (
            f"{len(lacking)} of {count} exterior walls have no valid test within"
            f" {rule.within_m:g} m"
        )
    unknown = [room.name for room in on_grade if not room.slab.on]
    if unknown:
        sentence += (
            f"; what the slab of {_rooms_named(unknown, ground)} lies on is not stated: taken as on"
            " the ground"
        )
    sentence += f"; {note[0].lower()}{note[1:]}" if note else ""
    return _place_cover(rule, count, sentence, lacking)


def _conditions(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    """How many tests show the room at service conditions; places lack nothing by it."""
    shown = sum(
        not any(finding.rule.endswith(CONDITION_RULES) for finding in test.findings)
        for test in tests
    )
    sentence = f"{shown} of {len(tests)} judged tests show the room at service conditions"
    met = shown == len(tests) if tests else None
    return Cover(rule, rule.required, shown, len(tests), met, sentence)


def _place_cover(rule: PlaceRule, needed: int, sentence: str, lacking: list[str]) -> Cover:
    found = needed - len(lacking)
    return Cover(rule, rule.required, found, needed, not lacking, sentence, tuple(lacking))


_PLACES = {
    "room": _rooms,
    "pour": _pours,
    "wettest-zone": _zones,
    "exterior-wall": _walls,
    "conditions": _conditions,
}


def cover_age(tests: Sequence[JudgedTest], book: RuleBook) -> list[Cover]:
    """Say how old the tests are; a test too old does not count, whoever reads it."""
    of_limit = [test for test in tests if test.counts and test.age_days is not None]
    ages = [test.age_days for test in of_limit if test.judged and test.age_days is not None]
    stale = [test for test in of_limit if not test.fresh]
    covers = []
    for rule in book.ages.values():
        sentence = "no test is young enough to rest a verdict on"
        if ages:
            sentence = f"the oldest test the verdict rests on is {max(ages):.0f} days old"
        if stale:
            oldest = max((test.age_days or 0.0 for test in stale), default=0.0)
            sentence = (
                f"{_listed(stale)}: {oldest:.0f} days old, more than {rule.at_most_days:g}, no"
                f" longer counted: read again; {sentence}"
            )
        covers.append(Cover(rule, False, len(ages), len(ages) + len(stale), not stale, sentence))
    return covers if of_limit else []


def _listed(tests: Sequence[JudgedTest]) -> str:
    names = list(dict.fromkeys(test.entry.label for test in tests))
    shown = ", ".join(names[:LISTED])
    return shown + (f" and {len(names) - LISTED} more" if len(names) > LISTED else "")


LISTED = 6
"""Tests named in one sentence before the rest is only counted."""


def coverage_table(covers: Sequence[Cover]) -> pd.DataFrame:
    """List the rules on the tests as a whole; columns ``COVERAGE_COLUMNS``."""
    rows = [
        (
            one.rule.id,
            one.rule.words,
            one.required,
            one.found,
            one.needed,
            one.met,
            one.sentence,
            one.rule.document,
            one.rule.source,
            one.rule.sureness,
        )
        for one in covers
    ]
    return pd.DataFrame(rows, columns=list(COVERAGE_COLUMNS)).astype({"met": object})
