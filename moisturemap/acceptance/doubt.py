"""What keeps a floor from meeting though no result speaks against it: a record at odds with itself.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.acceptance.at_odds import at_odds
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.layer_doubt import bonded_alone, too_young, unknown_material
from moisturemap.acceptance.limit_doubt import limit_doubts
from moisturemap.acceptance.logged import loggers_doubts
from moisturemap.acceptance.machines import machines_doubts
from moisturemap.acceptance.mixed_meters import mixed_meters_doubts
from moisturemap.acceptance.named import name_doubts
from moisturemap.acceptance.noted import note_doubts
from moisturemap.acceptance.stricter_limit import stricter_doubts
from moisturemap.acceptance.wetted import wetted_since
from moisturemap.base_material import material_of, may_hold_heating, names_material
from moisturemap.quantities import beside, spoken_figures
from moisturemap.slab import driest_at_age
from moisturemap.survey import Survey

SLIPS = (
    "humidity-possible",
    "humidity-plausible",
    "result-not-negative",
    "carbide-plausible",
    "carbide-plausible-gypsum",
    "oven-plausible",
    "emission-plausible",
    "emission-area",
    "pin-plausible",
)
"""Rules that only a slip of the pen or a faulty instrument breaks."""


def doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say what in the record cannot be, and so must be settled before the floor is cleared.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    of_each = (
        _slip,
        _before_the_slab,
        _too_dry_for_its_age,
        _screed_unknown,
        bonded_alone,
        unknown_material,
        too_young,
    )
    found = [one for test in judged for one in (said(test) for said in of_each) if one]
    of_floor = (*_record(survey), *limit_doubts(survey, judged), *wetted_since(survey, judged))
    of_floor += (
        *note_doubts(survey, judged),
        *name_doubts(survey, judged),
        *stricter_doubts(survey),
        *at_odds(survey, judged),
        *machines_doubts(survey, judged),
        *loggers_doubts(survey, judged),
        *mixed_meters_doubts(survey, judged),
    )
    return [*of_floor, *dict.fromkeys(found)]


def _record(survey: Survey) -> list[str]:
    """Say that a project file is not as its record of changes led to, or what of one is lost."""
    lost = [survey.lost_record] if survey.lost_record else []
    if not survey.record_faults:
        return lost
    more = len(survey.record_faults) - 1
    also = f" (and {more} more)" if more else ""
    return [
        *lost,
        "the project file is not what its record of changes led to, so nothing in it clears the"
        f" floor: {survey.record_faults[0]}{also}",
    ]


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
    """Say that a slab was not yet placed when it was drilled or tested."""
    entry, room = test.entry, test.entry.room
    if room is None or room.slab.placed is None:
        return ""
    for name in ("drilled", "placed", "read"):
        moment = entry.moment(name)
        if moment is not None and moment.date() <= room.slab.placed:
            return (
                f"{room.name}: the slab is recorded as placed on {room.slab.placed:%Y-%m-%d}, and"
                f" {entry.label} is of {moment:%Y-%m-%d}: one of the dates is wrong"
            )
    return ""


def _too_dry_for_its_age(test: JudgedTest) -> str:
    """Say that no slab of concrete dries so fast: its age, the depth or the result is wrong."""
    entry, room, read = test.entry, test.entry.room, test.read
    depth = entry.number("depth_mm")
    if test.superseded or room is None or room.slab.placed is None or read is None or not depth:
        return ""
    slab = entry.method.key == "in-situ-rh" and not may_hold_heating(room.slab.base)
    days = (read.date() - room.slab.placed).days
    if not slab or test.value is None or days <= 0:
        return ""
    least = driest_at_age(depth, days)
    if test.value >= least:
        return ""
    return (
        f"{entry.label}: {spoken_figures(test.value, least)} %RH at {depth:g} mm is drier than"
        f" {days} days leave any concrete (from {beside(least, test.value, decimals=0)} %RH on):"
        " see the day the slab was placed, the depth and the probe"
    )


def _screed_unknown(test: JudgedTest) -> str:
    """Say what a carbide test needs to know of the layer and nobody stated.

    A screed of calcium sulphate has a lower limit and asks for a larger sample; a heated one has a
    lower limit (EN 1264-4 Table 2, DIN 18560-1: CT 1.8 instead of 2.0 CM-%, by secondary sources)
    and is sampled at marked points with the heating off.
    """
    room = test.entry.room
    if room is None or test.entry.method.key != "carbide":
        return ""
    base = room.slab.base.strip()
    if not material_of(base) or not names_material(base):
        return (
            f"{room.name}: what the layer is made of is not stated beyond {base}; calcium sulphate"
            " has a lower carbide limit than cement and asks for a sample of 100 g: state base ="
            ' "cement screed", "calcium sulphate screed" or "concrete slab"'
        )
    if room.slab.heated is not None or not may_hold_heating(base):
        return ""
    return (
        f"{room.name}: whether the screed is heated is not stated; a heated one has a lower carbide"
        " limit and is tested at marked points with the heating off: state heated = true or false"
    )
