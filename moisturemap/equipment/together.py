"""Positions of all kinds of machines chosen together, so that none stands on another.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.spatial.distance import cdist

from moisturemap.equipment.facility import Choice, Clearance, choose
from moisturemap.equipment.position import at_machines
from moisturemap.equipment.service import ways
from moisturemap.equipment.site import Site

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

APART_M = 1.2
"""Least distance of two machines, centre to centre [m]: half a metre of machine and room to walk
past and for the air to turn (our choice)."""

TURN_ADDS = 2.0
"""Percent of what could be served that a turn must add to be proposed (our choice)."""

ROUNDS = 3
"""How often each kind is chosen anew with the others where they then stand."""


def choose_together(sites: Mapping[str, Site], counts: Mapping[str, int]) -> dict[str, Choice]:
    """Choose positions of every kind, at least ``APART_M`` apart from each other.

    Each kind is chosen exactly given the others; kinds take turns, and every order is tried. The
    sum of the shares served is what counts. Where one kind would leave no place for another, it
    gives up machines: some of each kind are worth more than many of one.
    """
    found = _best_of_orders(sites, counts)
    if len(found) < 2:
        return found
    without = [kind for kind, one in found.items() if counts[kind] and not one.chosen]
    most = max(found, key=lambda kind: len(found[kind].chosen))
    if not without or len(found[most].chosen) < 2:
        return found
    fewer = {**counts, most: len(found[most].chosen) - 1}
    tried = choose_together(sites, fewer)
    return tried if all(tried[kind].chosen for kind in without) else found


def _best_of_orders(sites: Mapping[str, Site], counts: Mapping[str, int]) -> dict[str, Choice]:
    best: dict[str, Choice] = {}
    kinds = list(sites)
    for order in (kinds, kinds[::-1]):
        found: dict[str, Choice] = {}
        for _ in range(ROUNDS):
            before = {kind: one.chosen for kind, one in found.items()}
            for kind in order:
                found[kind] = _chosen(sites, kind, counts[kind], found)
            if {kind: one.chosen for kind, one in found.items()} == before:
                break
        if not best or _served(sites, found) > _served(sites, best):
            best = found
        if len(kinds) == 1:
            break
    return best


def _chosen(
    sites: Mapping[str, Site], kind: str, count: int, found: Mapping[str, Choice]
) -> Choice:
    site = sites[kind]
    others = [
        sites[other].positions.points[list(one.chosen)]
        for other, one in found.items()
        if other != kind
    ]
    blocked = near_others(site, np.concatenate([np.empty((0, 2)), *others]))
    blocked[list(site.in_the_way)] = True
    rules = Clearance.of(site.positions.points, APART_M, blocked)
    return choose(site.service, site.demand.weight, count, rules)


def near_others(site: Site, others: Array) -> Mask:
    """Positions of a site too near to machines that stand elsewhere."""
    points = site.positions.points
    if not len(others) or not len(points):
        return np.zeros(len(points), dtype=bool)
    return np.asarray((cdist(points, others) < APART_M).any(axis=1))


def _served(sites: Mapping[str, Site], found: Mapping[str, Choice]) -> float:
    # machines that found no place at all weigh more than any gain of the others
    placed = sum(len(one.chosen) for one in found.values())
    return 1000.0 * placed + sum(sites[kind].share(one.chosen) for kind, one in found.items())


def assigned(site: Site, chosen: Sequence[int]) -> dict[int, int]:
    """Give each chosen position the machine with the shortest way to it; new machines follow.

    Keys below the number of machines are machines, others are new ones.
    """
    standing = len(site.machines)
    if not standing:
        return {index: int(place) for index, place in enumerate(chosen)}
    target = site.positions.points[list(chosen)].reshape(-1, 2)
    way = ways(site.space, at_machines(site.machines), target)
    straight = cdist(np.array([(m.x, m.y) for m in site.machines]), target)
    way = np.where(np.isfinite(way), way, straight + 1e3)
    machine, column = linear_sum_assignment(way)
    given = {int(m): int(chosen[int(c)]) for m, c in zip(machine, column, strict=True)}
    left = [place for index, place in enumerate(chosen) if index not in set(column.tolist())]
    return given | {standing + index: int(place) for index, place in enumerate(left)}


def without_small_moves(
    site: Site, target: dict[int, int], least: float, others: Array
) -> dict[int, int]:
    """Leave machines where they stand, or turn them there, when moving them adds next to nothing.

    A machine stays only where it keeps clear of all others as they will stand.

    Parameters
    ----------
    site : Site
    target : dict of int to int
        Position by machine; machines from the number of those standing on are new.
    least : float
        Share of what could be served that a move must add.
    others : ndarray, shape (n, 2)
        Machines of other kinds as they will stand [m].

    Returns
    -------
    dict of int to int
    """
    current = dict(target)
    crowded = near_others(site, others)
    points = site.positions.points
    while True:
        losses: dict[int, tuple[float, int]] = {}
        full = site.share([*current.values()])
        for machine, place in current.items():
            if machine >= len(site.machines) or place == machine or machine in site.in_the_way:
                continue
            rest = [where for who, where in current.items() if who != machine]
            near = len(rest) and (cdist(points[[machine]], points[rest]) < APART_M).any()
            if crowded[machine] or near:
                continue
            loss, stand = _left_standing(site, machine, rest, full)
            if stand != place:
                losses[machine] = loss, stand
        small = [machine for machine, (loss, _) in losses.items() if loss < 100.0 * least]
        if not small:
            return current
        easiest = min(small, key=lambda machine: losses[machine][0])
        current[easiest] = losses[easiest][1]


def _left_standing(site: Site, machine: int, rest: list[int], full: float) -> tuple[float, int]:
    """Return what is lost when a machine stays, at its best turn, and that position."""
    losses = [
        (full - site.share([*rest, int(place)]), int(place))
        for place in site.where_it_stands(machine)
    ]
    # as it is, unless a turn adds more than next to nothing
    as_it_is = next(loss for loss in losses if loss[1] == machine)
    best = min(losses)
    return as_it_is if as_it_is[0] - best[0] < TURN_ADDS else best
