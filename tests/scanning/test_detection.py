"""What a grid of readings finds and misses."""

from __future__ import annotations

import math

import numpy as np
import pytest

from moisturemap.errors import OptionError
from moisturemap.scanning import (
    grid_limits,
    mesh_alias,
    miss_probability,
    ridge_share,
    smallest_spot,
    telling_apart,
)


@pytest.mark.parametrize("q", [0.2, 0.4, 0.5, 0.55, 0.6, 0.7])
def test_the_chance_of_missing_agrees_with_throwing_circles(q: float) -> None:
    """A million circles dropped on a unit grid (seeded); three standard errors allowed."""
    centres = np.random.default_rng(4).uniform(-0.5, 0.5, (1_000_000, 2))
    missed = float(np.mean(np.hypot(*centres.T) > q))
    assert miss_probability(q, 1.0) == pytest.approx(missed, abs=3 * 0.0005)


def test_the_chance_of_missing_meets_its_ends() -> None:
    """A point is never found; a circle through the middle of a mesh never missed."""
    assert miss_probability(0.0, 1.0) == 1.0
    assert miss_probability(1 / math.sqrt(2), 1.0) == pytest.approx(0.0, abs=1e-12)
    assert miss_probability(5.0, 1.0) == 0.0


@pytest.mark.parametrize(("miss", "q"), [(0.1, 0.56), (0.05, 0.59), (0.2, 0.50)])
def test_the_smallest_spot_agrees_with_the_published_nomograph(miss: float, q: float) -> None:
    """Rounded values read from Gilbert (1987, fig. 10.3, circle), quoted from memory: +-0.01."""
    assert smallest_spot(1.0, miss) == pytest.approx(q, abs=0.011)
    assert smallest_spot(2.0, miss) == pytest.approx(2 * smallest_spot(1.0, miss))


@pytest.mark.parametrize(
    ("pitch", "spacing"), [(0.2, 0.25), (0.15, 0.25), (0.1, 0.25), (0.2, 0.3), (0.15, 0.4)]
)
def test_mesh_read_at_a_spacing_shows_at_its_alias(pitch: float, spacing: float) -> None:
    """The strongest wave of a sampled cosine stands at the alias."""
    x = np.arange(2400) * spacing
    spectrum = np.abs(np.fft.rfft(np.cos(2 * np.pi * x / pitch)))
    frequency = np.fft.rfftfreq(x.size, spacing)[spectrum.argmax()]
    assert mesh_alias(pitch, spacing) == pytest.approx(1 / frequency, rel=0.01)


def test_mesh_is_invisible_when_the_spacing_is_a_multiple_of_its_pitch() -> None:
    """Every reading stands alike to the wires."""
    assert math.isinf(mesh_alias(0.1, 0.5))
    assert math.isinf(mesh_alias(0.2, 0.4))
    assert any("cannot be seen" in sentence for sentence in grid_limits(0.4))


def test_the_worst_share_of_a_ridge_is_its_height_between_two_readings() -> None:
    """The Gaussian section itself, half a spacing from its crest."""
    assert ridge_share(0.2, 0.4) == pytest.approx(math.exp(-0.5))
    assert ridge_share(0.08, 0.1) > 0.8
    assert ridge_share(0.08, 0.5) < 0.01


def test_a_coarse_grid_says_that_pipes_cannot_be_excluded_and_a_fine_one_does_not() -> None:
    """Spacing of at most twice the width of the ridge is needed."""
    assert any("cannot be excluded" in sentence for sentence in grid_limits(0.5))
    assert not any("cannot be excluded" in sentence for sentence in grid_limits(0.15))


@pytest.mark.parametrize(
    ("spacing", "footprint", "words"),
    [
        (0.5, 0.1, "can be told apart"),
        (1.0, 0.1, "read every 0.5 m"),
        (0.7, 0.1, "read every 0.35 m"),
        (0.25, 0.4, "smaller head"),
    ],
)
def test_a_layout_says_where_a_pipe_and_a_wet_band_can_be_told_apart(spacing, footprint, words):
    """By spacing and footprint, with half the spacing where it cannot."""
    assert words in telling_apart(spacing, footprint)
    assert telling_apart(1.0) in grid_limits(1.0)
    assert telling_apart(0.5, 0.2) in grid_limits(0.5, 0.2)


@pytest.mark.parametrize(
    "call",
    [
        lambda: miss_probability(-1, 1),
        lambda: smallest_spot(1, 0),
        lambda: mesh_alias(0, 1),
        lambda: ridge_share(0.1, 0),
    ],
)
def test_lengths_that_make_no_sense_are_refused(call: object) -> None:
    """Zero and negative lengths have no answer."""
    with pytest.raises(OptionError):
        call()
