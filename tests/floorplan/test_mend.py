"""Drawing faults: mended with a note, or refused by room, ring and place."""

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box

from moisturemap.errors import OptionError, PlanError
from moisturemap.floorplan import Outline, PlanLine, Room, make_plan, mend

SQUARE = [(0, 0), (4, 0), (4, 3), (0, 3), (0, 0)]


def moved(ring, right=0.0, up=0.0):
    return [(x + right, y + up) for x, y in ring]


def plan_of(*rings, **options):
    return make_plan([Outline(f"r{i}", (ring,)) for i, ring in enumerate(rings, 1)], **options)


def test_sound_plan_passes_without_a_note():
    """Nothing to say, nothing changed."""
    plan = plan_of(SQUARE, moved(SQUARE, 4))
    assert plan.notes == ()
    assert [room.polygon.area for room in plan.rooms] == [12, 12]


@pytest.mark.parametrize(
    ("ring", "said", "area"),
    [
        (SQUARE[:-1], "left open and closed with a straight wall of 3.00 m", 12),
        ([*SQUARE[:-1], (0.01, 0.01)], "gap of 14 mm was closed", 12),
        (SQUARE[::-1], "clockwise", 12),
        ([*SQUARE[:2], SQUARE[1], *SQUARE[2:]], "1 repeated corner", 12),
        ([(0, 0), (4, 0), (4, 3), (4, 5), (4, 3), (0, 3), (0, 0)], "spike", 12),
        (
            [
                (0, 0),
                (4, 0),
                (4, 3),
                (2, 3),
                (1.99, 2.99),
                (2.012, 2.99),
                (1.995, 3.01),
                (0, 3),
                (0, 0),
            ],
            "crossing no wider than 20 mm was undone",
            12,
        ),
        (
            [(0, 0), (4, 0), (4, 3), (0, 3), (0, 0), (1, 1), (1, 2), (2, 1), (1, 1), (0, 0)],
            "touches itself",
            11.5,
        ),
    ],
)
def test_small_fault_is_mended_and_said_with_room_and_ring(ring, said, area):
    """The area stays what was drawn."""
    plan = plan_of(ring)
    assert plan.rooms[0].polygon.is_valid
    assert plan.rooms[0].polygon.exterior.is_ccw
    assert plan.rooms[0].polygon.area == pytest.approx(area, abs=0.02)
    assert any(said in note and "r1" in note for note in plan.notes)


@pytest.mark.parametrize(
    ("ring", "message"),
    [
        ([(0, 0), (4, 3), (4, 0), (0, 3)], r"crosses itself at x = 2.000 m, y = 1.500 m"),
        ([(0, 0), (4, 0), (4, 3), (2, 0), (0, 3)], "falls into parts at x = 2.000 m"),
        ([(0, 0), (4, 0), (8, 0)], "encloses no floor"),
        ([(0, 0), (4, 0), (4, 0.01), (0, 0.01)], "encloses no floor"),
        ([(0, 0), (4, 0), (float("nan"), 3)], r"corner 3: .* \(found \(nan, 3.0\)\)"),
        ([(0, 0), (4, 0), (float("inf"), 3)], "finite"),
        ([(0, 0), (4, 0), (4,)], "pairs of numbers"),
        ([(0, 0), (4, 0), ("x", 3)], "pairs of numbers"),
        ([0, 1, 2, 3], "list of x, y"),
        ([], "list of x, y"),
    ],
)
def test_fault_that_would_need_guessing_is_refused_by_room_and_ring(ring, message):
    """The message names file, room, ring and place."""
    with pytest.raises(PlanError, match=message) as refused:
        plan_of(ring, source="plan.wkt")
    assert "plan.wkt, room 'r1', outer ring" in str(refused.value)


def test_narrow_overlap_of_rooms_is_trimmed_and_said():
    """Up to 20 mm wide: the later room gives way."""
    plan = plan_of(SQUARE, moved(SQUARE, 3.985))
    assert plan.rooms[0].polygon.area == pytest.approx(12)
    assert plan.rooms[1].polygon.area == pytest.approx(12 - 3 * 0.015)
    assert any("'r1' and 'r2'" in note and "trimmed" in note for note in plan.notes)
    assert plan.rooms[0].polygon.intersection(plan.rooms[1].polygon).area < 1e-9


@pytest.mark.parametrize("other", [moved(SQUARE, 3.9), [(1, 1), (2, 1), (2, 2)], SQUARE])
def test_wide_overlap_of_rooms_is_refused_naming_both(other):
    """Partly, wholly inside, or twice the same."""
    with pytest.raises(PlanError, match="rooms 'r1' and 'r2': the rooms overlap by"):
        plan_of(SQUARE, other)


def test_hole_outside_its_room_is_refused():
    """By number."""
    with pytest.raises(PlanError, match="room 'a', hole 1: the hole lies outside"):
        make_plan([Outline("a", (SQUARE, [(5, 5), (6, 5), (6, 6)]))])


