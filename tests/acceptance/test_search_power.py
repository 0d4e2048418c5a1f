"""What the search for a counter-example would find: rules broken on purpose, each caught by it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace

import pytest
from test_monotone import ADDED, walk
from worse_moves import MOVES

from moisturemap.acceptance import correction, evidence, supersede

MOST_FLOORS = 400
"""Floors tried before a broken rule counts as not found."""

Patch = pytest.MonkeyPatch
EVERY = tuple(sorted(MOVES))


def same_name_is_same_place(patch: Patch) -> None:
    """Two holes "1" are taken for one, wherever they are."""

    def same(one: evidence.JudgedTest, other: evidence.JudgedTest) -> bool:
        first, second = one.entry, other.entry
        return (first.method.key, first.hole) == (second.method.key, second.hole)

    patch.setattr(supersede, "same", same)
    patch.setattr(supersede, "_cause", lambda later, earlier: "")


def what_is_not_valid_is_forgotten(patch: Patch) -> None:
    """A result above the limit vanishes when its record has a gap."""
    told = evidence.JudgedTest.stands_against.fget

    def stands(test: evidence.JudgedTest) -> str:
        return "" if test.standing == "invalid" else told(test)

    patch.setattr(evidence.JudgedTest, "stands_against", property(stands))


def too_old_is_forgotten(patch: Patch) -> None:
    """A result too old to clear a floor no longer speaks against it."""
    told = evidence.JudgedTest.stands_against.fget

    def stands(test: evidence.JudgedTest) -> str:
        return told(test) if test.fresh else ""

    patch.setattr(evidence.JudgedTest, "stands_against", property(stands))


def a_probe_that_reads_low_is_credited(patch: Patch) -> None:
    """The correction has the wrong sign."""
    right = correction.Session.correction

    def turned(session: correction.Session, value: float) -> tuple[float, float]:
        added, spread = right(session, value)
        return -added, spread

    patch.setattr(correction.Session, "correction", turned)


def results_are_averaged(patch: Patch) -> None:
    """More tests dilute the one that fails."""
    module = sys.modules["moisturemap.acceptance.decide"]
    right = module.floor_verdict

    def mean(judged, spots, covers, unlimited=()):
        found = right(judged, spots, covers, unlimited)
        against = [test for test in judged if test.stands_against == "exceeds"]
        diluted = found.verdict == "exceeds" and len(against) * 4 < len(judged)
        return replace(found, verdict="not proven") if diluted else found

    patch.setattr(module, "floor_verdict", mean)


BROKEN: dict[Callable[[Patch], None], tuple[str, ...]] = {
    same_name_is_same_place: (ADDED,),
    what_is_not_valid_is_forgotten: EVERY,
    too_old_is_forgotten: ("age the tests", ADDED),
    a_probe_that_reads_low_is_credited: ("lower a check",),
    results_are_averaged: (ADDED,),
}
"""Broken rule, and the moves that are to find it."""


def caught(moves: tuple[str, ...]) -> bool:
    """Whether, on some floor, a move for the worse turns a verdict towards MEETS."""
    for seed in range(1_000_000, 1_000_000 + MOST_FLOORS):
        try:
            walk(seed, moves)
        except AssertionError:
            return True
    return False


@pytest.mark.slow
@pytest.mark.parametrize("broken", BROKEN, ids=lambda one: one.__name__)
def test_the_search_finds_a_rule_that_was_broken(broken, monkeypatch):
    """So that finding nothing means something."""
    broken(monkeypatch)
    assert caught(BROKEN[broken])


@pytest.mark.slow
def test_the_rules_as_they_are_pass_the_same_search():
    """The moves that find broken rules find nothing in those in force."""
    for moves in set(BROKEN.values()) - {EVERY}:
        for seed in range(1_000_000, 1_000_000 + MOST_FLOORS // 4):
            walk(seed, moves)
