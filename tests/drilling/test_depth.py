"""Hole depth."""

from __future__ import annotations

import math

import pytest

from moisturemap.drilling import hole_depth
from moisturemap.floorplan import Slab


@pytest.mark.parametrize(
    ("thickness", "faces", "depth"), [(150, 1, 60), (150, 2, 30), (65, 1, 26), (100, 2, 20)]
)
def test_depth_is_forty_percent_from_one_face_and_twenty_from_two(thickness, faces, depth):
    """ASTM F2170, 10.2, as quoted by trade guides; NT BUILD 439."""
    found = hole_depth(Slab("concrete slab", float(thickness), faces))
    assert found.depth_mm == depth
    assert f"stop at {depth} mm" in found.note


def test_unknown_thickness_gives_no_depth_but_asks_to_measure():
    """No guess."""
    found = hole_depth(Slab("concrete slab"))
    assert math.isnan(found.depth_mm)
    assert "measure it" in found.note


def test_a_heated_screed_warns_that_the_depth_may_reach_the_pipes():
    """40% of 75 mm is 30 mm, the least cover over heating pipes (EN 1264-4)."""
    found = hole_depth(Slab("cement screed", 75.0, heated=True))
    assert found.depth_mm == 30
    assert "may reach them" in found.note
    assert "marked test points" in found.note


@pytest.mark.parametrize("base", ["timber deck", "Plywood on joists", "OSB", "wood boards"])
def test_timber_is_pin_tested_not_drilled(base):
    """Even when a thickness is given."""
    found = hole_depth(Slab(base, 22.0))
    assert math.isnan(found.depth_mm)
    assert "pin-meter" in found.note


def test_calcium_sulfate_is_told_to_expect_a_carbide_test():
    """The usual method differs."""
    assert "carbide" in hole_depth(Slab("calcium sulfate screed", 50.0)).note
