"""The way on foot: through doors, round corners, room after room, as long as it is said to be."""

from __future__ import annotations

from itertools import groupby, pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.scanning import LayoutOptions, ScanLayout, lay_out
from moisturemap.scanning.passages import Passages
from moisturemap.scanning.route import CORNERS

DEMOS = Path(__file__).parents[2] / "demo_plans"

HALL = Polygon([(0, 0), (6, 0), (6, 2), (2, 2), (2, 7), (0, 7)])
BED_DOOR = PlanLine("door", LineString([(3.0, 2.05), (3.9, 2.05)]))
BATH_DOOR = PlanLine("door", LineString([(2.05, 5.0), (2.05, 5.8)]))
FLAT = FloorPlan(
    (Room("hall", HALL), Room("bed", box(2.1, 2.1, 6, 4.5)), Room("bath", box(2.1, 4.6, 6, 7))),
    (BED_DOOR, BATH_DOOR),
)


def _crossed(plan: FloorPlan, layout: ScanLayout) -> float:
    """Length of the way outside rooms and doorways [m]."""
    doors = [one.geometry.buffer(0.5) for one in plan.lines if one.kind == "door"]
    free = shapely.union_all([*(room.polygon.buffer(1e-6) for room in plan.rooms), *doors])
    return float(layout.way.difference(free).length)


def _rooms(layout: ScanLayout) -> list[str]:
    """Rooms in the order they are walked, the places read again at the end left out."""
    places = layout.places
    return [room for room, _ in groupby(places.loc[places["purpose"] != "repeat", "room"])]


def test_a_flat_of_three_rooms_is_walked_through_its_doors() -> None:
    """From bed to bath the way leads through the hall: no straight line through their wall."""
    layout = lay_out(FLAT, LayoutOptions(spacing=0.5))
    assert _rooms(layout) == ["hall", "bed", "bath"]
    assert layout.apart == ()
    assert _crossed(FLAT, layout) == 0.0
    way = Passages(FLAT).way("bed", (4.0, 4.3), "bath", (4.0, 4.8))
    assert way is not None
    # Straight it is 0.5 m; round by hand: door of the bed, corner of the hall at (2, 2), door of
    # the bath, a step of 0.1 m across each wall.
    sills = [(4.0, 4.3), (3.45, 2.1), (3.45, 2.0), (2.0, 2.0), (2.0, 5.4), (2.1, 5.4), (4.0, 4.8)]
    assert way.length == pytest.approx(LineString(sills).length)
    assert Passages(FLAT).length("bed", (4.0, 4.3), "bath", (4.0, 4.8)) == pytest.approx(way.length)


def test_the_walk_over_the_bakery_is_as_long_as_it_is_said_to_be() -> None:
    """And hardly longer than a step from each place to the next."""
    from moisturemap import read_survey

    plan = read_survey(DEMOS / "bakery").plan
    layout = lay_out(plan, LayoutOptions(spacing=1.0))
    straight = float(np.hypot(*np.diff(layout.places[["x", "y"]].to_numpy(), axis=0).T).sum())
    assert len(layout.way.geoms) == len(layout.places) - 1
    assert layout.walk_m == pytest.approx(sum(leg.length for leg in layout.way.geoms))
    assert straight - 1e-9 <= layout.walk_m <= 1.05 * straight
    assert _crossed(plan, layout) == 0.0


def test_a_room_of_two_arms_is_walked_arm_by_arm() -> None:
    """Not to and fro round the gap with every row."""
    room = Polygon([(0, 0), (9, 0), (9, 8), (6, 8), (6, 2), (3, 2), (3, 8), (0, 8)])
    plan = FloorPlan((Room("hall", room),))
    layout = lay_out(plan, LayoutOptions(spacing=1, edge=False, repeats=0))
    assert layout.walk_m <= 1.35 * len(layout.places)
    assert _crossed(plan, layout) == 0.0


