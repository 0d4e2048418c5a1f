"""The half-life of the depth of a slab beside the fall of the reading."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import box

from moisturemap.drying.slab_clock import depth_half_life, depth_sentences
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.slab import SlabSpec


@pytest.mark.parametrize(("length", "days"), [(50, 17.9), (75, 40.2), (100, 71.5), (150, 161.0)])
def test_the_first_eigenmode_sets_the_pace(length: float, days: float) -> None:
    """Half-life ln 2 over pi^2 D / 4 L^2, D = 39.27 mm2/day to a factor of two (Crank 1975)."""
    low, high = depth_half_life(SlabSpec(length, 1, diffusivity_mm2_day=39.27))
    assert math.sqrt(low * high) == pytest.approx(days, abs=0.06)
    assert high / low == pytest.approx(4.0)


def test_the_depth_of_a_thick_slab_lags() -> None:
    """And the slab of unknown thickness is left alone."""
    thick = FloorPlan((Room("hall", box(0, 0, 5, 5), Slab(thickness_mm=200.0)),))
    assert "whatever the surface shows" in depth_sentences(thick, ("hall",))[0]
    assert depth_sentences(FloorPlan((Room("hall", box(0, 0, 5, 5)),)), ("hall",)) == ()


def test_a_heated_slab_has_no_clock() -> None:
    """Heat moves moisture in ways the model leaves out."""
    plan = FloorPlan((Room("hall", box(0, 0, 5, 5), Slab(thickness_mm=65.0, heated=True)),))
    assert depth_sentences(plan, ("hall",)) == ()
