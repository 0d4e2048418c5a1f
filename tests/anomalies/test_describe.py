"""What is said of what is found."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box

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


def test_a_line_is_told_by_the_wall_it_runs_beside():
    """Not by one its end comes near, nor by how far off its middle in another room is."""
    room = Room("shop", Polygon([(0, 0), (12, 0), (12, 5), (7, 5), (7, 9), (0, 9)]))
    line = LineString([(0.2, 6.8), (6.6, 6.8)])
    found = Anomaly(
        "line",
        "thing",
        1e5,
        line,
        14.0,
        15.0,
        6.4,
        0.2,
        np.zeros(1, dtype=int),
        np.ones(1),
        np.zeros(1, dtype=bool),
    )
    said = describe(found, FloorPlan((room,)), "shop", "").sentence
    assert "parallel to the north wall, 2.2 m from it" in said
    found = dataclasses.replace(found, geometry=LineString([(4, 2), (40, 2)]))
    said = describe(found, FloorPlan((Room("cell", box(4, 0, 8, 3.5)),)), "cell", "").sentence
    assert "parallel to the north wall, 1.5 m from it" in said
