"""Placement on floors with known optimum.

Closed forms: mean distance in the unit square from its centre (sqrt 2 + asinh 1)/6 and from a
corner (sqrt 2 + asinh 1)/3; the L-shaped room's values come from an independent computation with
exact ways round its corner on 300 cells of 0.1 m.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from moisturemap.equipment import enumerate_all, searched, worth
from moisturemap.equipment.service import by_nearness
from moisturemap.floorplan import geodesic_distance

SQUARE = Polygon([(0, 0), (1, 0), (1, 1), (0, 1)])
L_ROOM = Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])


def _cells(room: Polygon, step: float) -> np.ndarray:
    west, south, east, north = room.bounds
    across = np.arange(west + step / 2, east, step)
    x, y = np.meshgrid(across, np.arange(south + step / 2, north, step))
    points = np.column_stack([x.ravel(), y.ravel()])
    return points[shapely.contains_xy(room, *points.T)]


def test_mean_distance_in_a_square() -> None:
    """From the centre 0.382598, from a corner 0.765196."""
    cells = _cells(SQUARE, 0.02)
    centre = geodesic_distance(SQUARE, [[0.5, 0.5]], cells).mean()
    corner = geodesic_distance(SQUARE, [[0.0, 0.0]], cells).mean()
    exact = (math.sqrt(2) + math.asinh(1)) / 6
    assert centre == pytest.approx(exact, abs=3e-4)
    assert corner == pytest.approx(2 * exact, abs=3e-4)


@pytest.fixture(scope="module")
def l_room() -> tuple[np.ndarray, np.ndarray]:
    """Cells of the L-shaped room and the ways between them."""
    cells = _cells(L_ROOM, 0.1)
    return cells, geodesic_distance(L_ROOM, cells, cells)


def test_the_best_place_in_an_l_shaped_room(l_room: tuple[np.ndarray, np.ndarray]) -> None:
    """1-median at (0.75, 0.85) or its mirror image, mean way 0.724397."""
    cells, way = l_room
    reach = float(way.max())
    best = enumerate_all(by_nearness(way, reach), np.ones(len(cells)), 1)
    assert way[best[0]].mean() == pytest.approx(0.724397, abs=1e-5)
    assert sorted(np.round(cells[best[0]], 2)) == [0.75, 0.85]


def test_the_best_two_places_in_an_l_shaped_room(l_room: tuple[np.ndarray, np.ndarray]) -> None:
    """2-median at (1.25, 0.45) and (0.45, 1.25), mean way 0.506305."""
    cells, way = l_room
    service, weight = by_nearness(way, float(way.max())), np.ones(len(cells))
    best = enumerate_all(service, weight, 2)
    assert way[list(best)].min(axis=0).mean() == pytest.approx(0.506305, abs=1e-5)
    assert sorted(map(tuple, np.round(cells[list(best)], 2))) == [(0.45, 1.25), (1.25, 0.45)]
    assert worth(service, weight, searched(service, weight, 2)) == pytest.approx(
        worth(service, weight, best)
    )
