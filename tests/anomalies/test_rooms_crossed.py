"""The rooms a line runs through are named, not only the one most of it lies in."""

from __future__ import annotations

from shapely.geometry import LineString, Point, box

from moisturemap.anomalies.rooms_crossed import rooms_crossed
from moisturemap.floorplan import FloorPlan, Room

PLAN = FloorPlan(tuple(Room(f"R{n}", box(4 * n, 0, 4 * n + 4, 5)) for n in range(4)))


def test_a_line_through_three_rooms_names_them_in_its_order():
    """Eastward or westward; the room it only touches is left out."""
    there = LineString([(1, 2), (6, 2.5), (12.1, 2)])
    assert rooms_crossed(there, PLAN, "R1") == "R0, R1, R2"
    assert rooms_crossed(there.reverse(), PLAN, "R1") == "R2, R1, R0"


def test_what_is_no_line_keeps_its_room():
    """A spot lies in one room; a line off the plan keeps what its readings say."""
    assert rooms_crossed(Point(1, 1), PLAN, "R0") == "R0"
    assert rooms_crossed(LineString([(1, 9), (6, 9)]), PLAN, "R2") == "R2"
