"""What rules look at in a reading of pins. Each gives None where the record does not say."""

from __future__ import annotations

import re

from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.result import result_of
from moisturemap.slab import equilibrium_moisture

METER_C = 20.0
"""Temperature the scales of conductance meters are set for (20 to 21; ASTM D4444, from memory)."""

_NO_SPECIES = re.compile(
    r"unknown|unbekannt|inconnue?|known|stated|unclear|none|nil|tbc|tbd|various|mixed|misc|default"
    r"|standard|auto|meter|settings?|set|scale|group|gruppe|code|curve|kennlinie|stufe|position"
    r"|wood|timber|holz|bois|hardwoods?|laubholz|species|type|na|see|note|ditto|the|of|for|no|not"
    r"|as|on"
)
"""Words that name no species: a setting or group of the meter, a dash, "wood" (common words);
softwoods are alike enough to stand by that name, hardwoods are not (project choice)."""

_BOARDS = re.compile(
    r"chip\s?board|particle|fib(?:re|er)\s?board|hard\s?board|\bmdf\b|\bhdf\b|\bosb\b"
    r"|oriented strand|ply(?:\s?wood)?\b|span\s?platte|faserplatte|sperrholz"
    r"|aggloméré|contreplaqué",
    re.IGNORECASE,
)
"""Boards, whose glue makes the scale of solid wood misread (ASTM D7438)."""


_ON = re.compile(r"\b(?:on|over|above|auf|über|sur)\b", re.IGNORECASE)


def species_stated(entry: TestEntry) -> bool:
    """Whether the species set on the meter is named; of a board, that a correction is made.

    A board by its species or by what the floor is made of, of which what it lies on is no part.
    """
    species = entry.text("species").strip()
    board = _BOARDS.search(species) or _BOARDS.search(_ON.split(entry.slab.base, maxsplit=1)[0])
    words = re.findall(r"[^\W\d_]{2,}", species.casefold())
    if all(_NO_SPECIES.fullmatch(word) for word in words):
        return False
    return not board or _corrected(entry)


def _corrected(entry: TestEntry) -> bool:
    return bool(entry.number("correction"))


def uncorrected_temperature(entry: TestEntry) -> float | None:
    """Temperature of timber read without a correction for it, none stated or 0 [C]."""
    return None if _corrected(entry) else entry.number("temperature_c")


def off_meter_temperature(entry: TestEntry) -> float | None:
    """How far timber is from the temperature its meter is set for [K]; 0 where it is corrected."""
    if _corrected(entry):
        return 0.0
    warmth = entry.number("temperature_c")
    return None if warmth is None else abs(warmth - METER_C)


def correction_size(entry: TestEntry) -> float | None:
    """Size of the correction that a pin reading holds [%MC]."""
    stated = entry.number("correction")
    return None if stated is None else abs(stated)


def below_balance(entry: TestEntry) -> float | None:
    """How far timber is below its balance with the air stated beside it [%MC]."""
    warmth, humidity = entry.number("air_temperature_c"), entry.number("air_rh_pct")
    value = result_of(entry).value
    if warmth is None or humidity is None or value is None:
        return None
    within = min(max(warmth, 0.0), 60.0), min(humidity, 95.0)
    return equilibrium_moisture(*within) - value
