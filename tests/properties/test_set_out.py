"""The two printed tape distances fix the hole: checked apart from the code that chose them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from moisturemap.drilling import set_out
from moisturemap.floorplan import Room, corners, walls

TOLERANCE_M = 0.02


@st.composite
def rooms(draw) -> Room:
    """Rectangles, L shapes, rooms with a column, wedges; turned by any angle."""
    a, b = draw(st.floats(2.0, 15.0)), draw(st.floats(2.0, 15.0))
    shape = draw(st.sampled_from(["rectangle", "l", "column", "wedge"]))
    if shape == "rectangle":
        polygon = box(0, 0, a, b)
    elif shape == "l":
        u, v = draw(st.floats(0.3, 0.7)) * a, draw(st.floats(0.3, 0.7)) * b
        polygon = Polygon([(0, 0), (a, 0), (a, v), (u, v), (u, b), (0, b)])
    elif shape == "column":
        polygon = box(0, 0, a, b).difference(box(0.4 * a, 0.4 * b, 0.4 * a + 0.4, 0.4 * b + 0.4))
    else:
        polygon = Polygon([(0, 0), (a, 0), (0.9 * a, b), (0.2 * a, 0.8 * b)])
    return Room("room", affinity.rotate(polygon, draw(st.floats(0.0, 180.0)), origin=(0, 0)))


@st.composite
def places(draw) -> tuple[Room, float, float]:
    """A room and a place in it at least 0.1 m from its walls."""
    room = draw(rooms())
    inner = room.polygon.buffer(-0.1)
    west, south, east, north = inner.bounds
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    while True:
        x, y = rng.uniform((west, south), (east, north))
        if inner.covers(Point(x, y)):
            return room, float(x), float(y)


def where_walls_say(room: Room, names: tuple[str, str], distances: tuple[float, float]) -> list:
    """Places in the room at the square distances: one wall's parallel, searched for the other."""
    by_name = {wall.name: wall for wall in walls(room)}
    one, other = (by_name[name] for name in names)
    parallel = one.line.parallel_offset(distances[0], "left")
    (x0, y0), (x1, y1) = other.line.coords[0], other.line.coords[-1]

    def off(share: float) -> float:
        place = parallel.interpolate(share, normalized=True)
        return ((place.y - y0) * (x1 - x0) - (place.x - x0) * (y1 - y0)) / other.length

    low, high = off(0.0) - distances[1], off(1.0) - distances[1]
    if low * high > 0:
        return []
    share = brentq(lambda s: off(s) - distances[1], 0.0, 1.0)
    return [parallel.interpolate(share, normalized=True)]


def where_corners_say(room: Room, names: tuple[str, str], distances: tuple[float, float]) -> list:
    """Places where the two circles cross inside the room."""
    by_name = {corner.name: corner.point for corner in corners(room)}
    rings = [
        by_name[name].buffer(d, quad_segs=4000).exterior
        for name, d in zip(names, distances, strict=True)
    ]
    crossing = rings[0].intersection(rings[1])
    found = getattr(crossing, "geoms", [crossing])
    return [place for place in found if room.polygon.buffer(1e-6).intersects(place)]


@pytest.mark.thorough
@settings(max_examples=150, deadline=None)
@given(places())
def test_the_printed_distances_fix_the_place_within_20_mm(case):
    """Printed to 10 mm; the other crossing lies off the room or is ruled out in words."""
    room, x, y = case
    found = set_out(room, x, y)
    if not found.from_a:
        assert "plan's coordinates" in found.sentence
        return
    names, distances = (found.from_a, found.from_b), (found.distance_a, found.distance_b)
    for distance in distances:
        assert abs(round(distance, 3) - distance) < 1e-9
    distances = tuple(round(distance, 2) for distance in distances)
    square = "square to each wall" in found.sentence
    fixed = (where_walls_say if square else where_corners_say)(room, names, distances)
    gaps = sorted(place.distance(Point(x, y)) for place in fixed)
    if square:
        # A place beside the wall's end lies past the parallel; then the algebra still holds.
        assert found.error <= TOLERANCE_M
        assert not gaps or gaps[0] <= TOLERANCE_M
        return
    assert gaps[0] <= TOLERANCE_M
    if len(gaps) > 1 and gaps[1] > TOLERANCE_M:
        assert "further" in found.sentence


@pytest.mark.thorough
@settings(max_examples=100, deadline=None)
@given(places())
def test_the_tape_runs_inside_the_room(case):
    """From the hole to the wall's foot or the corner, without crossing a wall."""
    room, x, y = case
    found = set_out(room, x, y)
    ends = {wall.name: wall.line for wall in walls(room)}
    ends |= {corner.name: corner.point for corner in corners(room)}
    for name in filter(None, (found.from_a, found.from_b)):
        tape = shapely.shortest_line(Point(x, y), ends[name])
        assert room.polygon.buffer(1e-6).covers(tape)
