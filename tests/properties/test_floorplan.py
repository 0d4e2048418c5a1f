"""What holds for any floor."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import LineString, MultiPoint, Polygon, box

from moisturemap.floorplan import (
    FloorPlan,
    GeodesicOptions,
    Outline,
    PlanLine,
    Room,
    domains,
    geodesic_distance,
    make_grid,
    make_plan,
    shortest_path,
    walls,
)

EXACT = GeodesicOptions(tolerance=0.0)
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much]
quick = settings(max_examples=30, deadline=None, suppress_health_check=SLOW, derandomize=True)


@st.composite
def floors(draw):
    """A star-shaped room of some 4 m, now and then with columns."""
    count = draw(st.integers(3, 9))
    reach = draw(st.lists(st.floats(0.8, 4.0), min_size=count, max_size=count))
    room = Polygon(
        [
            (r * math.cos(2 * math.pi * k / count), r * math.sin(2 * math.pi * k / count))
            for k, r in enumerate(reach)
        ]
    )
    for x, y in draw(st.lists(st.tuples(st.floats(-2, 2), st.floats(-2, 2)), max_size=3)):
        rest = room - box(x, y, x + 0.3, y + 0.3)
        room = rest if isinstance(rest, Polygon) else room
    assume(room.is_valid and room.area > 0.5)
    return room


def places_in(room, count, seed):
    places = np.random.default_rng(seed).uniform(room.bounds[:2], room.bounds[2:], (40 * count, 2))
    inside = places[shapely.contains_xy(room, places)]
    assume(len(inside) >= count)
    return inside[:count]


@quick
@given(floors(), st.integers(0, 10_000))
def test_distance_in_a_room_is_a_metric_not_shorter_than_straight(room, seed):
    """Symmetric, zero at home, triangle inequality, at least the straight line."""
    places = places_in(room, 12, seed)
    way = geodesic_distance(room, places, places, options=EXACT)
    straight = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    assert np.isfinite(way).all()
    assert way == pytest.approx(way.T, abs=1e-5)
    assert np.diag(way) == pytest.approx(0, abs=1e-12)
    assert (way >= straight - 1e-9).all()
    assert (way[:, None, :] <= way[:, :, None] + way[None, :, :] + 1e-5).all()


@quick
@given(floors(), st.integers(0, 10_000))
def test_distance_agrees_with_a_visibility_graph_by_plain_geometry(room, seed):
    """The witness tests every straight piece with shapely and searches the graph of all corners."""
    places = places_in(room, 6, seed)
    rings = [room.exterior, *room.interiors]
    corners = np.concatenate([np.asarray(ring.coords)[:-1] for ring in rings])
    nodes = np.concatenate([places, corners])
    wide = room.buffer(1e-7, join_style="mitre")
    graph = np.zeros((len(nodes), len(nodes)))
    for i, start in enumerate(nodes):
        for j, end in enumerate(nodes[:i]):
            if wide.covers(LineString([start, end])):
                graph[i, j] = graph[j, i] = math.dist(start, end)
    witness = dijkstra(graph, directed=False)[:6, :6]
    way = geodesic_distance(room, places, places, options=EXACT)
    assert way == pytest.approx(witness, abs=1e-5)


@quick
@given(floors(), st.integers(0, 10_000))
def test_shortest_path_stays_inside_and_has_the_distance_as_its_length(room, seed):
    """Ends where asked."""
    start, end = places_in(room, 2, seed)
    path = shortest_path(room, tuple(start), tuple(end), options=EXACT)
    assert room.buffer(1e-5).covers(path)
    assert path.length == pytest.approx(
        geodesic_distance(room, [start], [end], options=EXACT)[0, 0], abs=1e-6
    )
    assert path.coords[0] == pytest.approx(start)
    assert path.coords[-1] == pytest.approx(end)


@quick
@given(floors(), st.floats(0, 2 * math.pi), st.floats(-1000, 1000))
def test_mending_keeps_the_area_and_says_nothing_of_sound_rooms(room, turn, shift):
    """Turned and moved, rings either way round, first corner repeated."""
    moved = shapely.affinity.translate(shapely.affinity.rotate(room, turn, use_radians=True), shift)
    rings = [np.asarray(ring.coords) for ring in (moved.exterior, *moved.interiors)]
    doubled = tuple(np.vstack([ring[:1], ring]) for ring in rings)
    plan = make_plan([Outline("a", doubled)])
    assert plan.rooms[0].polygon.area == pytest.approx(room.area, rel=1e-6, abs=1e-4)


@pytest.mark.thorough
@quick
@given(floors())
def test_cells_cover_the_area_of_the_floor_and_know_where_they_are(room):
    """Area of the cells is near the area of the polygon; each centre lies in its room."""
    plan = FloorPlan((Room("a", room),))
    grid = make_grid(plan, domains(plan), max_cells=4000)
    count = int(grid.inside.sum())
    assert count <= 4000
    assert count * grid.spacing**2 == pytest.approx(room.area, abs=room.length * grid.spacing)
    assert room.buffer(1e-9).covers(MultiPoint(grid.centres()))


@quick
@given(floors())
def test_names_of_walls_are_unique_and_walls_lie_on_the_edge(room):
    """However many there are."""
    found = walls(Room("a", room))
    assert len({wall.name for wall in found}) == len(found) > 0
    assert all(room.boundary.buffer(0.011).covers(wall.line) for wall in found)


@quick
@given(floors(), st.lists(st.tuples(st.floats(-4, 4), st.floats(-4, 4)), min_size=2, max_size=2))
def test_joints_part_the_floor_without_losing_any(room, ends):
    """The domains together are the floor."""
    assume(math.dist(*ends) > 0.1)
    plan = FloorPlan((Room("a", room),), (PlanLine("day-joint", LineString(ends)),))
    found = domains(plan)
    assert sum(domain.geometry.area for domain in found) == pytest.approx(room.area, rel=1e-4)
    assert shapely.union_all([d.geometry for d in found]).area == pytest.approx(room.area, rel=1e-4)
