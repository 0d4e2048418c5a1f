"""What the search for a counter-example would find: rules broken on purpose, each caught by it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from test_monotone import walk

from moisturemap.acceptance import correction, decide, evidence, floor, result, sealed, supersede
from moisturemap.acceptance import uncertainty as sureness

MOST_FLOORS = 1_500
"""Floors tried before a broken rule counts as not found."""

Patch = pytest.MonkeyPatch


def same_name_is_same_place(patch: Patch) -> None:
    """Two holes "1" are taken for one, wherever they are."""

    def same(one: evidence.JudgedTest, other: evidence.JudgedTest) -> bool:
        first, second = one.entry, other.entry
        return (first.method.key, first.hole) == (second.method.key, second.hole)

    patch.setattr(supersede, "same", same)


def what_is_not_valid_is_forgotten(patch: Patch) -> None:
    """A result above the limit vanishes when its record has a gap."""
    told = evidence.JudgedTest.stands_against.fget

    def stands(test: evidence.JudgedTest) -> str:
        return "" if test.standing == "invalid" else told(test)

    patch.setattr(evidence.JudgedTest, "stands_against", property(stands))


def a_gap_is_no_uncertainty(patch: Patch) -> None:
    """A test that is not valid keeps the narrow range its certificate gives."""
    right = sureness.uncertainty_of

    def narrow(entry, value, book, widened=(), *, valid=True):
        return replace(right(entry, value, book, widened), allowance=0.0)

    patch.setattr(evidence, "uncertainty_of", narrow)


def one_salt_is_as_good_as_two(patch: Patch) -> None:
    """The range does not grow where the slope of a probe is not known."""
    patch.setattr(correction, "LONE_SD", 0.0)
    patch.setattr(correction, "LONE_SLOPE_SD", 0.0)


def a_probe_that_reads_low_is_credited(patch: Patch) -> None:
    """The correction has the wrong sign."""
    right = correction.Session.correction

    def turned(session: correction.Session, value: float) -> tuple[float, float]:
        added, spread = right(session, value)
        return -added, spread

    patch.setattr(correction.Session, "correction", turned)


def the_lower_of_two_readings_counts(patch: Patch) -> None:
    """Of a pair that rises the first is taken, and a blank second one hides it."""

    def lower(entry) -> float | None:
        value, second = entry.number("value"), entry.number("second_value")
        return value if value is None or second is None else value - (second - value)

    patch.setattr(result, "_stated", lower)


def doubtful_profiles_are_thrown_away(patch: Patch) -> None:
    """A reading that is not valid takes the profile of its spot with it."""

    def plain(group, limits, options):
        found = sealed._judge_spot(group, limits, options)
        if any(not test.counts for test in group):
            return replace(found, verdict="not judged")
        return found

    patch.setattr(sealed, "_worse_of", plain)


def what_no_slab_explains_is_let_go(patch: Patch) -> None:
    """A spot the drying model refuses is not judged."""
    patch.setattr(
        sealed, "_unexplained", lambda group, readings, refusal, bound, options: ("", refusal)
    )


def results_are_averaged(patch: Patch) -> None:
    """More tests dilute the one that fails."""
    right = floor.floor_verdict

    def mean(judged, spots, covers, unlimited=()):
        found = right(judged, spots, covers, unlimited)
        against = [test for test in judged if test.stands_against]
        if found.verdict == "exceeds" and len(against) * 5 < len(judged) and not spots:
            return replace(found, verdict="meets")
        return found

    patch.setattr(decide, "floor_verdict", mean)


def too_old_is_forgotten(patch: Patch) -> None:
    """A result too old to clear a floor no longer speaks against it."""
    told = evidence.JudgedTest.stands_against.fget
    patch.setattr(
        evidence.JudgedTest,
        "stands_against",
        property(lambda test: told(test) if test.fresh else ""),
    )


BROKEN: tuple[Callable[[Patch], None], ...] = (
    same_name_is_same_place,
    what_is_not_valid_is_forgotten,
    a_gap_is_no_uncertainty,
    one_salt_is_as_good_as_two,
    a_probe_that_reads_low_is_credited,
    the_lower_of_two_readings_counts,
    doubtful_profiles_are_thrown_away,
    what_no_slab_explains_is_let_go,
    too_old_is_forgotten,
)


def caught(first: int) -> Iterator[bool]:
    """Try floors until a move for the worse turns a verdict towards MEETS."""
    for seed in range(first, first + MOST_FLOORS):
        try:
            walk(seed)
        except AssertionError:
            yield True
            return
    yield False


@pytest.mark.slow
@pytest.mark.parametrize("broken", BROKEN, ids=lambda one: one.__name__)
def test_the_search_finds_a_rule_that_was_broken(broken, monkeypatch):
    """So that finding nothing means something."""
    correction.checks_around.cache_clear()
    broken(monkeypatch)
    assert next(caught(1_000_000))
    correction.checks_around.cache_clear()
