"""Names of walls and corners."""

import math

import pytest
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon, box

from moisturemap.floorplan import (
    FloorPlan,
    PlanLine,
    Room,
    corners,
    exterior_walls,
    nearest_wall,
    walls,
)

L_ROOM = Room("l", Polygon([(0, 0), (2, 0), (2, 0.5), (2, 1), (1, 1), (1, 2), (0, 2)]))


def test_walls_of_an_l_room_are_named_by_side_outermost_first():
    """North is up; a corner on a straight wall makes no second wall."""
    found = {wall.name: list(wall.line.coords) for wall in walls(L_ROOM)}
    assert found == {
        "south wall": [(0, 0), (2, 0)],
        "east wall": [(2, 0), (2, 1)],
        "north wall 2": [(2, 1), (1, 1)],
        "east wall 2": [(1, 1), (1, 2)],
        "north wall": [(1, 2), (0, 2)],
        "west wall": [(0, 2), (0, 0)],
    }


def test_corners_of_an_l_room_say_which_one_projects():
    """Names are unique; the corner of the notch projects into the room."""
    found = {c.name: ((c.point.x, c.point.y), c.convex) for c in corners(L_ROOM)}
    assert found["projecting north-east corner"] == ((1, 1), False)
    assert found["south-west corner"] == ((0, 0), True)
    assert {found["north-east corner"][0], found["north-east corner 2"][0]} == {(2, 1), (1, 2)}
    assert len(found) == 6


def test_columns_have_numbered_faces_and_round_ones_none():
    """Faces are named from the column's middle, columns from west to east."""
    hall = box(0, 0, 10, 8) - box(2, 2, 2.4, 2.4) - box(5, 5, 5.4, 5.4) - Point(8, 4).buffer(0.3)
    names = [wall.name for wall in walls(Room("hall", hall))]
    assert "column 1 west face" in names
    assert "column 2 north face" in names
    assert not any(name.startswith("column 3") for name in names)
    assert len(names) == len(set(names)) == 12
    west = next(wall for wall in walls(Room("hall", hall)) if wall.name == "column 1 west face")
    assert {x for x, _ in west.line.coords} == {2.0}
    marks = {c.name: c for c in corners(Room("hall", hall))}
    assert marks["column 1 north-east corner"].point.equals(Point(2.4, 2.4))
    assert not marks["column 1 north-east corner"].convex


def test_large_hole_is_an_opening_and_a_single_column_has_no_number():
    """A stair opening is no column."""
    room = Room("r", box(0, 0, 10, 8) - box(6, 1, 9, 2) - box(2, 2, 2.3, 2.3))
    names = {wall.name for wall in walls(room)}
    assert {"opening west face", "column west face"} <= names


def test_walls_of_a_turned_room_are_named_by_the_nearest_side():
    """A room turned by 45 degrees has a north-east wall."""
    names = {wall.name for wall in walls(Room("r", rotate(box(0, 0, 6, 4), 45)))}
    assert names == {"north-east wall", "north-west wall", "south-west wall", "south-east wall"}


def test_tape_square_to_a_wall_reads_the_distance_only_beside_it():
    """Beyond the ends of the wall there is nothing to hold the tape to."""
    south = next(wall for wall in walls(L_ROOM) if wall.name == "south wall")
    assert south.square_to(0.7, 1.5) == pytest.approx(1.5)
    assert south.square_to(2.5, 0.5) is None
    assert south.length == 2


def test_nearest_wall_gives_name_and_distance():
    """By name of the room or the room itself."""
    plan = FloorPlan((L_ROOM,))
    for room in ("l", L_ROOM):
        wall, gap = nearest_wall(plan, room, 0.9, 1.7)
        assert wall.name == "east wall 2"
        assert gap == pytest.approx(0.1)
    with pytest.raises(KeyError):
        nearest_wall(plan, "attic", 0, 0)


def test_round_room_still_has_walls_to_measure_from():
    """Facets are better than nothing."""
    plan = FloorPlan((Room("round", Point(0, 0).buffer(3)),))
    assert nearest_wall(plan, "round", 2, 0)[1] == pytest.approx(1, abs=0.02)


def test_bay_with_a_drawn_curve_keeps_its_straight_walls_only():
    """An apse of many pieces gives no wall of its own."""
    arc = [
        (4 + 1.5 * math.sin(a), 1.5 - 1.5 * math.cos(a))
        for a in [math.pi * k / 24 for k in range(25)]
    ]
    room = Room("apse", Polygon([(0, 0), *arc, (0, 3)]))
    assert {wall.name for wall in walls(room)} == {"south wall", "north wall", "west wall"}


def test_drawn_exterior_walls_are_taken_and_otherwise_the_outer_edge():
    """The assumption is said."""
    rooms = (Room("a", box(0, 0, 4, 4)), Room("b", box(4.2, 0, 8, 4)))
    edge, note = exterior_walls(FloorPlan(rooms))
    assert "outer edge" in note
    assert edge.length == pytest.approx(24, abs=0.01)
    drawn = PlanLine("exterior-wall", LineString([(0, 0), (8, 0)]))
    assert exterior_walls(FloorPlan(rooms, (drawn,)))[1] == ""
    assert exterior_walls(FloorPlan(rooms, (drawn,)))[0].length == 8
