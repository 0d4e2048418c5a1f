"""A slab that is fed: against series solutions, and in what must never happen."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import erfc

from moisturemap.slab import DiffusivityCurve, FedSlab, Material, follow

STRAIGHT = Material.made([None], [DiffusivityCurve(floor=1.0 - 1e-12)])
RATE = 20.0


def slab(cells: int, thickness: float, *, capacity: np.ndarray | None = None) -> FedSlab:
    width = np.full((1, cells), thickness / cells)
    water = np.ones((1, cells)) if capacity is None else capacity
    return FedSlab(STRAIGHT, np.zeros(1, dtype=int), width, np.full((1, cells), RATE), water)


def face(made: FedSlab, humidity: float, cell: int = 0):
    """Hold a face at a humidity."""
    film = np.zeros_like(made.width_mm)
    film[:, cell] = RATE / (0.5 * made.width_mm[:, cell])
    return lambda now, then: (film, np.full_like(film, humidity))


def test_drying_from_one_face_follows_the_series() -> None:
    """J. Crank, The Mathematics of Diffusion (1975), eq. 4.18: mean of a plane sheet."""
    made = slab(40, 100.0)
    days = np.array([20.0, 100.0, 250.0])
    times = np.unique(np.r_[0.0, np.geomspace(0.02, 250.0, 300), days])
    found = follow(made, np.ones((1, 40)), face(made, 0.4), times, days)[0].mean(axis=1)
    k = 2 * np.arange(400) + 1
    for day, mean in zip(days, found, strict=True):
        fo = RATE * day / 100.0**2
        series = float((8.0 / np.pi**2 / k**2 * np.exp(-(k**2) * np.pi**2 * fo / 4.0)).sum())
        assert mean == pytest.approx(0.4 + 0.6 * series, abs=0.004)


def test_a_step_reaches_as_far_as_the_error_function_says() -> None:
    """Crank (1975), eq. 3.13: 5% of a step at 2.77 sqrt(D t)."""
    made = slab(200, 400.0)
    times = np.unique(np.r_[0.0, np.geomspace(0.01, 120.0, 400)])
    h = follow(made, np.full((1, 200), 0.4), face(made, 0.9), times, times[-1:])[0, 0]
    depth = made.depth_mm[0]
    expected = 0.4 + 0.5 * erfc(depth / (2.0 * np.sqrt(RATE * 120.0)))
    assert np.abs(h - expected).max() < 0.006
    reach = float(np.interp(-0.425, -h, depth))
    assert reach == pytest.approx(2.77 * np.sqrt(RATE * 120.0), rel=0.03)


def test_a_sealed_slab_keeps_its_water_and_levels_humidity_across_layers() -> None:
    """Humidity is continuous between two materials; what moves is water."""
    capacity = np.where(np.arange(30) < 10, 0.5, 1.0)[None, :]
    made = slab(30, 90.0, capacity=capacity)
    start = np.where(np.arange(30) < 10, 0.95, 0.55)[None, :]
    times = np.r_[0.0, np.geomspace(0.05, 4000.0, 250)]
    closed = np.zeros_like(made.width_mm)
    end = follow(made, start, lambda now, then: (closed, closed), times, times[-1:])[0, 0]
    held = (capacity * made.width_mm * start).sum() / (capacity * made.width_mm).sum()
    assert np.ptp(end) < 1e-3
    assert end.mean() == pytest.approx(held, abs=2e-3)


def test_water_at_a_depth_wets_upwards_and_downwards() -> None:
    """A source in the middle is where it is wettest."""
    made = slab(41, 150.0)
    times = np.r_[0.0, np.geomspace(0.05, 60.0, 120)]
    h = follow(made, np.full((1, 41), 0.5), face(made, 1.0, 20), times, times[-1:])[0, 0]
    assert h.argmax() == 20
    assert (np.diff(h[:21]) >= 0).all()
    assert (np.diff(h[20:]) <= 0).all()
