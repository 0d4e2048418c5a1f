"""Distance inside a room against closed forms."""

import math

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from moisturemap.floorplan import (
    GeodesicOptions,
    geodesic_distance,
    is_convex_enough,
    shortest_path,
)

L_ROOM = Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])
EXACT = GeodesicOptions(tolerance=0.0)


@pytest.mark.parametrize(
    ("start", "end", "length"),
    [
        ((2, 1), (1, 2), 2.0),
        ((2, 0.5), (0.5, 2), 2 * math.hypot(1, 0.5)),
        ((2, 0), (1, 2), math.sqrt(2) + 1),
        ((1.8, 0.9), (0.9, 1.8), 2 * math.hypot(0.8, 0.1)),
        ((1.5, 0.5), (0.5, 1.5), math.sqrt(2)),
    ],
)
def test_way_round_the_corner_of_an_l_room_is_the_sum_of_two_straight_pieces(start, end, length):
    """Closed forms by Pythagoras: each way bends at (1, 1) or just grazes it."""
    assert geodesic_distance(L_ROOM, [start], [end])[0, 0] == pytest.approx(length, abs=1e-9)
    assert shortest_path(L_ROOM, start, end).length == pytest.approx(length, abs=1e-9)


@pytest.mark.parametrize("thickness", [0.001, 0.01, 0.1])
def test_way_round_a_thin_wall_goes_over_its_end(thickness):
    """A wall of width w, 1.5 m long: 2 hypot(0.5 - w / 2, 1.5) + w, near 3.162278 m when thin."""
    room = box(0, 0, 2, 2) - box(1 - thickness / 2, 0, 1 + thickness / 2, 1.5)
    way = geodesic_distance(room, [(0.5, 0)], [(1.5, 0)], options=EXACT)[0, 0]
    assert way == pytest.approx(2 * math.hypot(0.5 - thickness / 2, 1.5) + thickness, abs=1e-6)
    assert way == pytest.approx(math.sqrt(10), abs=1.4 * thickness)


def test_mean_distance_in_a_square_is_the_known_integral():
    """Unit square, from the centre: (sqrt 2 + asinh 1) / 6, from a corner twice that."""
    side = (np.arange(200) + 0.5) / 200
    cells = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    mean = geodesic_distance(box(0, 0, 1, 1), [(0.5, 0.5), (0, 0)], cells).mean(axis=1)
    exact = (math.sqrt(2) + math.asinh(1)) / 6
    assert mean == pytest.approx([exact, 2 * exact], rel=1e-4)


def test_best_single_place_in_an_l_room_of_cells_is_found_at_its_known_cost():
    """300 cells of 0.1 m: the median cell is (0.75, 0.85) or its mirror at a mean of 0.724397 m.

    The value is from our own exhaustive computation with another method.
    """
    side = np.arange(0.05, 2, 0.1)
    cells = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    cells = cells[(cells[:, 0] < 1) | (cells[:, 1] < 1)]
    mean = geodesic_distance(L_ROOM, cells, cells).mean(axis=1)
    assert len(cells) == 300
    assert mean.min() == pytest.approx(0.724397, abs=5e-7)
    assert sorted(cells[mean.argmin()]) == pytest.approx([0.75, 0.85])


def test_way_round_a_round_column_follows_tangents_and_arc():
    """Two tangents and the arc between: 2 sqrt(d^2 - r^2) + r (pi - 2 acos(r / d))."""
    radius, away = 0.5, 2.0
    room = box(-3, -3, 3, 3) - Point(0, 0).buffer(radius, quad_segs=64)
    exact = 2 * math.sqrt(away**2 - radius**2) + radius * (math.pi - 2 * math.acos(radius / away))
    way = geodesic_distance(room, [(-away, 0)], [(away, 0)], options=EXACT)[0, 0]
    assert way == pytest.approx(exact, rel=1e-4)
    assert geodesic_distance(room, [(-away, 0)], [(away, 0)])[0, 0] == pytest.approx(
        exact, rel=0.01
    )


def test_diagonal_through_a_square_column_is_blocked():
    """The sight line runs exactly through two corners of the column."""
    room = box(0, 0, 4, 4) - box(1, 1, 3, 3)
    way = geodesic_distance(room, [(0.5, 0.5)], [(3.5, 3.5)])[0, 0]
    assert way == pytest.approx(2 * math.hypot(2.5, 0.5))


def test_small_columns_can_be_walked_across():
    """A column below the stated side changes nothing."""
    room = box(0, 0, 4, 4) - box(1.8, 1.8, 2.2, 2.2)
    ends = [(1, 2)], [(3, 2)]
    assert geodesic_distance(room, *ends)[0, 0] > 2
    assert geodesic_distance(room, *ends, options=GeodesicOptions(ignore_below=0.5))[0, 0] == 2.0


def test_places_in_separate_parts_or_off_the_floor_are_unreachable():
    """No way leads there: inf."""
    floor = MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)])
    way = geodesic_distance(floor, [(0.5, 0.5)], [(0.7, 0.5), (2.5, 0.5), (1.5, 0.5)])
    assert way[0] == pytest.approx([0.2, np.inf, np.inf])
    assert shortest_path(floor, (0.5, 0.5), (2.5, 0.5)) is None


def test_place_just_behind_the_wall_counts_as_standing_at_it():
    """Readings along a wall are often keyed a centimetre outside."""
    assert geodesic_distance(L_ROOM, [(-0.02, 0.5)], [(1, 0.5)])[0, 0] == pytest.approx(1.0)


def test_no_places_give_an_empty_answer():
    """Zero rows or columns are no error."""
    assert geodesic_distance(L_ROOM, np.empty((0, 2)), [(1, 0.5)]).shape == (0, 1)


def test_path_is_the_chain_of_its_corners():
    """The line bends at the reflex corners it passes."""
    path = shortest_path(L_ROOM, (2, 0.5), (0.5, 2))
    assert list(path.coords) == [(2, 0.5), (1, 1), (0.5, 2)]


def test_convex_enough_floors_are_told_from_those_with_arms():
    """Nibs and columns do not matter; arms, courtyards and gaps do."""
    hall = box(0, 0, 30, 20)
    columns = unary_union([box(x, y, x + 0.4, y + 0.4) for x in (6, 12) for y in (6, 12)])
    assert is_convex_enough(hall)
    assert is_convex_enough(hall - columns)
    assert is_convex_enough(hall - box(10, 0, 10.2, 8))
    assert not is_convex_enough(hall - box(10, 5, 20, 15))
    assert not is_convex_enough(box(0, 0, 6, 6) - box(2, 2, 6, 6))
    assert not is_convex_enough(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)]))
