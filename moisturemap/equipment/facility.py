"""Choose k of many positions so that the weighted best service of all places is greatest.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

ENUMERATED = 3
"""Up to so many machines every combination is tried."""

MOST_ENUMERATED = {1: 1_000_000, 2: 2500, 3: 170}
"""Most positions of which every combination is tried, by number of machines."""


STARTS = 16
"""Random starts besides the greedy one."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Positions chosen.

    Attributes
    ----------
    chosen : tuple of int
        Rows of the service matrix, ascending.
    value : float
        Weighted service, sum over places of weight times best service.
    exact : bool
        True when every combination of the positions was tried.
    """

    chosen: tuple[int, ...]
    value: float
    exact: bool


@dataclass(frozen=True)
class Clearance:
    """Positions that may not be taken, alone or together.

    Attributes
    ----------
    blocked : ndarray of bool, shape (positions,)
    apart : ndarray of bool, shape (positions, positions)
        True for two positions too near each other; symmetric.
    """

    blocked: Mask
    apart: Mask

    @classmethod
    def none(cls, count: int) -> Clearance:
        """Return rules that allow everything but two machines on one position.

        Parameters
        ----------
        count : int
            Of positions.

        Returns
        -------
        Clearance
        """
        return cls(np.zeros(count, dtype=bool), np.eye(count, dtype=bool))

    @classmethod
    def of(cls, points: Array, least_m: float, blocked: Mask) -> Clearance:
        """Keep machines at least so far apart, centre to centre [m].

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            Positions [m].
        least_m : float
            [m]
        blocked : ndarray of bool, shape (n,)
            Positions that may not be taken at all.

        Returns
        -------
        Clearance
        """
        return cls(blocked, cdist(points, points) < least_m)

    def taken(self, chosen: Sequence[int]) -> Mask:
        """Positions that may no longer be taken.

        Parameters
        ----------
        chosen : sequence of int

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        if not len(chosen):
            return self.blocked.copy()
        return np.asarray(self.blocked | self.apart[list(chosen)].any(axis=0))

    def among(self, rows: NDArray[np.intp]) -> Clearance:
        """Return the rules among some positions.

        Parameters
        ----------
        rows : ndarray of int, shape (k,)

        Returns
        -------
        Clearance
        """
        return Clearance(self.blocked[rows], self.apart[np.ix_(rows, rows)])


def worth(service: Array, weight: Array, chosen: tuple[int, ...]) -> float:
    """Weighted service of a choice: sum_j w_j max_i b_ij; 0 when nothing is chosen.

    Parameters
    ----------
    service : ndarray
        Worth of each candidate at each place, shape (candidates, places).
    weight : ndarray
        Of each place, shape (places,).
    chosen : tuple of int
        Indices of candidates.

    Returns
    -------
    float
    """
    if not chosen:
        return 0.0
    return float(service[list(chosen)].max(axis=0) @ weight)


def choose(service: Array, weight: Array, count: int, rules: Clearance | None = None) -> Choice:
    """Choose positions.

    With service = reach - distance this is the weighted k-median; with service between 0 and 1 it
    is weighted coverage. Up to three machines every combination is tried; where the positions are
    too many for that, among the best of them. Beyond, greedy addition (at least 1 - 1/e of the
    optimum: Nemhauser, Wolsey and Fisher, Math. Program. 14 (1978) 265) and random starts, each
    with exchange until no swap helps (Teitz and Bart, Oper. Res. 16 (1968) 955).

    Parameters
    ----------
    service : ndarray, shape (positions, places)
        0 or more.
    weight : ndarray, shape (places,)
        0 or more.
    count : int
    rules : Clearance, optional
        Positions that may not be taken, or not together; fewer than ``count`` are chosen where
        no more fit.

    Returns
    -------
    Choice
    """
    rules = rules or Clearance.none(len(service))
    free = np.flatnonzero(~rules.blocked)
    count = min(count, free.size)
    if count <= 0 or not len(weight):
        return Choice((), 0.0, True)
    rough = searched(service, weight, count, rules)
    if count > ENUMERATED or len(rough) < count:
        return Choice(rough, worth(service, weight, rough), False)
    most = MOST_ENUMERATED[count]
    kept = free
    if free.size > most:
        order = free[np.argsort(-(service[free] @ weight), kind="stable")]
        kept = np.union1d(order[: most - count], rough).astype(int)
    reached = worth(service, weight, rough)
    local = enumerate_all(service[kept], weight, count, rules.among(kept), least=reached)
    best = tuple(sorted(int(kept[i]) for i in local))
    if free.size <= most:
        return Choice(best, worth(service, weight, best), True)
    better = max((rough, best), key=lambda one: worth(service, weight, one))
    better = _exchange(service, weight, better, rules)
    return Choice(better, worth(service, weight, better), False)


