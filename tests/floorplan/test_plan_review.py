"""Remarks on a plan."""

from shapely.geometry import LineString, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room, check_plan, kind_of

SERVICES = PlanLine("known-service", LineString([(0, 1), (4, 1)]))
WALL = PlanLine("exterior-wall", LineString([(0, 0), (4, 0)]))


def remarks(*rooms, lines=(SERVICES, WALL)):
    return " ".join(check_plan(FloorPlan(rooms, tuple(lines))))


def test_ordinary_plan_gives_no_remark():
    """Nothing to say."""
    assert remarks(Room("a", box(0, 0, 4, 4))) == ""


def test_plan_without_services_is_no_proof_that_there_are_none():
    """Caution before drilling."""
    assert "locate them before any drilling" in remarks(Room("a", box(0, 0, 4, 4)), lines=[WALL])


def test_odd_rooms_are_pointed_out():
    """Tiny, narrow, far away, huge."""
    assert "only 0.25 m2" in remarks(Room("a", box(0, 0, 0.5, 0.5)))
    assert "nowhere wider" in remarks(Room("a", box(0, 0, 4, 0.4)))
    assert "far from its origin" in remarks(Room("a", box(5e5, 5e6, 5e5 + 4, 5e6 + 4)))
    assert "longer than 500 m" in remarks(Room("a", box(0, 0, 600, 4)))


def test_walls_just_too_thick_to_share_a_slab_are_pointed_out():
    """0.5 m between rooms on one slab."""
    assert "0.50 m apart" in remarks(Room("a", box(0, 0, 4, 4)), Room("b", box(4.5, 0, 8, 4)))


def test_joint_that_parts_nothing_is_pointed_out():
    """It ends inside the room."""
    short = PlanLine("day-joint", LineString([(2, 0), (2, 2)]))
    assert "No joint" in remarks(Room("a", box(0, 0, 4, 4)), lines=[SERVICES, WALL, short])


def test_words_of_drawings_are_understood_as_kinds():
    """By the words a name ends with."""
    words = {
        "Day Joint": "day-joint",
        "A-WALL": "interior-wall",
        "02_columns": "void",
        "EXPANSION_JOINT": "movement-joint",
        "external wall": "exterior-wall",
        "Rooms": "room",
        "hot water pipe": "known-service",
        "furniture": None,
        "": None,
    }
    assert {word: kind_of(word) for word in words} == words
