"""Tests in one spot speak for no floor that asks for several."""

from __future__ import annotations

from dataclasses import replace

import pytest
from invented_tests import SLAB, decide, floor, good_test
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room

SUSPENDED = replace(SLAB, on="suspended", drying_faces=2)


def verdict(places: list[tuple[float, float]], wide: float, deep: float) -> tuple[str, str]:
    """The verdict on a suspended floor, which asks no test near its walls."""
    tests = [
        good_test(n, x, y, value=70.0, depth_mm=30.0) for n, (x, y) in enumerate(places, start=1)
    ]
    plan = FloorPlan((Room("shop", box(0, 0, wide, deep), SUSPENDED),))
    decision = decide(floor(tests, plan=plan))
    return decision.verdict, " ".join(decision.reasons)


@pytest.mark.parametrize(
    ("second", "together"), [((4.4, 3.0), True), ((6.5, 3.0), True), ((8.0, 5.0), False)]
)
def test_three_tests_in_one_spot_do_not_clear_a_hall(second, together):
    found, why = verdict([(4.0, 3.0), second, (4.0, 3.6)], 8.0, 6.0)
    assert ("to speak for this floor" in why) is together
    assert (found == "not proven") is together


def test_on_a_narrow_floor_half_its_way_is_enough():
    """Of 8 x 0.4 m."""
    assert "to speak" not in verdict([(0.5, 0.2), (4.8, 0.2), (2.5, 0.2)], 8.0, 0.4)[1]
    assert "to speak" in verdict([(0.5, 0.2), (0.9, 0.2), (1.3, 0.2)], 8.0, 0.4)[1]
