"""What to do next: each hole is named once."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from moisturemap.acceptance.next_step import TOO_LONG, _named_once, next_steps


def _test(key: str, label: str, verdict: str) -> Any:
    return SimpleNamespace(stands_against=verdict, entry=SimpleNamespace(key=key, label=label))


@pytest.mark.parametrize(
    ("found", "named"),
    [
        ("exceeds", ["H2 at 40 mm", "H1, H1a"]),
        ("not proven", ["H1 at 40 mm", "H2 at 40 mm"]),
    ],
)
def test_a_hole_of_a_profile_that_governs_is_named_with_it(found: str, named: list[str]) -> None:
    """And on its own where its profile says something else."""
    verdicts = (("1", "H1 at 40 mm"), ("2", "H2 at 40 mm"))
    tests = [_test(key, label, found) for key, label in verdicts]
    spot: Any = SimpleNamespace(
        governs=True, valid=True, verdict="exceeds", spot="H1, H1a", tests=("1", "3")
    )
    assert _named_once(tests, [spot], found) == named


@pytest.mark.parametrize(("days", "told"), [(200.0, False), (1800.0, True), (float("inf"), True)])
def test_a_wait_longer_than_a_building_waits_says_what_to_do(days: float, told: bool) -> None:
    """With the wait itself, which is no step alone."""
    ends = SimpleNamespace(value=days, high=2 * days)
    wait = SimpleNamespace(days=ends, sentence="A wait.", why_none="")
    spot: Any = SimpleNamespace(
        wait=wait, governs=True, valid=True, verdict="exceeds", spot="H1, H1a", tests=()
    )
    steps = next_steps([], [spot], [], limited=True)
    do = TOO_LONG if told else "Plan the wait and test again before covering."
    assert steps[-1] == f"{do} A wait. This is said of H1, H1a."
    assert "A wait." not in steps


def test_where_no_day_can_be_named_the_reason_is_the_step() -> None:
    """Each names its holes; beside it the wait of the others is none of the floor."""
    ends = SimpleNamespace(value=float("inf"), high=float("inf"))
    none = SimpleNamespace(days=ends, sentence="No day: it rises.", why_none="it rises")
    known = SimpleNamespace(value=100.0, high=200.0)
    named = SimpleNamespace(days=known, sentence="A wait.", why_none="")
    spots: Any = [
        SimpleNamespace(wait=one, governs=True, valid=True, verdict="exceeds", spot=spot, tests=())
        for one, spot in ((none, "H1"), (named, "H2"), (none, "H3"))
    ]
    steps = next_steps([], spots, [], limited=True)
    assert steps[-2:] == (
        "No day: it rises. This is said of H1, H3.",
        "The floor has no day while one of its places has none. A wait. This is said of H2.",
    )
