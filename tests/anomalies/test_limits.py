"""What a grid cannot see."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from moisturemap.anomalies import alias_wavelength, ridge_fraction
from moisturemap.anomalies.limits import grid_limits, joined


def test_limits_speak_of_pipes_between_rows_and_of_mesh(searched):
    """Sentences with the room's name."""
    _, found = searched(pipes=1)
    text = " ".join(found.limits)
    assert "pipes cannot be excluded" in text
    assert "mesh" in text
    assert "hall" in text


def test_a_pattern_read_at_its_own_pitch_is_invisible():
    """Pitch a divisor of the spacing."""
    assert math.isinf(alias_wavelength(0.1, 0.3))
    assert math.isinf(alias_wavelength(0.25, 0.25))


def test_a_wide_ridge_is_seen_wherever_it_lies():
    """Fraction near one for a ridge wider than the spacing, near zero for a thin one."""
    assert ridge_fraction(0.5, 0.25) > 0.95
    assert ridge_fraction(0.05, 0.5) < 0.001
    assert ridge_fraction(0.125, 0.25) == pytest.approx(math.exp(-0.5))


def test_what_holds_for_both_parts_of_a_room_is_said_once():
    """A day joint parts the hall; only what differs is told apart."""
    told = [("hall (part 1)", "mesh."), ("hall (part 1)", "pipes."), ("hall (part 2)", "mesh.")]
    assert joined(told) == ("hall (part 1), hall (part 2): mesh.", "hall (part 1): pipes.")


def test_nothing_is_said_of_mesh_in_timber():
    """A deck has none; pipes and cables run under it."""
    scene = SimpleNamespace(spacing=0.5)
    finds = SimpleNamespace(things=(), calm=SimpleNamespace(noise_sd=2.0))
    assert "mesh" in " ".join(grid_limits(scene, finds))
    timber = " ".join(grid_limits(scene, finds, timber=True))
    assert "mesh" not in timber
    assert "pipes cannot be excluded" in timber
