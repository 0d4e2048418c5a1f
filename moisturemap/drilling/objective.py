"""The one objective of a drill plan, and the search that maximises it.

Each term lies between about 0 and 1; the plan maximises their weighted sum by adding the best hole
one after the other, then exchanging single holes while that gains. Everything is deterministic.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from moisturemap.drilling.options import Weights
from moisturemap.drilling.site import Site

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TERMS = (
    "wettest",
    "domain",
    "zone",
    "dry_reference",
    "calibration",
    "coverage",
    "perimeter",
    "undisturbed",
)

QUANTILES = (np.arange(40) + 0.5) / 40
"""Quantiles of the scan that calibration holes should be near."""

MOST_PASSES = 6

HEIGHT = 0.25
"""Share of the wettest term given to how high the highest hole reads: it decides between places
that are all but sure to lie in the wettest twentieth."""

FARTHEST = 4.0
"""Squared distance to the nearest hole counts up to this many times the floor's own spread."""


class Objective:
    """The objective over one site.

    Parameters
    ----------
    site : Site
    weights : Weights
    separation : float
        Least distance between two holes [m].
    earlier : ndarray, shape (n, 2), optional
        Holes drilled before that the plan does not count [m]: the floor round them is known.
    """

    def __init__(
        self, site: Site, weights: Weights, separation: float, earlier: Array | None = None
    ) -> None:
        self.site = site
        self.weights = weights
        self.earlier = np.empty((0, 2)) if earlier is None else earlier
        squared = cdist(site.points, site.points) ** 2
        self._near = np.asarray(squared < separation**2)
        apart = site.domain[:, None] != site.domain[None, :]
        middle = site.weight @ site.points
        spread = float(site.weight @ ((site.points - middle) ** 2).sum(axis=1))
        worst = np.where(apart, np.inf, squared) / max(spread, 1e-9)
        self._squared = np.minimum(worst, FARTHEST)
        self._held = np.full(len(site.points), FARTHEST)
        if len(self.earlier):
            gap = cdist(site.points, self.earlier) ** 2
            there = site.domain[gap.argmin(axis=0)]
            gap = np.where(site.domain[:, None] == there[None, :], gap, np.inf) / max(spread, 1e-9)
            self._held = np.minimum(gap.min(axis=1), FARTHEST)
        domains, member = np.unique(site.domain, return_inverse=True)
        self._in_domain = member[:, None] == np.arange(domains.size)[None, :]
        gap = np.abs(QUANTILES[:, None] - site.rank[None, :])
        self._gap = np.where(np.isfinite(gap), gap, 1.0)
        self._dry = np.where(np.isfinite(site.rank), 1.0 - site.rank, 0.0)
        self._wettest = site.wettest.astype(np.float64)
        self._height = _height(site)

    def terms(self, chosen: list[int], also: Index | None = None) -> dict[str, Array]:
        """Return the terms of a plan, or of the plan with each of several places added.

        Parameters
        ----------
        chosen : list of int
            Places of the plan.
        also : ndarray of int, shape (c,), optional
            Places to add one at a time.

        Returns
        -------
        dict of str to ndarray, shape (c,) or (1,)
        """
        one = np.zeros(1, dtype=np.intp) if also is None else also
        empty = also is None
        site = self.site
        ones = np.ones(len(site.wettest)) / max(len(site.wettest), 1)
        share_in_domain = np.ones(self._in_domain.shape[1]) / self._in_domain.shape[1]
        walls = np.ones(site.near_wall.shape[1]) / max(site.near_wall.shape[1], 1)
        squared = np.minimum(_least(self._squared, chosen, one, empty), self._held[:, None])
        gap = _least(self._gap, chosen, one, empty)
        return {
            "wettest": (1.0 - HEIGHT) * _any_of(self._wettest, ones, chosen, one, empty)
            + HEIGHT * _most(self._height, chosen, one, empty),
            "domain": _any_of(self._in_domain.T, share_in_domain, chosen, one, empty),
            "zone": _any_of(site.at_top.T, site.top_share, chosen, one, empty),
            "dry_reference": _most(self._dry, chosen, one, empty),
            "calibration": 1.0 - 4.0 * gap.mean(axis=0),
            "coverage": 1.0 - site.weight @ squared,
            "perimeter": _any_of(site.near_wall.T, walls, chosen, one, empty),
            "undisturbed": -site.doubt[chosen].sum()
            - (0.0 if empty else site.doubt[one]) * np.ones(1),
        }

    def value(self, chosen: list[int], also: Index | None = None) -> Array:
        """Return the weighted sum of the terms, shape (c,) or (1,)."""
        terms = self.terms(chosen, also)
        return np.asarray(sum(getattr(self.weights, name) * terms[name] for name in TERMS))

    def hit_chance(self, chosen: list[int]) -> float:
        """Return the chance that a chosen place lies in the wettest twentieth of the floor."""
        return float(self.site.wettest[:, chosen].any(axis=1).mean())

    def nearest(self, place: int, chosen: list[int]) -> float:
        """Return how far a place is from the nearest other hole, earlier ones among them [m]."""
        others = self.site.points[[one for one in chosen if one != place]]
        holes = np.vstack([others, self.earlier])
        return float(cdist(self.site.points[[place]], holes).min(initial=np.inf))

    def open_to(self, chosen: list[int]) -> Index:
        """Return the allowed places far enough from the chosen ones."""
        blocked = self._near[:, chosen].any(axis=1)
        return np.flatnonzero(self.site.allowed & ~blocked)


