"""Coordinates of places are found once."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.mapping import kept_places
from moisturemap.mapping.kept_places import KeptPlaces


class Finder:
    """Turns and lifts places, and counts them."""

    def __init__(self) -> None:
        self.found = 0

    def __call__(self, points: np.ndarray) -> np.ndarray:
        self.found += len(points)
        return np.column_stack([points[:, 1], -points[:, 0], points.sum(axis=1)])


@pytest.fixture
def places() -> np.ndarray:
    """Return a grid of places with negative coordinates, in no order."""
    x, y = np.meshgrid(np.linspace(-2.0, 3.0, 20), np.linspace(-1.0, 1.0, 10))
    return np.random.default_rng(3).permutation(np.column_stack([x.ravel(), y.ravel()]))


def test_a_place_is_found_once_in_whatever_company_it_is_asked_for(places: np.ndarray) -> None:
    """All of them, some of them, with new ones among them, and one twice."""
    kept, find = KeptPlaces(), Finder()
    asked = [places[:150], places[20:60:3], places[100:][::-1], places[[7, 7, 3]], places]
    for points in asked:
        np.testing.assert_array_equal(kept.of(points, find), Finder()(points))
    assert find.found == len(places)


def test_too_many_places_are_not_kept_and_still_right(
    places: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Memory is bounded."""
    monkeypatch.setattr(kept_places, "MOST_KEPT", 120)
    kept, find = KeptPlaces(), Finder()
    for points in (places[:100], places, places[:100]):
        np.testing.assert_array_equal(kept.of(points, find), Finder()(points))
    assert find.found == 100 + 100 + 100