def test_hole_over_the_edge_and_overlapping_holes_are_cut_and_said():
    """A column set into the wall."""
    into_wall = [(3, 2), (5, 2), (5, 2.5), (3, 2.5), (3, 2)]
    overlapping = [(2.5, 2), (3.5, 2), (3.5, 2.5), (2.5, 2.5), (2.5, 2)]
    plan = make_plan([Outline("a", (SQUARE, into_wall, overlapping))])
    assert plan.rooms[0].polygon.area == pytest.approx(12 - 0.75)
    assert any("hole 1: reaches over" in note for note in plan.notes)
    assert any("hole 2: overlaps another" in note for note in plan.notes)


def test_hole_without_width_is_left_out_and_said():
    """A line drawn as a hole."""
    plan = make_plan([Outline("a", (SQUARE, [(1, 1), (2, 1), (1, 1)]))])
    assert plan.rooms[0].polygon.area == 12
    assert any("hole 1: has no width" in note for note in plan.notes)


def test_holes_that_cut_a_room_in_two_are_refused():
    """It would be two rooms of one name."""
    with pytest.raises(PlanError, match="2 parts"):
        make_plan([Outline("a", (SQUARE, [(2, -1), (2.5, -1), (2.5, 4), (2, 4)]))])


def test_columns_are_cut_out_of_the_room_they_stand_in():
    """One that stands nowhere is said."""
    column = Outline("", ([(1, 1), (1.5, 1), (1.5, 1.5), (1, 1.5)],), void=True)
    lost = Outline("", ([(9, 9), (9.5, 9), (9.5, 9.5)],), void=True)
    plan = make_plan([Outline("a", (SQUARE,)), column, lost])
    assert plan.rooms[0].polygon.area == pytest.approx(11.75)
    assert any("stands in no room" in note for note in plan.notes)


def test_rooms_get_names_of_their_own():
    """Twice the same name is numbered, no name is numbered, odd characters are dropped."""
    names = ["hall", "hall", "", "  store\n\troom ", "hall 2"]
    plan = make_plan([Outline(name, (moved(SQUARE, 5 * i),)) for i, name in enumerate(names)])
    assert [room.name for room in plan.rooms] == [
        "hall",
        "hall 3",
        "room 1",
        "store room",
        "hall 2",
    ]
    assert any("second room is named 'hall'" in note for note in plan.notes)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("m", 1), ("cm", 100), ("mm", 1000), ("ft", 1 / 0.3048), ("in", 1 / 0.0254)],
)
def test_units_are_turned_into_metres(unit, factor):
    """International foot and inch."""
    ring = [(x * factor, y * factor) for x, y in SQUARE]
    line = PlanLine("door", LineString([(0, 0), (factor, 0)]))
    plan = make_plan([Outline("a", (ring,))], [line], unit=unit)
    assert plan.rooms[0].polygon.area == pytest.approx(12)
    assert plan.lines[0].geometry.length == pytest.approx(1)


def test_unknown_unit_is_refused_with_the_known_ones():
    """By name."""
    with pytest.raises(OptionError, match="m, cm, mm, ft, in"):
        plan_of(SQUARE, unit="yard")


def test_plan_of_absurd_size_is_refused_with_the_likely_unit():
    """Millimetres read as metres, and the other way round."""
    with pytest.raises(PlanError, match=r"12,000 m wide; the coordinates look like mm"):
        plan_of([(x * 3000, y * 3000) for x, y in SQUARE])
    with pytest.raises(PlanError, match=r"0.004 m wide; the coordinates look like m\b"):
        plan_of(SQUARE, unit="mm")


def test_empty_plans_and_rooms_without_rings_are_refused():
    """Nothing to map."""
    with pytest.raises(PlanError, match="no room"):
        make_plan([])
    with pytest.raises(PlanError, match="no ring"):
        make_plan([Outline("a", ())])


def test_huge_plans_are_refused_before_any_work():
    """A quarter of a million corners."""
    with pytest.raises(PlanError, match="250,000 corners"):
        plan_of(np.zeros((250_000, 2)).tolist())


def test_lines_are_checked_too():
    """Unknown kinds and bad numbers are refused, lines without length left out."""
    room = [Outline("a", (SQUARE,))]
    with pytest.raises(PlanError, match="kind of a line"):
        make_plan(room, [PlanLine("fence", LineString([(0, 0), (1, 1)]))])
    with np.errstate(invalid="ignore"):
        broken = LineString([(0, 0), (1, float("nan"))])
    with pytest.raises(PlanError, match="finite"):
        make_plan(room, [PlanLine("door", broken)])
    flat, far = LineString([(1, 1), (1, 1)]), LineString([(90, 0), (90, 9)])
    bow = Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])
    plan = make_plan(
        room,
        [
            PlanLine("door", flat),
            PlanLine("door", far),
            PlanLine("keep-clear", bow),
            PlanLine("power-point", Point(1, 1)),
        ],
    )
    assert [line.kind for line in plan.lines] == ["door", "keep-clear", "power-point"]
    assert any("no length" in note for note in plan.notes)
    assert any("off the floor" in note for note in plan.notes)


def test_room_made_in_code_can_be_mended_too():
    """A polygon with a repeated corner, and a bow tie."""
    room, notes = mend(Room("a", Polygon(SQUARE[::-1])))
    assert room.polygon.equals(box(0, 0, 4, 3))
    assert len(notes) == 1
    with pytest.raises(PlanError, match="crosses itself"):
        mend(Room("a", Polygon([(0, 0), (4, 3), (4, 0), (0, 3)])))
