"""How far a test stands from the depth at which rules judge a slab."""

from __future__ import annotations

import pandas as pd
import pytest
from shapely import box

from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.results.rule_depth import off_rule_depth


def _plan(faces: int, thickness: float | None = 150.0) -> FloorPlan:
    slab = Slab(thickness_mm=thickness, drying_faces=faces)
    return FloorPlan(rooms=(Room("store", box(0, 0, 4, 3), slab),))


@pytest.mark.parametrize(("faces", "depth"), [(1, 60.0), (2, 30.0)])
def test_the_depth_of_the_rule_is_0_mm_off(faces: int, depth: float) -> None:
    """ASTM F2170: 40% of a slab that dries from one face, 20% from two (150 mm: 60 and 30)."""
    tests = pd.DataFrame({"x": [1.0], "y": [1.0], "depth_mm": [depth]})
    assert off_rule_depth(tests, _plan(faces)) == [pytest.approx(0.0)]


def test_the_thickness_at_the_test_counts_before_that_of_the_room() -> None:
    """A slab of 100 mm at the hole: 40 mm is the depth, 50 mm is 10 mm off."""
    tests = pd.DataFrame({"x": [1.0], "y": [1.0], "depth_mm": [50.0], "thickness_mm": [100.0]})
    assert off_rule_depth(tests, _plan(1)) == [pytest.approx(10.0)]


def test_what_is_not_known_is_not_guessed() -> None:
    """No depth, off the plan, no thickness."""
    tests = pd.DataFrame({"x": [1.0, 9.0], "y": [1.0, 1.0], "depth_mm": [None, 60.0]})
    assert off_rule_depth(tests, _plan(1)) == [None, None]
    inside = pd.DataFrame({"x": [1.0], "y": [1.0], "depth_mm": [60.0]})
    assert off_rule_depth(inside, _plan(1, None)) == [None]
