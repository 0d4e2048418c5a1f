"""Domains: which rooms share one field."""

from datetime import date

import pytest
from shapely.geometry import LineString, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab, domains


def rooms_of(plan: FloorPlan) -> list[tuple[str, ...]]:
    return [domain.rooms for domain in domains(plan)]


def test_rooms_on_one_slab_with_a_thin_wall_between_are_one_domain():
    """The wall strip belongs to the domain."""
    plan = FloorPlan((Room("a", box(0, 0, 4, 4)), Room("b", box(4.2, 0, 8, 4))))
    (only,) = domains(plan)
    assert only.key == "D1"
    assert only.rooms == ("a", "b")
    assert only.geometry.area == pytest.approx(8 * 4, abs=1e-3)


def test_thick_wall_parts_the_slab():
    """More than 0.35 m apart: two domains."""
    assert rooms_of(FloorPlan((Room("a", box(0, 0, 4, 4)), Room("b", box(4.4, 0, 8, 4))))) == [
        ("a",),
        ("b",),
    ]


@pytest.mark.parametrize(
    "other",
    [
        Slab(base="timber deck"),
        Slab(thickness_mm=80),
        Slab(drying_faces=2),
        Slab(pour="second"),
        Slab(placed=date(2024, 3, 1)),
    ],
)
def test_different_slabs_never_share_a_field(other):
    """Base, thickness, drying faces, pour and day of placing."""
    plan = FloorPlan((Room("a", box(0, 0, 4, 4)), Room("b", box(4, 0, 8, 4), other)))
    assert rooms_of(plan) == [("a",), ("b",)]


def test_third_room_of_another_slab_is_not_covered_by_the_wall_between():
    """A narrow strip of another slab between two rooms stays its own domain."""
    deck = Room("strip", box(4.05, 0, 4.25, 4), Slab(base="timber deck"))
    plan = FloorPlan((Room("a", box(0, 0, 4, 4)), deck, Room("b", box(4.3, 0, 8, 4))))
    found = domains(plan)
    assert sum(d.geometry.intersection(deck.polygon).area for d in found) == pytest.approx(
        deck.polygon.area, abs=1e-4
    )


@pytest.mark.parametrize("kind", ["day-joint", "movement-joint"])
def test_joint_from_wall_to_wall_parts_a_room(kind):
    """Even when it stops 0.2 m short of the walls."""
    joint = PlanLine(kind, LineString([(3, 0.2), (3, 3.8)]))
    found = domains(FloorPlan((Room("a", box(0, 0, 8, 4)),), (joint,)))
    assert [d.geometry.area for d in found] == pytest.approx([12, 20])
    assert [d.rooms for d in found] == [("a",), ("a",)]


def test_joint_in_the_wall_parts_rooms():
    """The joint runs inside the wall strip."""
    joint = PlanLine("day-joint", LineString([(4.1, -1), (4.1, 5)]))
    plan = FloorPlan((Room("a", box(0, 0, 4, 4)), Room("b", box(4.2, 0, 8, 4))), (joint,))
    assert rooms_of(plan) == [("a",), ("b",)]


def test_joint_that_ends_inside_the_floor_parts_nothing():
    """Moisture goes round it."""
    joint = PlanLine("day-joint", LineString([(3, 0), (3, 2)]))
    assert rooms_of(FloorPlan((Room("a", box(0, 0, 8, 4)),), (joint,))) == [("a",)]


def test_joint_along_a_wall_leaves_no_sliver():
    """A perimeter joint 30 mm off the wall is no domain of its own."""
    joint = PlanLine("movement-joint", LineString([(0.03, 0), (0.03, 4)]))
    found = domains(FloorPlan((Room("a", box(0, 0, 8, 4)),), (joint,)))
    assert len(found) == 1
    assert found[0].geometry.area == pytest.approx(32)


def test_crossing_joints_give_fields():
    """Two joints crossing in a hall give four."""
    lines = (
        PlanLine("day-joint", LineString([(4, 0), (4, 6)])),
        PlanLine("movement-joint", LineString([(0, 3), (8, 3)])),
    )
    assert len(domains(FloorPlan((Room("hall", box(0, 0, 8, 6)),), lines))) == 4


def test_parts_of_one_room_have_names_of_their_own() -> None:
    """A joint through a room gives two parts that the reader can tell apart."""
    joint = PlanLine("day-joint", LineString([(0, 2), (6, 2)]))
    plan = FloorPlan((Room("hall", box(0, 0, 6, 4)), Room("shed", box(9, 0, 11, 2))), (joint,))
    assert [one.label for one in domains(plan)] == ["hall (part 1)", "hall (part 2)", "shed"]
