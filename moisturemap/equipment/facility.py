"""Choose k of many positions so that the weighted best service of all places is greatest."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ENUMERATED = 3
"""Up to so many machines every combination is tried."""

MOST_ENUMERATED = {1: 1_000_000, 2: 2500, 3: 170}
"""Most positions of which every combination is tried, by number of machines."""


STARTS = 8
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


def worth(service: Array, weight: Array, chosen: tuple[int, ...]) -> float:
    """Weighted service of a choice: sum_j w_j max_i b_ij; 0 when nothing is chosen."""
    if not chosen:
        return 0.0
    return float(service[list(chosen)].max(axis=0) @ weight)


def choose(service: Array, weight: Array, count: int) -> Choice:
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
    """
    count = min(count, len(service))
    if count <= 0 or not len(weight):
        return Choice((), 0.0, True)
    rough = searched(service, weight, count)
    if count > ENUMERATED:
        return Choice(rough, worth(service, weight, rough), False)
    most = MOST_ENUMERATED[count]
    if len(service) <= most:
        best = enumerate_all(service, weight, count)
        return Choice(best, worth(service, weight, best), True)
    kept = np.union1d(np.argsort(-(service @ weight))[: most - count], rough).astype(int)
    local = enumerate_all(service[kept], weight, count)
    best = tuple(sorted(int(kept[i]) for i in local))
    better = max((rough, best), key=lambda one: worth(service, weight, one))
    better = exchange(service, weight, better)
    return Choice(better, worth(service, weight, better), False)


def searched(service: Array, weight: Array, count: int) -> tuple[int, ...]:
    """Improve greedy addition and ``STARTS`` random choices by exchange; return the best."""
    rng = np.random.default_rng(STARTS)
    starts = [greedy(service, weight, count)]
    starts += [
        tuple(rng.choice(len(service), count, replace=False).tolist()) for _ in range(STARTS)
    ]
    return max(
        (exchange(service, weight, one) for one in starts),
        key=lambda one: worth(service, weight, one),
    )


def greedy(service: Array, weight: Array, count: int) -> tuple[int, ...]:
    """Add the position that helps most, one after another."""
    chosen: list[int] = []
    now = np.zeros(service.shape[1])
    for _ in range(count):
        gain = np.maximum(service - now, 0.0) @ weight
        gain[chosen] = -1.0
        chosen.append(int(gain.argmax()))
        now = np.maximum(now, service[chosen[-1]])
    return tuple(sorted(chosen))


def exchange(service: Array, weight: Array, chosen: tuple[int, ...]) -> tuple[int, ...]:
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
            values[rest] = -1.0
            best = int(values.argmax())
            if values[best] > value * (1.0 + 1e-12) + 1e-12:
                current[slot], value, improved = best, float(values[best]), True
    return tuple(sorted(current))


def enumerate_all(service: Array, weight: Array, count: int) -> tuple[int, ...]:
    """Try every combination of up to three positions."""
    total = len(service)
    if count == 1:
        return (int((service @ weight).argmax()),)
    best: tuple[int, ...] = tuple(range(count))
    value = -1.0
    for first in combinations(range(total), count - 1):
        start = first[-1] + 1
        if start >= total:
            continue
        base = service[list(first)].max(axis=0)
        values = np.maximum(service[start:], base) @ weight
        last = int(values.argmax())
        if values[last] > value:
            best, value = (*first, start + last), float(values[last])
    return best
