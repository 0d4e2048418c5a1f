"""Where the meter is swept before drilling: at every hole, and at which holes above all.

Method: docs/method/drilling.md, what it keeps clear of.
"""

from __future__ import annotations

import numpy as np

from moisturemap.drilling.ground import MOST_LOG_ODDS, Ground

Row = dict[str, object]

RISES = "Sweep first: the readings rise here as over a pipe or metal."
BETWEEN = "Sweep first: a pipe here would not show between the readings."
EVERYWHERE = (
    "The readings stand too far apart to show a pipe that passes between them: before drilling "
    "sweep the meter across every hole both ways, or find with a locator what lies below."
)

MANY = 0.5
"""Where more than this share of the holes may have missed something it is said once for all of
them: a mark on nearly every hole tells none apart (our choice)."""


def sweep_first(ground: Ground, holes: list[Row]) -> list[str]:
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
    asked = _asked(ground, [one for one in holes if one["status"] != "done"])
    many = sum(missed and not rises for _, rises, missed in asked) > MANY * len(asked)
    rising = []
    for hole, rises, missed in asked:
        if rises:
            rising.append(str(hole["hole"]))
            hole["set_out"] = f"{hole['set_out']} {RISES}"
        elif missed and not many:
            hole["set_out"] = f"{hole['set_out']} {BETWEEN}"
    said = [EVERYWHERE] if many else []
    if rising:
        names = ", ".join(rising)
        said.insert(
            0,
            f"At {names} the readings rise as they may over a pipe or metal: sweep the meter "
            "across both ways before drilling there, or find with a locator what lies below.",
        )
    return said


def _asked(ground: Ground, holes: list[Row]) -> list[tuple[Row, bool, bool]]:
    """Whether readings rise at holes, and if not, whether they may have missed something."""
    rises, missed = np.zeros(len(holes), dtype=bool), np.ones(len(holes), dtype=bool)
    places = np.array([[hole["x"], hole["y"]] for hole in holes], dtype=float).reshape(-1, 2)
    domains = np.array([str(hole["domain"]) for hole in holes], dtype=str)
    within = ground.options.clearance_m
    for domain, floor in ground.rises.items():
        mine = np.flatnonzero(domains == domain)
        if mine.size:
            rises[mine] = floor.log_odds(places[mine], within) > MOST_LOG_ODDS
            calm = mine[~rises[mine]]
            missed[calm] = floor.may_miss(places[calm], within)
    return list(zip(holes, rises.tolist(), missed.tolist(), strict=True))
