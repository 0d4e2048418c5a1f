"""A scan typed from a wrong origin is told by what falls off the plan along one side."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from shapely import intersects_xy
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Instrument
from moisturemap.zones.off_origin import off_origin


def scan(east: float = 0.0, north: float = 0.0, columns: int = 12) -> SimpleNamespace:
    """A hall of 12 by 8 m read every metre, every place typed so far off."""
    x, y = (one.ravel() for one in np.meshgrid(np.arange(0.5, columns), np.arange(0.5, 8)))
    table = pd.DataFrame({"x": x + east, "y": y + north, "instrument": "meter"})
    on = intersects_xy(box(0, 0, 12, 8), table["x"], table["y"])
    return SimpleNamespace(
        readings=table.assign(flag=np.where(on, "clear", "off-plan")),
        clean=SimpleNamespace(instrument=Instrument("meter")),
        survey=SimpleNamespace(plan=FloorPlan((Room("hall", box(0, 0, 12, 8)),))),
    )


@pytest.mark.parametrize(
    ("east", "north", "side"),
    [(-1.0, 0.0, "east"), (1.0, 0.0, "west"), (0.0, -1.0, "north"), (0.0, 1.5, "south")],
)
def test_a_scan_moved_off_is_to_be_put_right(east, north, side) -> None:
    """No test in its zones stands where they are."""
    (found,) = off_origin(scan(east, north))
    assert f"moved {side} by" in found.why
    assert found.instead


@pytest.mark.parametrize("known", [scan(), scan(0.4), scan(columns=15)])
def test_a_scan_that_fits_or_goes_on_beyond_the_plan_is_no_such_scan(known) -> None:
    """A corridor that was read and not drawn lies off the plan wherever the scan is moved."""
    assert off_origin(known) == ()
