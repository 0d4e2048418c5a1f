"""The causes an investigation weighs, each with what would confirm it and who may.

See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

STANDINGS = ("points-to", "open", "against", "not-looked-at")
"""What may be said of a cause."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause of a wet or failed floor.

    Attributes
    ----------
    key : str
        Name in tables.
    words : str
        Name in sentences, without article.
    harm : int
        1 is worst to miss (a live leak); causes of equal standing are listed in this order. Our
        choice.
    simulated : bool
        True when its humidities at depth can be worked out for a slab.
    confirm : str
        The act that would settle it, an imperative.
    who : str
        Whose confirmation it needs.
    source : str
        Where its signs are described.
    """

    key: str
    words: str
    harm: int
    simulated: bool
    confirm: str
    who: str
    source: str


_CAUSES = (
    Cause(
        "pressure-pipe",
        "leak of a pressure or heating pipe",
        1,
        True,
        "isolate the pipe and pressure-test it, then wait until a change at depth could show",
        "plumber",
        "common practice of leak location",
    ),
    Cause(
        "drain",
        "leak of a drain",
        2,
        True,
        "dye and camera in the drain; dye that is not found proves nothing",
        "drain specialist",
        "common practice of leak location",
    ),
    Cause(
        "ground",
        "moisture from the ground, membrane missing or damaged",
        3,
        True,
        "an authorised opening down to the membrane, with its designer",
        "waterproofing designer",
        "BS 8102, CIRIA guidance (from memory)",
    ),
    Cause(
        "wall",
        "water from the wall or its base, sideways",
        4,
        True,
        "a moisture profile up the wall, and the levels outside",
        "waterproofing designer",
        "BS 8102, BRE Digest 245 (from memory)",
    ),
    Cause(
        "insulation",
        "water in the insulation below a floating screed",
        5,
        True,
        "an opening down to the insulation, and a sample of it",
        "building physicist",
        "WTA guidance on drying screeds (from memory)",
    ),
    Cause(
        "flood",
        "water of one flood, burst or rain event",
        6,
        True,
        "the record of the event, and a second visit that shows whether it moves inward",
        "building physicist",
        "common practice after floods",
    ),
    Cause(
        "surface-water",
        "water from above: cleaning, spills, rain at a threshold",
        7,
        True,
        "a dry spell with a log, and a second reading of the top 10%",
        "building physicist",
        "common practice",
    ),
    Cause(
        "condensation",
        "condensation on a cold floor",
        8,
        True,
        "log air and surface temperature for 14 days; a taped sheet shows from which side",
        "building physicist",
        "BS 5250, ISO 13788 (from memory)",
    ),
    Cause(
        "construction-water",
        "construction water that had not dried",
        9,
        True,
        "the humidities at depth from before covering, and the age of the slab",
        "building physicist",
        "ACI 302.2R, BS 8203, DIN 18560 (from memory)",
    ),
    Cause(
        "adhesive",
        "water of the adhesive or levelling compound",
        10,
        True,
        "a sample of the product layer, the batch and the waiting time",
        "independent laboratory",
        "TKB leaflets (from memory); surface rise of some 10 %RH: licentiate thesis, Chalmers 1999",
    ),
    Cause(
        "summer-reversal",
        "reversal of the moisture flow in a heated floor",
        11,
        False,
        "temperatures through the floor with the heating off and on",
        "building physicist",
        "Rantala and Leivo, heated slabs on ground (abstract)",
    ),
    Cause(
        "salts",
        "salts that draw water from the air",
        12,
        False,
        "a sample for salts, hygroscopic and free water, before more meter readings",
        "independent laboratory",
        "BRE Digest 245, WTA guidance (from memory)",
    ),
    Cause(
        "osmosis",
        "osmosis below a coating, beside a source of water",
        13,
        False,
        "the liquid of a blister to a laboratory",
        "independent laboratory",
        "Journal of Protective Coatings and Linings, January 2007",
    ),
    Cause(
        "not-water",
        "no water: metal, carbon-backed covering, mesh or heating under the meter",
        14,
        True,
        "a calibrated test at the place, and a locator",
        "independent laboratory",
        "common practice with non-invasive meters",
    ),
    Cause(
        "other",
        "another cause, not on this list",
        15,
        False,
        "start again from the symptoms with the person who confirms",
        "building physicist",
        "no list of causes is complete",
    ),
)

CAUSES = {cause.key: cause for cause in _CAUSES}
"""The causes by key, worst to miss first."""

SIDES = {
    **dict.fromkeys(("pressure-pipe", "drain", "ground", "insulation"), "below"),
    **dict.fromkeys(("flood", "surface-water", "condensation", "adhesive"), "above"),
}
"""The face causes wet a slab from. Causes of one face differ at depth by strength and time, which
are assumed, more than by shape, so depth must tell them apart by more."""

THROUGH_INSULATION = frozenset(("insulation", "pressure-pipe", "drain", "ground", "flood"))
"""Causes whose water lies in the insulation first where a screed floats on it, and wets the screed
from there."""

SIMULATED = tuple(cause.key for cause in _CAUSES if cause.simulated)
