"""Where the meter is swept before drilling: at every hole, and at which holes above all.

Method: docs/method/drilling.md, what it keeps clear of.
"""

from __future__ import annotations

import numpy as np

from moisturemap.drilling.site import MOST_LOG_ODDS, Ground

RISES = "Sweep first: the readings rise here as over a pipe or metal."
BETWEEN = "Sweep first: a pipe here would not show between the readings."
EVERYWHERE = (
    "The readings stand too far apart to show a pipe that passes between them: before drilling "
    "sweep the meter across every hole both ways, or find with a locator what lies below."
)

MANY = 0.5
"""Where more than this share of the holes may have missed something it is said once for all of
them: a mark on nearly every hole tells none apart (our choice)."""


def sweep_first(ground: Ground, holes: list[dict[str, object]]) -> list[str]:
    """Mark holes to be swept first, in their ``set_out``, and say what holds for all.

    Parameters
    ----------
    ground : Ground
    holes : list of dict
        Rows of the plan; those that are done are left alone.

    Returns
    -------
    list of str
        Sentences about those where readings rise, and about those the scan may have missed
        something at where they are most; where they are few each says it itself.
    """
    rising, between = [], []
    open_ = [hole for hole in holes if hole["status"] != "done"]
    for hole in open_:
        rises = ground.rises.get(str(hole["domain"]))
        place = np.array([[hole["x"], hole["y"]]], dtype=float)
        within = ground.options.clearance_m
        if rises is not None and rises.log_odds(place, within)[0] > MOST_LOG_ODDS:
            rising.append(hole)
        elif rises is None or rises.may_miss(place, within)[0]:
            between.append(hole)
    many = len(between) > MANY * len(open_)
    for marked, words in ((rising, RISES), ([] if many else between, BETWEEN)):
        for hole in marked:
            hole["set_out"] = f"{hole['set_out']} {words}"
    said = [EVERYWHERE] if many else []
    if not rising:
        return said
    names = ", ".join(str(hole["hole"]) for hole in rising)
    return [
        f"At {names} the readings rise as they may over a pipe or metal: sweep the "
        "meter across both ways before drilling there, or find with a locator what lies below.",
        *said,
    ]