def test_without_a_door_nothing_is_drawn_and_it_is_said() -> None:
    """The plan does not tell how one gets there."""
    plan = FloorPlan(FLAT.rooms, (BED_DOOR,))
    layout = lay_out(plan, LayoutOptions(spacing=1, repeats=0))
    assert layout.apart == (("bed", "bath"),)
    assert "no door on the way from bed to bath:" in layout.way_words[0]
    assert _crossed(plan, layout) == 0.0
    assert len(layout.way.geoms) == len(layout.places) - 2


def test_places_read_before_are_left_out_of_the_way() -> None:
    """What is drawn and counted is what is still to be walked."""
    whole = lay_out(FLAT, LayoutOptions(spacing=1, repeats=0))
    read = whole.places.loc[whole.places["room"] == "hall", ["x", "y"]].to_numpy()
    layout = lay_out(FLAT, LayoutOptions(spacing=1, repeats=0), [(x, y) for x, y in read])
    assert set(layout.places["room"]) == {"bed", "bath"}
    assert layout.walk_m < 0.7 * whole.walk_m


@st.composite
def _floors(draw: st.DrawFn) -> FloorPlan:
    """Rows of rooms parted by walls, an L among them, doors between some neighbours."""
    widths = draw(st.lists(st.floats(1.2, 4.0), min_size=2, max_size=4))
    wall = draw(st.sampled_from([0.0, 0.1, 0.3]))
    rooms, lines, west = [], [], 0.0
    for k, width in enumerate(widths):
        high = draw(st.floats(1.5, 5.0))
        shape = box(west, 0, west + width, high)
        if draw(st.booleans()):
            shape = shape.difference(box(west + width / 2, high / 2, west + width, high))
        rooms.append(Room(f"room {k + 1}", shape))
        if k and draw(st.booleans()):
            at = west - wall / 2
            lines.append(PlanLine("door", LineString([(at, 0.1), (at, 0.7)])))
        west += width + wall
    return FloorPlan(tuple(rooms), tuple(lines))


@pytest.mark.thorough
@given(_floors(), st.sampled_from(CORNERS), st.sampled_from([0.5, 0.8]))
@settings(max_examples=40, deadline=None)
def test_no_leg_crosses_a_wall(plan: FloorPlan, corner: str, spacing: float) -> None:
    """Room after room; every place once; what is said is what is drawn."""
    layout = lay_out(plan, LayoutOptions(spacing=spacing, start=corner, repeats=6))
    assert _crossed(plan, layout) == 0.0
    assert layout.walk_m == pytest.approx(layout.way.length)
    rooms = _rooms(layout)
    assert len(rooms) == len(set(rooms)) == len(plan.rooms)
    places = layout.places[layout.places["purpose"] != "repeat"]
    assert not places.duplicated(["room", "label"]).any()
    doors = [one.geometry for one in plan.lines]
    for leg in layout.way.geoms:
        for room, other in pairwise(plan.rooms):
            if leg.crosses(room.polygon) and leg.crosses(other.polygon):
                assert min(leg.distance(door) for door in doors) < 0.4


def test_a_room_too_narrow_for_a_row_is_walked_along_its_walls():
    """A passage round a corner, 0.75 m wide: no place of the grid lies in it."""
    ring = ((3.5, 0), (2, 0), (2, 1.5), (2.75, 1.5), (2.75, 0.75), (3.5, 0.75))
    rooms = (Room("hall", box(0, 0, 2, 3)), Room("passage", Polygon(ring)))
    layout = lay_out(FloorPlan(rooms), LayoutOptions(spacing=0.8, repeats=6))
    own = layout.places[layout.places["room"] == "passage"]
    assert len(own) >= 4
    assert not own[["x", "y"]].duplicated().any()


def test_a_door_in_a_wall_without_thickness_joins_its_rooms():
    """Rooms drawn edge to edge meet in a door of no length, which a graph took for no way."""
    rooms = (Room("nave", box(0, 0, 4, 3)), Room("vestry", box(0, 3, 4, 5)))
    plan = FloorPlan(rooms, (PlanLine("door", LineString([(1.0, 3.0), (1.9, 3.0)])),))
    way = Passages(plan).way("nave", (1.45, 1.0), "vestry", (1.45, 4.0))
    assert way is not None
    assert way.length == pytest.approx(3.0, abs=1e-3)
