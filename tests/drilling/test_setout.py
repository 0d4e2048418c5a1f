"""Set-out by tape."""

from __future__ import annotations

import math

import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from moisturemap.drilling import set_out
from moisturemap.floorplan import Room


def test_a_rectangular_room_gives_square_offsets_from_two_walls():
    """The nearest two walls at right angles."""
    found = set_out(Room("hall", box(0, 0, 8, 6)), 2.005, 5.2)
    assert {found.from_a, found.from_b} == {"west wall", "north wall"}
    assert {found.distance_a, found.distance_b} == {2.005, 0.8}
    assert "square to each wall" in found.sentence


def test_an_offset_wall_does_not_reach_past_its_end():
    """In an L-shaped room a wall is used only where a tape meets it squarely."""
    room = Room("hall", Polygon([(0, 0), (8, 0), (8, 3), (4, 3), (4, 6), (0, 6)]))
    found = set_out(room, 2.0, 5.0)
    assert {found.from_a, found.from_b} <= {"west wall", "north wall", "east wall 2"}


def test_a_triangular_room_is_set_out_within_20_mm():
    """No two walls are square; walls at an angle or corners serve."""
    room = Room("wedge", Polygon([(0, 0), (6, 0), (3, 5)]))
    found = set_out(room, 3.0, 1.5)
    assert found.error <= 0.02
    assert found.from_a
    assert found.from_b


def test_a_turned_room_is_set_out_as_a_straight_one():
    """The frame of the plan does not matter."""
    straight = set_out(Room("hall", box(0, 0, 8, 6)), 2.0, 5.2)
    turned = affinity.rotate(box(0, 0, 8, 6), 30, origin=(0, 0))
    place = affinity.rotate(Point(2.0, 5.2), 30, origin=(0, 0))
    found = set_out(Room("hall", turned), place.x, place.y)
    assert sorted([found.distance_a, found.distance_b]) == sorted(
        [straight.distance_a, straight.distance_b]
    )


def test_a_round_room_without_walls_falls_back_to_coordinates():
    """Nothing to measure from is said, not invented."""
    found = set_out(Room("silo", Point(0, 0).buffer(5, quad_segs=32)), 1.0, 1.0)
    if not found.from_a:
        assert math.isnan(found.distance_a)
        assert "plan's coordinates" in found.sentence
    else:
        assert found.error <= 0.02


@pytest.mark.parametrize("x", [0.1, 7.9])
def test_places_near_a_wall_are_set_out_too(x):
    """A tenth of a metre from the wall."""
    assert set_out(Room("hall", box(0, 0, 8, 6)), x, 3.0).error <= 0.02
