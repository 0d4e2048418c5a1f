"""What keeps a floor from meeting because the ground below it goes on wetting it.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.plainly_wet import HIGHEST_OF_COVERINGS
from moisturemap.acceptance.record import method_named
from moisturemap.acceptance.verdict import limit_value
from moisturemap.floorplan import Room
from moisturemap.survey import Limit

_ON_GROUND = re.compile(
    r"\b(?:on|below|under|above) ?-?(?:the )?(?:ground|grade|earth|soil|hardcore)(?! floor)\b"
    r"|ground[- ]bearing|slab[- ]on[- ]grade|erdberührt|auf erdreich|terre[- ]plein",
    re.IGNORECASE,
)
_NO_MEMBRANE = re.compile(
    r"\b(?:no|without|missing|lacks|lacking|ohne|keine?|sans) (?:any |a |sound )?"
    r"(?:d\.?p\.?m\b|damp[- ]?proof|membrane|vapou?r (?:barrier|retarder)|abdichtung|dampfsperre"
    r"|feuchtesperre|étanchéité)|(?:membrane|d\.?p\.?m) (?:is )?(?:missing|absent|torn|damaged)",
    re.IGNORECASE,
)
"""Words of a base for ground below, and for a membrane that is not there (common words)."""


def on_the_ground_in_words(base: str) -> bool:
    """Whether what a base is called says that it lies on the ground."""
    return _ON_GROUND.search(base) is not None


def fed_from_below(room: Room, limit: Limit) -> str:
    """Say that the ground goes on wetting a slab under a covering, however dry it is today.

    Where the limit is one of a moisture barrier, the barrier is laid against that. What the words
    of the base say counts as what is recorded; where the two contradict each other, neither does.

    Parameters
    ----------
    room : Room
    limit : Limit
        Of the room.
    """
    slab, key = room.slab, method_named(limit.method).key
    on_ground = on_the_ground_in_words(slab.base)
    if slab.on == "suspended" and on_ground:
        return (
            f"{room.name} is recorded as suspended, and its base says {slab.base!r}: ground below"
            " goes on wetting a floor; correct one of the two"
        )
    stated = slab.membrane in ("none", "damaged")
    told = not slab.membrane and _NO_MEMBRANE.search(slab.base) is not None
    grounded = slab.on in ("ground", "below-ground") or on_ground or (told and not slab.on)
    if not (grounded and (stated or told)) or limit_value(limit) > HIGHEST_OF_COVERINGS[key]:
        return ""
    found = "damaged" if slab.membrane == "damaged" else "not there"
    return (
        f"{room.name} lies on the ground, and the membrane below it is recorded as {found}: once it"
        " is covered the ground goes on wetting it, whatever the tests read today; ask the maker of"
        " the covering, or judge it by the limit of a moisture barrier"
    )
