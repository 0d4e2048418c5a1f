"""Whether the tests cover the floor by the rules: how many, where, and how old."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import geopandas as gpd
import pandas as pd
from shapely.geometry import Point

from moisturemap.acceptance.cover import Cover, Ground, place_cover, places_of
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.rule import PlaceRule, RuleBook
from moisturemap.acceptance.spread import spread
from moisturemap.acceptance.supersede import SAME_SPOT_M
from moisturemap.acceptance.wettest import ZONE_REACH_M, wettest_zone
from moisturemap.floorplan import Room, Slab, exterior_walls, walls_asked
from moisturemap.quantities import FEET
from moisturemap.survey import CountRule, counts_for

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

CONDITION_RULES = (
    "conditioned",
    "air-temperature",
    "air-humidity",
    "slab-temperature",
    "service-held",
)
"""Ends of the names of rules on the air of the room."""


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
    ground = replace(ground, needed=_needed(found))
    asked = [_PLACES[rule.kind](rule, judged, ground) for rule in places]
    unfit = [one for one in tests if not one.judged and one.entry.method.key == method]
    return (*found, *(_with_unfit(one, unfit, ground) for one in asked))


def _with_unfit(found: Cover, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    """Say which tests stand in a wet zone and do not count for it."""
    if found.rule.id != "wettest-zone" or found.met is not False or ground.zones is None:
        return found
    named: dict[str, list[str]] = {}
    for test in tests:
        place = test.entry.place
        zone = None if place is None else _zone_at(Point(place), ground.zones)
        if zone is not None and not test.superseded:
            named.setdefault(zone, []).append(test.entry.label)
    if not named:
        return found
    told = "; ".join(
        f"{', '.join(dict.fromkeys(labels))} in zone {zone}" for zone, labels in named.items()
    )
    why = (
        f"{found.sentence}; not counted, because not valid, too old or not at the depth of the"
        f" rule: {told}"
    )
    return replace(found, sentence=why)


def _zone_at(place: Point, zones: gpd.GeoDataFrame) -> str | None:
    inside = zones[zones.geometry.distance(place) <= ZONE_REACH_M]
    return None if inside.empty else str(inside["zone"].iloc[0])


def _counts(
    rules: Sequence[CountRule], tests: Sequence[JudgedTest], ground: Ground, units: str
) -> list[Cover]:
    """Hold the number of places against the rules; heated layers are counted by themselves."""
    covers = []
    for heated in (False, True):
        rooms = [room for room in ground.rooms if bool(room.slab.heated) is heated]
        ways = ("metric", "feet") if units == "stricter" else (units,)
        both = [counts_for(rules, ground.method, units=way, heated=heated) for way in ways]
        for rule in max(both, key=lambda way: _asked(way, rooms)) if rooms else ():
            parts = [[room] for room in rooms] if rule.per_room else [rooms]
            covers += [_count(rule, tests, part) for part in parts if rule.count(_area(part))]
    return covers


def _needed(counts: Sequence[Cover]) -> int:
    """Return how many tests the strictest of the rules on number asks for, over all rooms."""
    by_rule: dict[str, int] = {}
    for one in counts:
        by_rule[one.rule.id] = by_rule.get(one.rule.id, 0) + one.needed
    return max(by_rule.values(), default=1)


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
        f" {_area(rooms):.1f} m2 ({rule.words})"
    )
    short = (f"in {rooms[0].name}",) if rule.per_room and found < needed else ()
    return Cover(rule, True, found, needed, found >= needed, sentence, short)


def distinct_places(tests: Sequence[JudgedTest]) -> int:
    """Count places, not records: two tests within ``SAME_SPOT_M`` are one place.

    Tests without a place may all be of one hole, and of one that has a place: those of a room are
    one place, and none beside tests that have one.
    """
    kept: list[JudgedTest] = []
    unplaced = set()

    def room_of(test: JudgedTest) -> str:
        return test.entry.room.name if test.entry.room else ""

    for test in tests:
        here = test.entry.place
        if here is None:
            unplaced.add(room_of(test))
        elif not any(_near(here, other) for other in kept):
            kept.append(test)
    return len(kept) + len(unplaced - {room_of(test) for test in kept})


def _near(here: tuple[float, float], other: JudgedTest) -> bool:
    there = other.entry.place
    return there is not None and Point(here).distance(Point(there)) <= SAME_SPOT_M


def _rooms(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    tested = {test.entry.room.name for test in tests if test.entry.room}
    lacking = [room.name for room in ground.rooms if room.name not in tested]
    sentence = "every room has a valid test"
    if lacking:
        sentence = f"no valid test in {_rooms_named(lacking, ground)}"
    return place_cover(rule, len(ground.rooms), sentence, [f"in {name}" for name in lacking])


def _pours(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    pours: dict[tuple[object, ...], list[str]] = {}
    for room in ground.rooms:
        pours.setdefault(_pour(room.slab), []).append(room.name)
    tested = {_pour(test.entry.room.slab) for test in tests if test.entry.room}
    lacking = [rooms for pour, rooms in pours.items() if pour not in tested]
    sentence = "every pour, thickness and material has a valid test"
    if lacking:
        named = "; of ".join(_rooms_named(rooms, ground) for rooms in lacking)
        sentence = f"no valid test on the slab of {named}"
    return place_cover(rule, len(pours), sentence, [f"in {rooms[0]}" for rooms in lacking])


def _rooms_named(names: Sequence[str], ground: Ground) -> str:
    """Name rooms; of many the first, and how many more."""
    if len(names) <= LISTED:
        return ", ".join(names)
    if len(names) == len(ground.rooms):
        return f"any of the {len(names)} rooms"
    return f"{', '.join(names[:LISTED])} and {len(names) - LISTED} more rooms"


def _pour(slab: Slab) -> tuple[object, ...]:
    return slab.base, slab.thickness_mm, slab.open_faces, slab.pour, bool(slab.heated)


def _walls(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    _, note = exterior_walls(ground.plan)
    places, lacking = places_of(tests), []
    on_grade = [room for room in ground.rooms if room.slab.on != "suspended"]
    if not on_grade:
        return Cover(rule, False, 0, 0, True, "no slab on or below grade: no wall asks for a test")
    asked = walls_asked(ground.plan, on_grade)
    count = len(asked)
    reach, feet = f"{rule.within_m:.2f}", f"{rule.within_m / FEET:g}"
    for room, wall in asked:
        near = any(
            own is room and wall.line.distance(point) <= rule.within_m + 1e-6
            for point, own in places
        )
        if not near:
            where = f" of {room.name}" if len(ground.plan.rooms) > 1 else ""
            lacking.append(f"within {reach} m ({feet} ft) of the {wall.name}{where}")
    sentence = f"each of {count} exterior walls has a valid test within {reach} m ({feet} ft)"
    if lacking:
        sentence = (
            f"{len(lacking)} of {count} exterior walls have no valid test within"
            f" {reach} m ({feet} ft)"
        )
    unknown = [room.name for room in on_grade if not room.slab.on]
    if unknown:
        sentence += (
            f"; what the slab of {_rooms_named(unknown, ground)} lies on is not stated: taken as on"
            " the ground"
        )
    sentence += f"; {note[0].lower()}{note[1:]}" if note else ""
    return place_cover(rule, count, sentence, lacking)


def _conditions(rule: PlaceRule, tests: Sequence[JudgedTest], ground: Ground) -> Cover:
    """How many tests show the room at service conditions; places lack nothing by it."""
    shown = sum(
        not any(finding.rule.endswith(CONDITION_RULES) for finding in test.findings)
        for test in tests
    )
    sentence = f"{shown} of {len(tests)} judged tests show the room at service conditions"
    if not tests:
        sentence = (
            "no test that speaks for the floor, so none to show the room at service conditions"
        )
    met = shown == len(tests) if tests else None
    return Cover(rule, rule.required, shown, len(tests), met, sentence)


_PLACES = {
    "room": _rooms,
    "pour": _pours,
    "wettest-zone": wettest_zone,
    "exterior-wall": _walls,
    "spread": spread,
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
