"""What is said of what is found."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.describe import describe
from moisturemap.floorplan import FloorPlan, Room

PLAN = FloorPlan((Room("hall", box(0, 0, 8, 6)),))


def contested(kind: str, swept: bool) -> Anomaly:
    shape = LineString([(2, 3), (6, 3)]) if kind == "line" else Point(3, 3)
    one, size = np.zeros(1, dtype=int), np.array([12.0])
    stays = np.ones(1, dtype=bool)
    return Anomaly(
        kind, "contested", 1.0, shape, 12.0, 5.0, 4.0, 0.13, one, size, stays, swept=swept
    )


@pytest.mark.parametrize("kind", ["line", "spot", "stray"])
def test_what_sweeps_left_open_is_not_sent_to_be_swept_again(kind):
    """It says that they could not tell, and what to do instead."""
    before = describe(contested(kind, swept=False), PLAN, "hall", "").sentence
    after = describe(contested(kind, swept=True), PLAN, "hall", "").sentence
    assert "sweep the scanner across it" in before
    assert "sweep the scanner" not in after
    assert "the sweeps across it cannot tell which either" in after
    assert "have a specialist locate" in after
    assert "keep holes clear" in after
