"""What a drawing notes of the floor below counts as a note of the scan does."""

from __future__ import annotations

from shapely.geometry import Point, box

from moisturemap.drilling.clearance import KNOWN_SERVICE_M
from moisturemap.drilling.noted import noted_obstacles, noted_on, noted_warnings
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import FloorPlan, PlanLine, Room


def test_a_text_of_the_drawing_is_kept_clear_of_as_a_service_and_told() -> None:
    """An area to keep clear is no text, and stays as it is."""
    lines = (
        PlanLine("keep-clear", Point(2, 5), "PT tendon here"),
        PlanLine("keep-clear", box(0, 0, 1, 1), "stairs"),
    )
    noted = noted_on(FloorPlan((Room("hall", box(0, 0, 8, 6)),), lines))
    assert noted == [(2.0, 5.0, "PT tendon here")]
    (kept,) = noted_obstacles(noted, DrillOptions())
    assert kept.embedded
    assert kept.clearance >= KNOWN_SERVICE_M
    (told,) = noted_warnings(noted)
    assert "'PT tendon here' at x 2.00 m, y 5.00 m" in told
