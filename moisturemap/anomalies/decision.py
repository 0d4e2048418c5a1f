"""What a weighed candidate is: a thing, contested, or floor.

The costs are unequal: hiding wet floor is far worse than leaving a pipe in the map as wet. So the
odds a thing needs grow with the floor above the wet level that would leave the map with it, and
more where no reading can tell a narrow response from a wet band. Method: docs/method/anomalies.md.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.candidates import within
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.edge import seen_from_one_side
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.visits import log_odds_of_visits

Index = NDArray[np.intp]

LINE_NEEDS, SPOT_NEEDS = 5.0, 6.0
"""Log odds a thing needs that hides no wet floor: some 150 to 1 (our choice, as all below; set on
invented floors, the first duty before all: no wet patch lost)."""

PER_WET_LINE, PER_WET_SPOT, WET_UNIT_M2 = 1.2, 4.0, 0.25
"""Further log odds for wet floor at stake: this times log(1 + area / unit)."""

SEVERAL, SEVERAL_NEED, SPOT_WET_NEED = 3, 2.0, 6.0
"""Further log odds where several readings, or two of a spot, above the wet level are at stake."""

WITNESSES, AGREEING, STILL_HIGH, NO_WITNESS_NEED = 5, 0.67, 0.5, 6.0
"""Readings beside it that must see the floor again, and the share of those there that must; a
reading this share of the strength above dry floor does not; and what is needed without them."""

PATCH_M2, PATCH_NEED = 1.0, 10.0
"""Wet floor of this area [m2] is risked without witnesses only for so much more: beyond what any
wet floor of two generators reached."""

WITNESS_FROM, WITNESS_TO_M = 1.9, 0.56
"""A witness lies from this many widths to this far [m] beside a line: there a usual thing gives
less than 0.17 of its strength, and a wet band of sd 0.35 m and more over 0.28."""

SHORT_M, SHORT_SPACINGS, SHORT_NEED, SHORT_WET_NEED = 2.0, 3.5, 4.0, 8.0
"""A line seen over less than this [m], [spacings] needs more, the more where wet floor is at stake:
any patch has some line through its highest readings."""

WIDE, WIDE_LEAST_M = 1.8, 6.0
"""A line so many usual widths wide is as wide as a narrow band of water: where several readings
above the wet level are at stake it is a thing only if it runs straight over this length [m]."""

SEEN = 4.0
"""A reading lifted by this shows a line clearly [noise sd]."""

SURE_STRENGTH = 4.5
"""A thing stands so many of its own standard errors high: a lower one may rest on a flank of the
floor, however well the rest fits."""

FINE_M = 0.45
"""Spacing from which on a compact thing and a small wet spot read alike [m]: a spot of sd 0.2 m,
the smallest that capillary spread makes of a point, gives the next reading less than 0.08 of its
rise there and over 0.2 at 0.35 m."""

WIDEST_THING_M = 0.25
"""A round thing of a larger radius is floor as likely: plates and boxes are smaller [m]."""

SPOT_READINGS = 7
"""Nearest readings that say how closely a spot was read."""

FAINT, FAINT_NEED = 6.0, 2.0
"""A line fainter than this [noise sd] needs more."""

TOLD, MISFIT_NEED, NOT_TOLD = 1.5, 5.0, 2.5
"""Misfit beyond the first needs more; beyond the last nothing is a thing."""

CONTESTED_FROM, CONTESTED_LONG_FROM = 2.0, 0.0
"""A candidate is contested from these log odds on, a line of ``SHORT_M`` and more from the second:
where nothing leaves the map even odds are enough to have it swept."""

CONTESTED_MISFIT, CONTESTED_FAINT = 2.0, 4.0
"""More is needed where the misfit is beyond the first, and it stands so many noise sd high."""

UNTOLD_MISFIT, UNTOLD_FAINT, UNTOLD_STRENGTH = 1.5, 6.0, 4.0
"""A line no wider than a thing with a larger misfit than this that stands so many noise sd and own
standard errors high is contested whatever its odds: what neither rival fits is not said by them.
Pairs of pipes, bends and pipes that dive are such lines."""

CONTESTED_STRENGTH = 3.0
"""What stands less than so many of its own standard errors high is floor."""

CONTESTED_SHORT_M, CONTESTED_SHORT_ODDS = 1.2, 8.0
"""A shorter line is contested from these log odds on only."""


def disturbed(scene: Scene, calm: CalmFloor, found: Weighed, from_sd: float) -> Index:
    """Return readings a candidate lifts by at least so many noise sd, as indices."""
    shape = found.shape
    if isinstance(shape, Ridge):
        near = within(scene.tree, shape, 3 * shape.width)
    else:
        reach = shape.radius + 3 * shape.width
        near = np.array(sorted(scene.tree.query_ball_point(shape.centre, reach)), dtype=np.intp)
    rise = found.strength * shape.rise(scene.points[near])
    return near[rise >= from_sd * calm.noise_sd]


def with_visits(scene: Scene, calm: CalmFloor, found: Weighed) -> Weighed:
    """Return a candidate with what an earlier visit tells in its odds."""
    if scene.before is None:
        return found
    hit = disturbed(scene, calm, found, 2.0)
    added = log_odds_of_visits(scene, calm, hit, found.shape.rise)
    return replace(found, log_odds=found.log_odds + added)


def at_stake(scene: Scene, hit: Index) -> Index:
    """Return those of some readings that stand above the wet level; all where none is stated."""
    return hit if scene.level is None else hit[scene.values[hit] > scene.level]


def witnessed(scene: Scene, calm: CalmFloor, found: Weighed) -> bool:
    """Whether readings beside a line saw the floor again where a wet band would still show."""
    ridge = found.shape
    assert isinstance(ridge, Ridge)
    near = within(scene.tree, ridge, WITNESS_TO_M)
    along, across = ridge.frame(scene.points[near])
    beside = np.abs(along) < ridge.extent + 0.1
    beside &= np.abs(across) >= WITNESS_FROM * ridge.width
    near = near[beside & (np.abs(across) <= WITNESS_TO_M)]
    low = scene.values[near] - calm.base[near] < STILL_HIGH * found.strength
    return bool(low.sum() >= WITNESSES and low.mean() >= AGREEING)


def seen_length(scene: Scene, calm: CalmFloor, found: Weighed) -> float:
    """Distance along a line from the first to the last reading it lifts clearly [m]."""
    hit = disturbed(scene, calm, found, SEEN)
    if hit.size < 2:
        return 0.0
    along, _ = found.shape.frame(scene.points[hit])
    return float(np.ptp(along))


def is_sure(found: Weighed) -> bool:
    """Whether a candidate stands high enough over its own standard error to be a thing."""
    return found.strength >= SURE_STRENGTH * found.strength_sd


def needed(scene: Scene, calm: CalmFloor, found: Weighed) -> float:
    """Log odds a candidate needs to be a thing; infinite where it cannot be one."""
    hit = disturbed(scene, calm, found, 2.0)
    wet = at_stake(scene, hit)
    stake, area_m2 = wet.size, float(scene.cells[wet].sum())
    area = np.log1p(area_m2 / WET_UNIT_M2)
    extra = MISFIT_NEED * max(0.0, found.misfit - TOLD)
    if not is_sure(found):
        return float("inf")
    if isinstance(found.shape, Disc):
        if found.shape.radius > WIDEST_THING_M or read_every(scene, found.shape) > FINE_M:
            return float("inf")
        return float(SPOT_NEEDS + extra + (PER_WET_SPOT * area + SPOT_WET_NEED) * (stake >= 2))
    if found.misfit >= NOT_TOLD:
        return float("inf")
    need, seen = LINE_NEEDS + extra + PER_WET_LINE * area, seen_length(scene, calm, found)
    if stake >= SEVERAL:
        need += SEVERAL_NEED
        if found.shape.width > WIDE * scene.width and seen < WIDE_LEAST_M:
            return float("inf")
        if not witnessed(scene, calm, found):
            # no reading beside it could tell a pipe from a band of water: a sweep has to
            need += NO_WITNESS_NEED
            need += PATCH_NEED * (area_m2 >= PATCH_M2)
    if seen < max(SHORT_M, SHORT_SPACINGS * scene.spacing):
        need += SHORT_WET_NEED if stake else SHORT_NEED
    return float(need + FAINT_NEED * (found.strength < FAINT * calm.noise_sd))


def read_every(scene: Scene, spot: Disc) -> float:
    """Return the distance between readings about a spot [m]: less where a sweep crossed it."""
    near = scene.tree.query(spot.centre, k=min(SPOT_READINGS, len(scene.points)))[1]
    return float(np.sqrt(np.median(scene.cells[near])))


def standing_of(scene: Scene, calm: CalmFloor, found: Weighed) -> str:
    """Decide: ``"thing"``, ``"contested"`` or ``"floor"``."""
    if found.log_odds > needed(scene, calm, found):
        hit = at_stake(scene, disturbed(scene, calm, found, 2.0))
        return "contested" if seen_from_one_side(scene, found.shape, hit) else "thing"
    strong = found.strength > CONTESTED_FAINT * calm.noise_sd
    strong &= found.strength > CONTESTED_STRENGTH * found.strength_sd
    open_ = strong and found.log_odds > _contested_from(found)
    return "contested" if open_ or _untold(scene, calm, found) else "floor"


def _contested_from(found: Weighed) -> float:
    """Log odds from which a candidate is contested."""
    long = isinstance(found.shape, Ridge) and found.shape.length >= SHORT_M
    least = CONTESTED_LONG_FROM if long else CONTESTED_FROM
    least += 2.0 * max(0.0, found.misfit - CONTESTED_MISFIT)
    if isinstance(found.shape, Ridge) and found.shape.length <= CONTESTED_SHORT_M:
        least = max(least, CONTESTED_SHORT_ODDS)
    return least


def _untold(scene: Scene, calm: CalmFloor, found: Weighed) -> bool:
    """Whether a line stands high and narrow, yet no rival fits it."""
    shape = found.shape
    if not isinstance(shape, Ridge) or shape.length <= CONTESTED_SHORT_M:
        return False
    least = max(UNTOLD_FAINT * calm.noise_sd, UNTOLD_STRENGTH * found.strength_sd)
    narrow = shape.width <= WIDE * scene.width
    return bool(narrow and found.misfit > UNTOLD_MISFIT and found.strength > least)
