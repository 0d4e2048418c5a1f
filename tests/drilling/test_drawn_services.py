"""Services known by points alone, and those drawn elsewhere than the rooms."""

from __future__ import annotations

import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.drilling import DrillOptions
from moisturemap.drilling.clearance import objections, plan_obstacles
from moisturemap.drilling.drawn_services import between_ends, service_warnings
from moisturemap.floorplan import FloorPlan, PlanLine, Room


def plan(*services: tuple[object, str]) -> FloorPlan:
    lines = tuple(PlanLine("known-service", geometry, name) for geometry, name in services)
    return FloorPlan((Room("hall", box(0, 0, 10, 8)),), lines)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("water pipe end A", "water pipe end B"),
        ("pipe enters", "pipe leaves"),
        ("gas", "gas"),
        ("Gasleitung Anfang", "Gasleitung Ende"),
    ],
)
def test_a_pipe_known_by_its_two_ends_is_kept_clear_of_between_them(one: str, other: str) -> None:
    """A hole half-way between them stood 0.1 m from the pipe; nothing was said."""
    drawn = plan((Point(0.1, 4), one), (Point(9.9, 4), other))
    ((_, way),) = between_ends(drawn)
    assert way.length == pytest.approx(9.8)
    assert objections(plan_obstacles(drawn, DrillOptions()), 5.0, 4.1)
    (said,) = service_warnings(drawn)
    assert "points alone" in said
    assert one in said


def test_points_of_other_names_or_beside_their_course_make_no_way() -> None:
    two = plan((Point(1, 1), "manhole"), (Point(9, 7), "stopcock"))
    assert between_ends(two) == []
    assert "manhole, stopcock" in service_warnings(two)[0]
    course = LineString([(0, 4), (10, 4)])
    drawn = plan((course, "water"), (Point(1, 4.1), "water 1"), (Point(9, 4), "water 2"))
    assert between_ends(drawn) == []
    assert service_warnings(drawn) == []


@pytest.mark.parametrize(
    "course",
    [LineString([(0, 3100), (8000, 3100)]), LineString([(3.1, 0), (3.1, -8)])],
)
def test_services_that_all_lie_outside_the_rooms_are_told(course: LineString) -> None:
    """Of another unit, turned by 90 degrees about the origin."""
    (said,) = service_warnings(plan((course, "water")))
    assert "outside its rooms: water" in said
    assert service_warnings(plan((course, "water"), (LineString([(0, 4), (9, 4)]), "gas"))) == []


def test_a_plan_without_services_says_nothing() -> None:
    assert service_warnings(plan()) == []
