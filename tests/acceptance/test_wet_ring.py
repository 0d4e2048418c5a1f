"""Floor that nobody read in the midst of high readings asks for a test there."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import shapely
from shapely.geometry import Point, box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import USED_FLAGS, Instrument
from moisturemap.zones.wet_ring import wet_rings

X, Y = (one.ravel() for one in np.meshgrid(np.arange(0.5, 12), np.arange(0.5, 8)))


def found(height: float, west: float, east: float, south: float, north: float) -> tuple:
    """A hall of 12 x 8 m with a leak about (9, 2) m, read every metre but in a rectangle."""
    value = 32.0 + np.random.default_rng(3).normal(0.0, 1.0, X.size).round()
    value += height * np.exp(-0.5 * (np.hypot(X - 9.0, Y - 2.0) / 1.5) ** 2)
    under = (west < X) & (east > X) & (south < Y) & (north > Y)
    rows = pd.DataFrame({"x": X, "y": Y, "value": value.round(), "flag": USED_FLAGS[0]})[~under]
    plan = FloorPlan((Room("hall", box(0, 0, 12, 8)),))
    study = SimpleNamespace(
        readings=rows,
        survey=SimpleNamespace(plan=plan, scan=SimpleNamespace(dry_reference=())),
        visit=SimpleNamespace(dry_reference=()),
        clean=SimpleNamespace(instrument=Instrument("scan", "relative"), repeat_sd=1.0),
        wet=SimpleNamespace(level=SimpleNamespace(value=60.0)),
    )
    return wet_rings(study, rows)


def test_pallets_on_the_middle_of_a_leak_ask_for_a_test_there() -> None:
    (high,) = found(28.0, 8.0, 10.0, 1.0, 3.0)
    assert "it may be the wettest" in high.why
    assert high.part.contains(Point(9.0, 2.0))
    assert not high.part.contains(Point(9.0, 3.5))
    assert shapely.area(high.part) < 4.0


@pytest.mark.parametrize(
    ("height", "hole"),
    [(0.0, (8, 10, 1, 3)), (28.0, (2, 4, 4, 6)), (28.0, (8, 9, 1, 2)), (28.0, (8, 9, 1, 3))],
)
def test_dry_holes_and_a_reading_or_two_left_out_ask_for_none(height, hole) -> None:
    assert found(height, *hole) == ()
