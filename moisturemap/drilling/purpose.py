"""Which hole serves which purpose, and why it stands where it does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moisturemap.drilling.chance import chance_words
from moisturemap.drilling.objective import Objective
from moisturemap.drilling.site import NEAR_WALL_M, Site

NAMES = {
    "wettest": "wettest",
    "zone": "zone",
    "dry_reference": "dry-reference",
    "calibration": "calibration",
    "coverage": "coverage",
    "domain": "coverage",
    "perimeter": "perimeter",
}


NEAR_HOLE_M = 1.0
"""Below this distance another hole is not called far (our choice) [m]."""

ONLY_HOLE = "The only hole of this floor."

SECOND = "Another place that may read highest: one hole alone may miss the wettest floor."
"""Why a further hole stands where the floor may be wettest and so covers little more of it."""


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a hole is for: one of ``PURPOSES``, and the reason in a sentence."""

    name: str
    why: str


def purposes(objective: Objective, chosen: list[int], among: str = "") -> list[Purpose]:
    """Return the purpose of each chosen place, in order; holes elsewhere than ``among`` count not.

    The hole likeliest to lie in the wettest twentieth is the wettest; every other serves the term
    of the objective that would lose most without it.
    """
    site = objective.site
    if not chosen:
        return []
    chance = site.wettest.mean(axis=0) if len(site.wettest) else np.zeros(len(site.points))
    likely = sorted(chosen, key=lambda place: (-chance[place], -np.nan_to_num(site.mean[place])))
    wettest = likely[0] if chance[likely[0]] else None
    full = objective.terms(chosen)
    found = []
    for place in chosen:
        if place == wettest:
            found.append(Purpose("wettest", _wettest_words(site, place, float(chance[place]))))
            continue
        rest = objective.terms([other for other in chosen if other != place])
        loss = {
            name: getattr(objective.weights, name) * float(full[name][0] - rest[name][0])
            for name in NAMES
        }
        term = max((name for name in NAMES if name != "wettest"), key=lambda name: loss[name])
        if term == "coverage" and loss["wettest"] > loss["coverage"]:
            term = "wettest"
        words = _apart_words(objective, place, chosen, among) if term == "coverage" else ""
        found.append(Purpose(NAMES[term], words or _words(term, site, place, chosen)))
    return found


def _apart_words(objective: Objective, place: int, chosen: list[int], among: str = "") -> str:
    """Say how far a hole is from all others, or from those of its own kind of floor."""
    nearest = objective.nearest(place, chosen)
    if not np.isfinite(nearest):
        return f"The only hole{among}." if among else ONLY_HOLE
    if nearest < NEAR_HOLE_M:
        return (
            f"For floor that no other hole{among} is nearer to: the nearest is {nearest:.1f} m off."
        )
    counted = ", those drilled earlier counted" if len(objective.earlier) else ""
    far = f"For the floor that lies far from other holes{among}{counted}"
    return f"{far}: the nearest is {nearest:.1f} m off."


def _wettest_words(site: Site, place: int, chance: float) -> str:
    outside = bool(site.zone_names) and not site.in_zone[place].any()
    no_zone = " It lies in no wet zone." if outside else ""
    return (
        "No hole of this plan is likelier to lie in the twentieth of the floor that reads "
        f"highest: {chance_words(chance)} chance. The map reads about {site.mean[place]:.0f} "
        f"there.{no_zone}"
    )


def _words(term: str, site: Site, place: int, chosen: list[int]) -> str:
    reading, rank = site.mean[place], site.rank[place]
    if term == "wettest":
        return SECOND
    if term == "zone":
        inside = zip(site.zone_names, site.in_zone[place], strict=True)
        held = [name for name, within in inside if within]
        read = f", mapped at about {reading:.0f}" if np.isfinite(reading) else ""
        return f"In wet zone {' and '.join(held)}{read}."
    if term == "dry_reference":
        return (
            f"Among the lowest of the map (about {reading:.0f}, lower on {rank:.0%} of the floor): "
            "shows how wet floor is that reads low here; whether it is dry the test tells."
        )
    if term == "calibration":
        return (
            f"Reads about {reading:.0f}, higher than {rank:.0%} of the floor: fills the range of "
            "the scan so that tests can be related to it."
        )
    if term == "perimeter":
        others = [other for other in chosen if other != place]
        alone = site.near_wall[place] & ~site.near_wall[others].any(axis=0)
        room = site.room_names[site.room[place]]
        names = [walls[room] for walls, own in zip(site.wall_names, alone, strict=True) if own]
        return f"Within {NEAR_WALL_M:.2f} m (3 ft) of the {' and the '.join(names)}."
    if term == "domain":
        return "The only hole in this separately mapped part of the floor."
    return ONLY_HOLE
