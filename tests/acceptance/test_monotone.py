"""No move for the worse turns a verdict towards MEETS: searched as the other side would."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import dist
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from invented_floors import InventedFloor, draw_floor
from worse_moves import (
    LOSING_KNOWLEDGE,
    MOVES,
    add_a_test_between,
    with_a_failure_read_again_too_far_off,
)

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.supersede import SAME_SPOT_M

RANK = {
    "exceeds": 0,
    "not proven": 1,
    "not proven: conflicting evidence": 1,
    "meets": 2,
}

ADDED = "add a valid test above the limit"

STEPS = 4
"""Moves tried one after the other on a floor."""

seeds = st.integers(0, 2**48)


def walk(seed: int, moves: Sequence[str] = tuple(sorted(MOVES))) -> Counter[str]:
    """Try moves on one floor, each from where the last one led; return the steps by outcome."""
    rng = Random(seed)
    floor = draw_floor(rng)
    before = floor.verdict()
    seen: Counter[str] = Counter({f"start {before.verdict}": 1})
    for _ in range(STEPS):
        name = rng.choice(moves)
        worse = MOVES[name](rng, floor)
        if worse is None:
            continue
        weighed = worse.weighed()
        after = weighed.floor
        seen[name] += 1
        check(name, floor, worse, before, after, seed)
        if name == ADDED:
            assert after.verdict == "exceeds" or read_again(weighed.judged), (
                f"seed {seed}: {after.verdict} with a valid test above the limit: {worse.story}"
            )
        floor, before = worse, after
    return seen


def read_again(judged: Sequence[JudgedTest]) -> bool:
    """Whether the last test was replaced by another at its place."""
    last, others = judged[-1], judged[:-1]
    places = [one.entry.place for one in others if one.entry.place is not None]
    return last.superseded and any(dist(last.entry.place, place) <= SAME_SPOT_M for place in places)


def check(name, floor: InventedFloor, worse: InventedFloor, before, after, seed: int) -> None:
    """The verdict did not turn towards MEETS."""
    up, was = RANK[after.verdict], RANK[before.verdict]
    if name in LOSING_KNOWLEDGE and after.verdict != "meets":
        return
    assert up <= was, (
        f"seed {seed}: {before.verdict} became {after.verdict} by: {worse.story[-1]}\n"
        f"story {worse.story}\nbefore {before.reasons}\nafter {after.reasons}"
    )


@pytest.mark.thorough
@settings(max_examples=60, deadline=None)
@given(seeds)
def test_no_move_for_the_worse_turns_a_verdict_towards_meets(seed):
    """Sixty floors, some 150 moves."""
    walk(seed)


@pytest.mark.thorough
@settings(max_examples=40, deadline=None)
@given(seeds)
def test_a_test_that_does_not_meet_carries_no_failure_to_a_place_that_does(seed):
    """One that fails, one that meets 0.6 m off, and one between them that does not meet.

    Where the one between lies below the limit, too near to prove anything, it takes the place of
    the one that fails alone (rule 7), and the floor is not proven.
    """
    rng = Random(seed)
    floor = with_a_failure_read_again_too_far_off(rng, draw_floor(rng))
    before = floor.verdict()
    assume(before.verdict == "exceeds")  # another test of the floor may be a retest of the first
    worse = add_a_test_between(rng, floor)
    after = worse.verdict()
    assert after.verdict != "meets", (seed, worse.story)
    if worse.tests[-2]["value"] > floor.limit.value:
        check(ADDED, floor, worse, before, after, seed)


@pytest.mark.thorough
def test_a_doubtful_test_between_takes_the_place_of_the_failure_alone():
    """One at 0.998 of the limit reached one that fails and not the one that meets."""
    rng = Random(28253)
    floor = with_a_failure_read_again_too_far_off(rng, draw_floor(rng))
    assert floor.verdict().verdict == "exceeds"
    assert add_a_test_between(rng, floor).verdict().verdict == "not proven"


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [11306, 20101, 21048, 41793])
def test_what_once_was_a_counter_example_stays_mended(seed):
    """Slabs of no known thickness, and a doubtful reading that made a wet profile doubtful."""
    walk(seed)


@pytest.mark.slow
def test_no_counter_example_in_twenty_thousand_moves():
    """Every move is tried hundreds of times, from floors of every verdict."""
    seen: Counter[str] = Counter()

    @settings(max_examples=8_000, deadline=None)
    @given(seeds)
    def search(seed):
        seen.update(walk(seed))

    search()
    assert sum(seen[name] for name in MOVES) >= 20_000
    assert min(seen[name] for name in MOVES) >= 300
    assert min(seen[f"start {verdict}"] for verdict in ("meets", "exceeds", "not proven")) >= 300
