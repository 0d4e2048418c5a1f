"""A layer covered before it can have dried holds the water it was built with."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import pytest

from moisturemap.floorplan import Slab
from moisturemap.investigation.covered_early import covered_early
from moisturemap.investigation.result import finding_sentence

SLAB = Slab(thickness_mm=150.0, base="concrete slab", drying_faces=1, on="ground")
PLACED = date(2025, 12, 1)


@pytest.mark.parametrize(
    ("slab", "covered", "told"),
    [
        (SLAB, date(2026, 1, 20), True),
        (SLAB, date(2026, 4, 29), True),
        (SLAB, date(2026, 5, 1), False),
        (Slab(thickness_mm=150.0, base="timber deck"), date(2026, 1, 20), False),
        (Slab(base="concrete slab"), date(2026, 1, 20), False),
        (SLAB, None, False),
        (SLAB, "not-known", False),
    ],
)
def test_a_slab_covered_sooner_than_a_day_for_each_mm_speaks_for_its_own_water(
    slab: Slab, covered: object, told: bool
) -> None:
    """The rule of thumb of the trade; 50 days for 150 mm left all causes not looked at."""
    clue = covered_early(slab, PLACED, covered)
    assert (clue is not None) is told
    if clue is not None:
        assert clue.speaks_for == ("construction-water",)
        assert "150 mm need 150 days and more" in clue.sentence


@pytest.mark.parametrize(("rest", "said"), [("not-looked-at", "Measure first"), ("against", "two")])
def test_none_left_is_said_of_the_list_alone_where_all_of_it_was_looked_at(rest, said) -> None:
    stands = [
        SimpleNamespace(cause="drain", standing="against"),
        SimpleNamespace(cause="flood", standing=rest),
        SimpleNamespace(cause="other", standing="not-looked-at"),
    ]
    found = SimpleNamespace(firm="", open_causes=(), stands=stands)
    assert said in finding_sentence(found)
