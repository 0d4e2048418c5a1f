"""What counts as a rise when the meter is swept across a hole before drilling."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

BENCH = Path(__file__).resolve().parents[2] / "scripts" / "bench"
Read = Callable[[np.ndarray], np.ndarray]
PLACE = np.array([1.0, 1.0])


@pytest.fixture(scope="module")
def swept() -> Iterator[Callable[[Read, float, np.ndarray], bool]]:
    """The sweep of the bench, loaded by its path."""
    sys.path.insert(0, str(BENCH))
    try:
        yield importlib.import_module("holes").swept
    finally:
        sys.path.remove(str(BENCH))


def slope(places: np.ndarray) -> np.ndarray:
    """Wet floor that rises by 20 noise sd along the sweep."""
    return 20.0 + 25.0 * (places[:, 0] - 0.6)


def pipe(places: np.ndarray) -> np.ndarray:
    """Thirteen noise sd high, at the middle of the sweep."""
    return 13.0 * np.exp(-0.5 * ((places[:, 0] - 1.0) / 0.08) ** 2)


def test_a_bump_on_the_slope_of_wet_floor_is_a_rise(swept: Callable[..., bool]) -> None:
    """Its far end is wetter than the bump is high: over both ends it does not rise."""
    assert swept(lambda places: slope(places) + pipe(places), 1.0, PLACE)


def test_noise_by_itself_is_seldom_one(swept: Callable[..., bool]) -> None:
    """Two sweeps of nine readings of calm floor."""
    noise = np.random.default_rng(1)
    rises = [swept(lambda places: noise.normal(0, 1, len(places)), 1.0, PLACE) for _ in range(400)]
    assert np.mean(rises) < 0.06
