"""What keeps a floor from meeting though no result speaks against it: a record at odds with itself.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.record import RH_METHODS, method_named
from moisturemap.acceptance.verdict import limit_value, limit_words
from moisturemap.survey import Survey

SLIPS = ("humidity-possible", "humidity-plausible", "result-not-negative")
"""Rules that only a slip of the pen or a faulty instrument breaks."""


HIGHEST_LIMIT = {
    "carbide": 7.0,
    "oven-dry": 15.0,
    "mver": 25.0,
    "pin": 30.0,
    **dict.fromkeys(RH_METHODS, 95.0),
}
"""No document is known to state a limit above these, in the first unit of the method; project
choice, from limits of coverings (2 CM-%, 4 mass-%, 12 %MC; 75 to 90 %RH) and of barriers (up to 25
lb/1000 ft2/24 h). Above 95 %RH a probe of 2 %RH hardly tells a slab from one under water."""

SCREEDS = ("screed", "estrich", "anhydrit", "calcium sul", "gypsum")
"""Materials that floor heating is laid in."""


def doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say what in the record cannot be, and so must be settled before the floor is cleared.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    of_each = (_slip, _before_the_slab, _heating_unknown)
    found = [one for test in judged for one in (said(test) for said in of_each) if one]
    return [*_record(survey), *_limits(survey), *dict.fromkeys(found)]


def _record(survey: Survey) -> list[str]:
    """Say that a project file is not as its record of changes led to."""
    if not survey.record_faults:
        return []
    more = len(survey.record_faults) - 1
    also = f" (and {more} more)" if more else ""
    return [
        "the project file is not what its record of changes led to, so nothing in it clears the"
        f" floor: {survey.record_faults[0]}{also}"
    ]


def _limits(survey: Survey) -> list[str]:
    """Say that a limit is higher than any document states, as a slipped decimal mark makes it."""
    found = []
    for limit in filter(None, [survey.limit, *survey.room_limits.values()]):
        highest = HIGHEST_LIMIT.get(method_named(limit.method).key)
        if highest is not None and limit_value(limit) > highest:
            found.append(
                f"{limit_words(limit)} is above every limit known for its method ({highest:g}):"
                " see its document, the unit and the decimal mark"
            )
    return list(dict.fromkeys(found))


def _slip(test: JudgedTest) -> str:
    """Say that a place was tested and what stands for its result is none."""
    slips = [finding for finding in test.findings if finding.rule in SLIPS]
    if test.superseded or not slips:
        return ""
    return (
        f"{test.entry.label}: {slips[0].sentence}. The place was tested, and what was read there is"
        " not known: correct the entry with its reason, or repeat the test"
    )


def _before_the_slab(test: JudgedTest) -> str:
    """Say that a slab was placed after it was tested."""
    room, read = test.entry.room, test.read
    if room is None or read is None or room.slab.placed is None or read.date() >= room.slab.placed:
        return ""
    return (
        f"{room.name}: the slab is recorded as placed on {room.slab.placed:%Y-%m-%d}, after"
        f" {test.entry.label} was read on {read:%Y-%m-%d}: one of the dates is wrong"
    )


def _heating_unknown(test: JudgedTest) -> str:
    """Say that a screed was tested by carbide and nobody stated whether it is heated.

    A heated one has a lower limit (EN 1264-4 Table 2, DIN 18560-1: CT 1.8 instead of 2.0 CM-%, by
    secondary sources) and is sampled at marked points with the heating off.
    """
    room = test.entry.room
    if room is None or room.slab.heated is not None or test.entry.method.key != "carbide":
        return ""
    if not any(word in room.slab.base.casefold() for word in SCREEDS):
        return ""
    return (
        f"{room.name}: whether the screed is heated is not stated; a heated one has a lower carbide"
        " limit and is tested at marked points with the heating off: state heated = true or false"
    )
