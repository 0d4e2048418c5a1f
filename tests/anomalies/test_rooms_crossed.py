"""The rooms a line runs through are named, not only the one most of it lies in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from shapely.geometry import LineString, Point, box

from moisturemap import read_survey, study
from moisturemap.acceptance.unmapped import places_without_map
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


def test_a_line_through_two_rooms_is_of_one_of_them_where_rooms_are_held_against_rules():
    """Of the name of both it was of no room, and the verdict asked nothing about it."""
    survey = read_survey(Path(__file__).parents[2] / "demo_plans" / "bakery")
    (room,) = survey.plan.rooms
    parts = {"west": box(0, 0, 6, 9), "east": box(6, 0, 12, 9)}
    rooms = tuple(
        replace(room, name=name, polygon=room.polygon.intersection(part))
        for name, part in parts.items()
    )
    survey = replace(survey, plan=replace(survey.plan, rooms=rooms))
    made = study(survey, with_holes=False)
    line = made.anomalies[made.anomalies["anomaly"] == "L1"].iloc[0]
    assert rooms_crossed(line.geometry, survey.plan, line.room).split(", ") == ["east", "west"]
    assert set(made.anomalies["room"]) <= {"", *parts}
    assert all(one.room in ("", *parts) for one in places_without_map(survey, made))