def searched(
    service: Array, weight: Array, count: int, rules: Clearance | None = None
) -> tuple[int, ...]:
    """Improve greedy addition and ``STARTS`` random choices by exchange; return the best.

    Parameters as in ``choose``.

    Returns
    -------
    tuple of int
        Indices of positions.
    """
    rules = rules or Clearance.none(len(service))
    rng = np.random.default_rng(STARTS)
    starts = [_greedy(service, weight, count, rules)]
    starts += [_random(rng, len(service), count, rules) for _ in range(STARTS)]
    most = max(map(len, starts))
    return max(
        (_exchange(service, weight, one, rules) for one in starts if len(one) == most),
        key=lambda one: worth(service, weight, one),
    )


def _random(rng: np.random.Generator, total: int, count: int, rules: Clearance) -> tuple[int, ...]:
    """Draw positions that may stand together."""
    chosen: list[int] = []
    for one in rng.permutation(total):
        if len(chosen) == count:
            break
        if not rules.taken(chosen)[one]:
            chosen.append(int(one))
    return tuple(sorted(chosen))


def _greedy(service: Array, weight: Array, count: int, rules: Clearance) -> tuple[int, ...]:
    """Add the position that helps most, one after another."""
    chosen: list[int] = []
    now = np.zeros(service.shape[1])
    for _ in range(count):
        taken = rules.taken(chosen)
        if taken.all():
            break
        gain = np.maximum(service - now, 0.0) @ weight
        gain[taken] = -1.0
        chosen.append(int(gain.argmax()))
        now = np.maximum(now, service[chosen[-1]])
    return tuple(sorted(chosen))


def _exchange(
    service: Array, weight: Array, chosen: tuple[int, ...], rules: Clearance
) -> tuple[int, ...]:
    """Swap one position at a time while it helps."""
    current = list(chosen)
    value = worth(service, weight, tuple(current))
    improved = True
    while improved:
        improved = False
        for slot in range(len(current)):
            rest = current[:slot] + current[slot + 1 :]
            base = service[rest].max(axis=0) if rest else np.zeros(service.shape[1])
            values = np.maximum(service, base) @ weight
            values[rules.taken(rest)] = -1.0
            best = int(values.argmax())
            if values[best] > value * (1.0 + 1e-12) + 1e-12:
                current[slot], value, improved = best, float(values[best]), True
    return tuple(sorted(current))


def enumerate_all(
    service: Array,
    weight: Array,
    count: int,
    rules: Clearance | None = None,
    *,
    least: float = 0.0,
) -> tuple[int, ...]:
    """Find the best of all combinations of up to three positions.

    What a position adds to two others is no more than it adds to one of them (the worth is
    submodular: Nemhauser, Wolsey and Fisher, cited above), so most pairs need no third.

    Parameters
    ----------
    service, weight, count, rules
        As in ``choose``.
    least : float
        Worth that is reached in any case: combinations that fall short of it are not looked at.

    Returns
    -------
    tuple of int
        Indices of positions; of equal worth the first in order.
    """
    rules = rules or Clearance.none(len(service))
    best: tuple[int, ...] = ()
    value = -1.0
    for first in _beginnings(service, weight, count, rules, least):
        taken = rules.taken(first)
        taken[: first[-1] + 1 if first else 0] = True
        if taken.all():
            continue
        base = service[list(first)].max(axis=0) if first else np.zeros(service.shape[1])
        values = np.maximum(service, base) @ weight
        values[taken] = -1.0
        last = int(values.argmax())
        if values[last] > value:
            best, value = (*first, last), float(values[last])
    return best


def _beginnings(
    service: Array, weight: Array, count: int, rules: Clearance, least: float
) -> list[tuple[int, ...]]:
    """All but the last of each combination that may reach a worth, in order."""
    if count == 1:
        return [()]
    free = np.flatnonzero(~rules.blocked)
    if count == 2:
        return [(int(one),) for one in free]
    alone = service @ weight
    pairs = np.array([np.maximum(service, one) @ weight for one in service])
    together = ~(rules.apart | rules.blocked | rules.blocked[:, None])
    later = np.triu(together, 1)
    # the most that a position after the second adds to the first, and to the second
    added = np.where(together, pairs - alone[:, None], -np.inf)
    most = np.maximum.accumulate(added[:, ::-1], axis=1)[:, ::-1]
    to_first = np.hstack([most[:, 1:], np.full((len(pairs), 1), -np.inf)])
    to_second = np.where(later, added, -np.inf).max(axis=1, initial=-np.inf)
    reach = pairs + np.minimum(to_first, to_second)
    rounding = 1e-9 * max(float(pairs.max(initial=0.0)), 1.0)
    chosen = later & (reach >= least - rounding)
    return [(int(one), int(other)) for one, other in np.argwhere(chosen)]
