"""What a drill plan can miss, and what its holes would and would not show."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.drilling.chance import chance_missed, chance_words
from moisturemap.drilling.evidence import evidence_sentence
from moisturemap.drilling.ground import Ground
from moisturemap.drilling.objective import Objective

Array = NDArray[np.float64]

LIKELY = 0.5
"""From this chance on holes are said to stand where the scan reads highest (our choice)."""


def plan_statements(ground: Ground, objective: Objective, chosen: list[int]) -> list[str]:
    """Return the statements about the drilled holes of a plan."""
    site = objective.site
    found: list[str] = []
    if not chosen:
        return found
    hit = objective.hit_chance(chosen)
    if site.wettest.any():
        found.append(
            f"Chance that at least one hole lies in the twentieth of the floor that reads highest, "
            f"going by the scan, its uncertainty and a share for buried objects nobody flagged: "
            f"{chance_words(hit)}."
        )
    found.append(_patch(ground, site.points[chosen]))
    by_scan = bool(np.isfinite(site.mean).any())
    found.append(evidence_sentence(len(chosen), by_scan=by_scan, at_wettest=hit >= LIKELY))
    return found


def _patch(ground: Ground, holes: Array) -> str:
    """Say how likely a round wet patch is missed by the holes alone, domain by domain."""
    radius = ground.options.patch_radius_m
    outline = ground.plan.outline
    missed, total = 0.0, 0.0
    for domain in ground.domains:
        floor = domain.geometry.intersection(outline)
        missed += floor.area * chance_missed(holes, floor, radius)
        total += floor.area
    return (
        f"A round wet patch of {radius:g} m radius, anywhere on the floor alike, would hold none "
        f"of these {len(holes)} holes with a chance of {missed / total:.0%}: the scan finds "
        "patches, a hole proves one place."
    )
