"""Limits that do not fit the floor they are held against: its material, its heating, its covering.

Method: ``docs/method/acceptance.md``, rules 12 and 13.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from moisturemap.acceptance.covering_kinds import of_another_covering
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.ground_doubt import fed_from_below
from moisturemap.acceptance.heat_doubt import heated_in_words
from moisturemap.acceptance.plainly_wet import HIGHEST_OF_COVERINGS
from moisturemap.acceptance.record import RH_METHODS, method_named
from moisturemap.acceptance.validity import said
from moisturemap.acceptance.verdict import (
    USUAL_RISK,
    Judged,
    judge,
    limit_value,
    limit_words,
)
from moisturemap.base_material import CALCIUM_SULPHATE, CEMENT, material_of, names_material
from moisturemap.floorplan import Room
from moisturemap.quantities import spoken_figures
from moisturemap.survey import TEST_METHODS, Limit, Survey
from moisturemap.survey.harmless_note import left_open
from moisturemap.survey.placeholder import names_condition, names_document

HIGHEST_LIMIT = {
    "carbide": 7.0,
    "oven-dry": 15.0,
    "mver": 25.0,
    "pin": 20.0,
    **dict.fromkeys(RH_METHODS, 95.0),
}
"""No document is known to state a limit above these, in the first unit of the method; project
choice, from limits of coverings (2 CM-%, 4 mass-%, 12 to 14 %MC; 75 to 90 %RH) and of barriers (up
to 25 lb/1000 ft2/24 h). Above 95 %RH a probe of 2 %RH hardly tells a slab from one under water;
from 20 %MC on timber may rot (Wood Handbook, FPL-GTR-282, chapter 14, from memory)."""

HIGHEST_OF_GYPSUM = {"carbide": 1.0, "oven-dry": 2.0, **dict.fromkeys(RH_METHODS, 80.0)}
"""The same of calcium sulphate, which no barrier is laid on: twice the 0.5 CM-% of DIN 18560-1
(secondary), as other limits of coverings against what is wet whatever the covering; by humidity a
little above the 75 %RH of BS 8203 (secondary). Project choice."""

HEATED_CARBIDE = {CEMENT: 1.8, CALCIUM_SULPHATE: 0.5}
"""Carbide limits of heated screeds by material [CM-%] (EN 1264-4:2021 Table 2, from secondary
sources; under tile and stone some sheets state 2.0 for cement)."""

_BY_MOUTH = (
    *("verbal", "oral", "phone", "telephone", "told by", "manager says", "client says"),
    *("mündlich", "telefon", "oralement"),
)

_HEATED_WORDS = ("heated", "underfloor heating", "floor heating", "beheizt", "heizestrich")


def limit_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which limits cannot be meant for the floor they are held against.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    found = [
        _too_high(room, limit)
        or _base_unnamed(room, limit)
        or heated_in_words(room, survey.plan)
        or _above_heated(room, limit, judged)
        or fed_from_below(room, limit)
        or _undocumented(limit)
        or of_another_covering(survey, limit)
        or _conditional(limit)
        for room, limit in (
            (room, survey.room_limits.get(room.name, survey.limit)) for room in survey.plan.rooms
        )
        if limit is not None
    ]
    return list(dict.fromkeys(filter(None, (*found, *_of_no_room(survey)))))


def _undocumented(limit: Limit) -> str:
    told = any(said(word, limit.source) for word in _BY_MOUTH)
    if not told and names_document(limit.source):
        return ""
    if told:
        return (
            f"{limit_words(limit)} was told and not written ({limit.source}): a limit holds by a"
            " document; ask for it in writing and name that"
        )
    if limit.source.strip():
        return (
            f"{limit_words(limit)} has no document in force: {limit.source.strip()!r} stands for"
            " it; a limit holds by what sets it, so name the sheet, the standard or the letter"
        )
    return f"no document is named for {limit_words(limit)}: a limit holds by what sets it"


def _conditional(limit: Limit) -> str:
    if not names_condition(left_open(limit.source)):
        return ""
    return (
        f"{limit_words(limit)} holds on a condition by its source ({limit.source.strip()}): see"
        " whether this floor is such a case, and write behind it who did and when (cleared: name,"
        " full date)"
    )


def _of_no_room(survey: Survey) -> list[str]:
    """Say which limits are kept for rooms the plan does not have: no room is held against them."""
    rooms = {room.name for room in survey.plan.rooms}
    return [
        f"{limit_words(limit)} is stated for {name!r}, and the plan has no such room: state which"
        " room it holds in, or take it away"
        for name, limit in survey.room_limits.items()
        if name not in rooms
    ]


def heated_limits(rooms: Sequence[Room], limits: Mapping[str, Limit | None]) -> tuple[str, ...]:
    """Say where a heated screed is held against a limit above that for heated ones.

    Parameters
    ----------
    rooms : sequence of Room
    limits : mapping of str to Limit or None
        By room.
    """
    told: dict[str, None] = {}
    for room in rooms:
        limit = limits.get(room.name)
        usual = None if limit is None else _heated_limit(room, limit)
        if limit is not None and usual is not None and limit_value(limit) > usual:
            told[
                f"{room.name} is heated, and {limit_words(limit)} is above the {usual:g} CM-% of"
                " EN 1264-4 for its screed: see that the document of the limit means heated floors."
            ] = None
    return tuple(told)


def beyond_coverings(limits: Iterable[Limit | None]) -> str:
    """Say which limits are above those of coverings, for the sentence of a floor that meets.

    Parameters
    ----------
    limits : iterable of Limit or None
    """
    high: dict[str, None] = {}
    for limit in filter(None, limits):
        usual = HIGHEST_OF_COVERINGS.get(method_named(limit.method).key)
        if usual is not None and limit_value(limit) > usual:
            high[
                f" Of coverings no limit above {usual:g} is usual, and {limit_words(limit)} is, as"
                " for a moisture barrier: it clears the floor for what its document names alone."
            ] = None
    return "".join(high)


def _too_high(room: Room, limit: Limit) -> str:
    """Say that a limit is higher than any document states, as a slipped decimal mark makes it."""
    key = method_named(limit.method).key
    highest = HIGHEST_LIMIT.get(key)
    gypsum = material_of(room.slab.base) == CALCIUM_SULPHATE
    if gypsum and key in HIGHEST_OF_GYPSUM:
        highest = HIGHEST_OF_GYPSUM[key]
        if limit_value(limit) > highest:
            return (
                f"{room.name} is of calcium sulphate, and {limit_words(limit)} is above every limit"
                f" known for it ({highest:g}): a limit of cement screed does not hold there"
            )
    if highest is None or limit_value(limit) <= highest:
        return ""
    return (
        f"{limit_words(limit)} is above every limit known for its method ({highest:g}):"
        " see its document, the unit and the decimal mark"
    )


def _base_unnamed(room: Room, limit: Limit) -> str:
    """Say that a base nobody named may be calcium sulphate, for which the limit is too high.

    A carbide test asks for the material below such limits, too.
    """
    key, name = method_named(limit.method).key, room.name
    if names_material(room.slab.base) or key == "carbide":
        return ""
    if key == "mver":
        return (
            f"name the base of {name} (concrete slab, cement screed, calcium sulphate screed or"
            " timber deck): it may be calcium sulphate, on which emission tests do not hold"
        )
    highest = HIGHEST_OF_GYPSUM.get(key)
    if highest is None or limit_value(limit) <= highest:
        return ""
    return (
        f"name the base of {name} (concrete slab, cement screed, calcium sulphate screed or timber"
        f" deck): it may be calcium sulphate, for which {limit_words(limit)} is too high"
    )


def _heated_limit(room: Room, limit: Limit) -> float | None:
    """Return the usual limit of a heated screed, None where the limit is of something else."""
    if not room.slab.heated or method_named(limit.method).key != "carbide":
        return None
    return HEATED_CARBIDE.get(material_of(room.slab.base))


def _above_heated(room: Room, limit: Limit, judged: Sequence[JudgedTest]) -> str:
    """Say that a heated screed meets its limit only by one that may be of unheated ones."""
    usual = _heated_limit(room, limit)
    if usual is None or any(said(word, limit.source) for word in _HEATED_WORDS):
        return ""
    asked = replace(limit, value=usual, unit=TEST_METHODS["carbide"].units[0])
    over = [
        test
        for test in judged
        if test.entry.room is room and test.entry.method.key == "carbide" and not test.superseded
        if test.value is not None and (test.value > usual or (test.judged and _short(test, asked)))
    ]
    if not over:
        return ""
    shown = spoken_figures(over[0].value or 0.0, usual, limit_value(limit))
    return (
        f"{room.name} is heated, and {over[0].entry.label} reads {shown} CM-%, which does not prove"
        f" the {usual:g} of EN 1264-4 for heated screeds, though it is below {limit_words(limit)}:"
        " where the document states that limit for heated screeds, say so in its source"
    )


def _short(test: JudgedTest, asked: Limit) -> bool:
    """Whether a test that speaks for the floor would not meet a lower limit."""
    made = Judged(test.result.value or 0.0, test.value or 0.0, test.spread)
    return judge(test.entry, made, asked, risk=USUAL_RISK).verdict != "meets"
