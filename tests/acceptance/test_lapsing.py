"""A floor covered later than its verdict holds is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from invented_tests import SLAB, decide, floor, good_tests

from moisturemap.floorplan import FloorPlan


@pytest.mark.parametrize(
    ("covered", "told"), [(None, False), (date(2026, 3, 20), False), (date(2026, 6, 1), True)]
)
def test_a_floor_to_be_covered_after_its_verdict_lapsed_is_told(covered, told) -> None:
    """It meets today; on the day of the covering nothing shows it."""
    known = floor(good_tests())
    slab = replace(SLAB, covered=covered)
    rooms = tuple(replace(one, slab=slab) for one in known.plan.rooms)
    found = decide(replace(known, plan=FloorPlan(rooms, known.plan.lines)))
    assert found.verdict == "meets"
    assert any("is to be covered on 2026-06-01" in one for one in found.reasons) is told
