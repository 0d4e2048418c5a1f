"""The best of all combinations of positions, with less work than trying each."""

from itertools import combinations

import numpy as np
import pytest

from moisturemap.equipment import Clearance, enumerate_all, searched, worth


def floor(seed: int, positions: int, places: int):
    """Service, weight and clearance of an invented floor; every other one with equal worths."""
    rng = np.random.default_rng(seed)
    service = rng.random((positions, places))
    if seed % 2:
        service = np.rint(2.0 * service)
    points = 10.0 * rng.random((positions, 2))
    rules = Clearance.of(points, 6.0 * rng.random(), rng.random(positions) < 0.2)
    return service, rng.random(places), rules


def one_by_one(service, weight, count: int, rules: Clearance) -> tuple[int, ...]:
    """The first of the best combinations that may stand together."""
    best, value = (), -1.0
    for some in combinations(np.flatnonzero(~rules.blocked).tolist(), count):
        if any(rules.apart[pair] for pair in combinations(some, 2)):
            continue
        base = service[list(some[:-1])].max(axis=0) if count > 1 else np.zeros(len(weight))
        here = float((np.maximum(service, base) @ weight)[some[-1]])
        if here > value:
            best, value = some, here
    return best


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("seed", range(12))
def test_the_first_of_the_best_combinations_is_found(seed: int, count: int) -> None:
    service, weight, rules = floor(seed, 14, 9)
    known = searched(service, weight, count, rules)
    least = worth(service, weight, known) if len(known) == count else 0.0
    expected = one_by_one(service, weight, count, rules)
    assert enumerate_all(service, weight, count, rules) == expected
    assert enumerate_all(service, weight, count, rules, least=least) == expected


def test_few_pairs_are_completed(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(3)
    stand, places = 20.0 * rng.random((120, 2)), 20.0 * rng.random((90, 2))
    apart = np.hypot(*(stand[:, None] - places).transpose(2, 0, 1))
    service, weight = np.maximum(12.0 - apart, 0.0), rng.random(90)
    rules = Clearance.of(stand, 1.2, np.zeros(120, dtype=bool))
    least = worth(service, weight, searched(service, weight, 3, rules))
    asked = []
    taken = Clearance.taken
    monkeypatch.setattr(
        Clearance, "taken", lambda self, some: asked.append(some) or taken(self, some)
    )
    enumerate_all(service, weight, 3, rules, least=least)
    assert 0 < len(asked) < 120 * 119 / 2 / 5
