"""Holes at which the meter is swept first: the scan rises there, or could not show what lies there.

Method: docs/method/drilling.md, what it keeps clear of.
"""

from __future__ import annotations

import numpy as np

from moisturemap.drilling.site import MOST_LOG_ODDS, Ground

RISES = "Sweep first: the readings rise here as over a pipe or metal."
BETWEEN = "Sweep first: a pipe here would not show between the readings."


def sweep_first(ground: Ground, holes: list[dict[str, object]]) -> list[str]:
    """Mark holes to be swept first, in their ``set_out``, and say which.

    Parameters
    ----------
    ground : Ground
    holes : list of dict
        Rows of the plan; those that are done are left alone.

    Returns
    -------
    list of str
        Sentences about those where readings rise; about those the scan may have missed something
        at, only the hole itself says it.
    """
    open_ = [hole for hole in holes if hole["status"] != "done"]
    rising = []
    for hole in open_:
        rises, sentence = ground.rises.get(str(hole["domain"])), str(hole["set_out"])
        place = np.array([[hole["x"], hole["y"]]], dtype=float)
        within = ground.options.clearance_m
        if rises is not None and rises.log_odds(place, within)[0] > MOST_LOG_ODDS:
            rising.append(str(hole["hole"]))
            hole["set_out"] = f"{sentence} {RISES}"
        elif rises is None or rises.may_miss(place, within)[0]:
            hole["set_out"] = f"{sentence} {BETWEEN}"
    if not rising:
        return []
    return [
        f"At {', '.join(rising)} the readings rise as they may over a pipe or metal: sweep the "
        "meter across both ways before drilling there, or find with a locator what lies below."
    ]