def _height(site: Site) -> Array:
    """Return how high each place reads: 0 at the map's middle, 1 at its highest open place."""
    known = np.isfinite(site.mean)
    open_places = known & site.allowed
    if not open_places.any():
        return np.zeros(site.mean.size)
    middle = float(np.median(site.mean[known]))
    top = float(site.mean[open_places].max())
    if top <= middle:
        return np.zeros(site.mean.size)
    share = (np.where(known, site.mean, middle) - middle) / (top - middle)
    return np.asarray(np.clip(share, 0.0, 1.0))


def _most(score: Array, chosen: list[int], also: Index, empty: bool) -> Array:
    """Highest score among the chosen, and each place added."""
    held = score[chosen].max(initial=0.0)
    return np.full(1, held) if empty else np.maximum(held, score[also])


def _any_of(
    member: Array | NDArray[np.bool_], share: Array, chosen: list[int], also: Index, empty: bool
) -> Array:
    """Weighted share of rows with a member among the chosen, and each place added."""
    has = member[:, chosen].any(axis=1)
    held = float(share[has].sum())
    if empty:
        return np.full(1, held)
    rest = np.where(has, 0.0, share)
    return np.asarray(held + rest @ member[:, also])


def _least(cost: Array, chosen: list[int], also: Index, empty: bool) -> Array:
    """Least cost of each row over the chosen, and each place added, shape (rows, c)."""
    worst = cost.max(initial=0.0)
    base = cost[:, chosen].min(axis=1, initial=worst)
    return np.asarray(base[:, None] if empty else np.minimum(base[:, None], cost[:, also]))


def search(objective: Objective, fixed: list[int], count: int) -> list[int]:
    """Choose places: greedy, then exchanges of single holes while they gain.

    Parameters
    ----------
    objective : Objective
    fixed : list of int
        Places already taken, pinned or done; never exchanged.
    count : int
        Holes to add.

    Returns
    -------
    list of int
        The added places, fewer when no allowed place is left.
    """
    added: list[int] = []
    for _ in range(count):
        place = _best(objective, [*fixed, *added])
        if place is None:
            break
        added.append(place)
    for _ in range(MOST_PASSES):
        changed = False
        for position, old in enumerate(added):
            others = [*fixed, *added[:position], *added[position + 1 :]]
            before = float(objective.value([*others, old])[0])
            place = _best(objective, others)
            if place is None or place == old:
                continue
            if float(objective.value([*others, place])[0]) > before + 1e-9:
                added[position] = place
                changed = True
        if not changed:
            break
    return added


def _best(objective: Objective, chosen: list[int]) -> int | None:
    open_places = objective.open_to(chosen)
    if not open_places.size:
        return None
    return int(open_places[np.argmax(objective.value(chosen, open_places))])
