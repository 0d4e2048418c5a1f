"""Clues from humidities at depth: exclusions, and how well each cause explains them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from moisturemap.errors import MoistureMapError
from moisturemap.floorplan import Slab
from moisturemap.investigation.cause import CAUSES
from moisturemap.investigation.clue import Clue, not_looked_at
from moisturemap.investigation.explain import CAP, DIVIDED, Explanation, band
from moisturemap.investigation.histories import PAIRS
from moisturemap.investigation.tested import TestedPlace
from moisturemap.slab import DepthReading, SlabSpec, estimate_profile

LEAN = 3.0
"""Ratio to which depth counts as speaking for a cause; the first of the bands 1, 3, 20, 100."""

DRY_PCT = 80.0
"""Below this, uncertainty included, concrete counts as dry to where it was read [%RH]; the
monthly mean at which mould is expected (ISO 13788, from memory)."""

DEEP = 0.75
"""Depth over thickness from which a reading speaks for the bottom (our choice)."""

DRY_HOLES = 3
"""Holes dry to the bottom that exclude water from the ground between them (our choice)."""

AROUND_M = 3.0
"""Holes this near the peak stand round it [m]; our choice."""

ABOVE_SEALED_PCT = 2.0
"""How far the mean over depth must lie above the 97.5% point of the sealed humidity told before
covering to exclude construction water alone [%RH]. Our choice: in trials of 240 floors with
construction water none did."""

SEALED_SOURCE = "sealed humidity from before covering, 97.5% point and 2 %RH (our choice)"


def depth_clues(
    place: TestedPlace | None, explanation: Explanation | None, why_not: Sequence[str]
) -> tuple[Clue, ...]:
    """Return how well each simulated cause explains the readings of a place."""
    if place is None:
        return (not_looked_at("depth", "depth", "No valid humidity at depth was read."),)
    if explanation is None:
        reason = "; ".join(why_not)
        sentence = f"Depth is not simulated here: {reason}. Exclusion and rules alone speak."
        return (Clue("depth", "depth", "could-not-show", sentence),)
    if not explanation.explained:
        sentence = (
            "None of the listed causes, on the slab as it is stated, explains the readings at"
            " depth: a reading or the description of the slab is wrong, several causes act, or it"
            " is another cause."
        )
        return (
            Clue(
                "depth-profile",
                "depth",
                "seen",
                sentence,
                source="chi-square, 99%",
                speaks_for=("other",),
            ),
        )
    return tuple(_explained(place, explanation))


def _explained(place: TestedPlace, explanation: Explanation) -> Iterator[Clue]:
    best = explanation.best
    depths = {round(one.depth_mm) for one in explanation.observations if not one.beside}
    for cause in explanation.singles:
        ratio = explanation.behind(cause)
        near, behind = ratio <= LEAN and len(depths) > 1, ratio > LEAN
        if cause == best:
            sentence = (
                f'Of the simulated causes "{CAUSES[cause].words}" explains the readings at'
                f" {place.name} best"
            )
        else:
            sentence = (
                f'"{CAUSES[best].words}" explains the readings at {place.name} {band(ratio)}'
                f' "{CAUSES[cause].words}", if the slab is as stated'
            )
        state = "seen" if near else "not-seen" if behind else "could-not-show"
        yield Clue(
            f"depth-profile: {cause}",
            "depth",
            state,
            f"{sentence}.",
            round(ratio, 1),
            f"{LEAN:g} times leans, {DIVIDED:g} divides, at most {CAP:g}",
            "simulation of this slab; evidence given a cause (ENFSI 2015)",
            speaks_for=(cause,) if near else (),
            speaks_against=(cause,) if behind else (),
        )
    for cause in explanation.silent:
        if cause in PAIRS:  # told of by each of its two causes
            continue
        yield Clue(
            f"depth-profile: {cause}",
            "depth",
            "could-not-show",
            f'What "{CAUSES[cause].words}" did at depth could no longer be seen on the days of'
            " reading.",
        )


def dry_to_bottom(places: Sequence[TestedPlace], peak: tuple[float, float]) -> Clue | None:
    """Exclude ground water where holes round the peak are dry to the bottom."""
    dry = [
        place
        for place in places
        if np.hypot(place.x - peak[0], place.y - peak[1]) <= AROUND_M and _dry(place)
    ]
    if len(dry) < DRY_HOLES:
        return None
    names = ", ".join(place.name for place in dry)
    return Clue(
        "dry-to-bottom",
        "depth",
        "not-seen",
        f"{names} are dry to the bottom: no water from the ground there.",
        float(len(dry)),
        f"{DRY_HOLES} holes below {DRY_PCT:g} %RH, uncertainty included",
        "necessary consequence of water from below",
        excludes=("ground",),
    )


def _dry(place: TestedPlace) -> bool:
    last = place.latest()
    deepest = max((one.depth_mm for one in last), default=0.0)
    below = all(one.rh_pct + 2.0 * one.sd_pct < DRY_PCT for one in last)
    return bool(last) and below and deepest >= DEEP * place.thickness_mm


def wet_in_test(place: TestedPlace) -> Clue | None:
    """Exclude "no water" where a valid test at depth is wet."""
    wettest = max(place.latest(), key=lambda one: one.rh_pct - 2.0 * one.sd_pct, default=None)
    if wettest is None or wettest.rh_pct - 2.0 * wettest.sd_pct <= DRY_PCT:
        return None
    return Clue(
        "wet-in-test",
        "depth",
        "seen",
        f"{place.name} read {wettest.rh_pct:g} %RH at {wettest.depth_mm:g} mm, before any "
        "correction, by a valid test.",
        wettest.rh_pct,
        f"{DRY_PCT:g} %RH, uncertainty included",
        "ISO 13788 (from memory)",
        excludes=("not-water",),
    )


def above_sealed(
    before: Sequence[DepthReading], now: TestedPlace, slab: Slab, days: float | None
) -> Clue:
    """Hold the readings now against the sealed humidity told before covering.

    Parameters
    ----------
    before : sequence of DepthReading
        Read at the place, or on its pour, before covering.
    now : TestedPlace
    slab : Slab
    days : float or None
        From placing to those readings.
    """
    if not before:
        return not_looked_at(
            "before-covering", "depth", "No humidity at depth from before covering is on record."
        )
    assert slab.thickness_mm is not None
    spec = SlabSpec(slab.thickness_mm, slab.open_faces, days, slab.base, bool(slab.heated))
    try:
        told = estimate_profile(before, spec)
    except MoistureMapError as refusal:
        sentence = f"The readings from before covering tell no sealed humidity: {refusal}"
        return Clue("before-covering", "depth", "could-not-show", sentence)
    bound = float(np.quantile(told.sealed_draws, 0.975)) + ABOVE_SEALED_PCT
    mean = now.mean_pct()
    if mean is None:
        sentence = "One depth now cannot be held against what the slab held when covered."
        return Clue("before-covering", "depth", "could-not-show", sentence)
    above = mean > bound
    shown = (
        f"The readings at {now.name} average {mean:.0f} %RH over depth; what the slab held when"
        f" covered explains up to {bound:.0f} %RH."
    )
    return Clue(
        "before-covering",
        "depth",
        "seen" if above else "could-not-show",
        shown,
        round(mean, 1),
        f"{bound:.1f} %RH",
        SEALED_SOURCE,
        excludes=("construction-water",) if above else (),
    )
