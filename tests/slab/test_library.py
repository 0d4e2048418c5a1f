"""The libraries of drying histories, as they are kept beside the code."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.slab.library import (
    GRAIN,
    HISTORIES,
    QUICK,
    SEED,
    SHELVES,
    TIMES,
    air_library,
    drawn,
    library,
    packed,
    solve_histories,
    unpacked,
)

KEPT = {"usual": library, "any_air": air_library}


@pytest.mark.parametrize("name", list(SHELVES))
def test_kept_histories_are_those_the_solver_gives(name):
    """The first 32 solved anew; a step of the solver stops at 1e-5, a few hundred steps follow."""
    shelf, kept = SHELVES[name], KEPT[name]()
    few = {"seed": SEED, "cells": shelf.cells, "steps": QUICK, "surface": shelf.surface}
    solved = solve_histories(32, **few)
    assert kept.h.shape == (HISTORIES, len(TIMES), shelf.cells.z.size)
    assert np.abs(kept.h[:32] - solved.h).max() < 3e-5
    assert np.array_equal(kept.start[:32], solved.start)
    assert np.array_equal(kept.surface[:32], solved.surface)
    assert np.allclose(kept.material.water[:32], solved.material.water, rtol=1e-12)
    assert np.allclose(kept.material.potential[:32], solved.material.potential, rtol=1e-12)


@pytest.mark.parametrize("name", list(SHELVES))
def test_all_slabs_of_a_library_are_those_drawn(name):
    """A change of ranges or seed without a new file is found here."""
    kept = KEPT[name]()
    low_to_high = drawn(HISTORIES, SEED, SHELVES[name].surface)
    assert np.array_equal(kept.start, low_to_high[:, 0])
    assert np.array_equal(kept.surface, low_to_high[:, 1])


def test_packing_keeps_every_humidity_to_half_a_grain():
    """Also 0 and 1, and jumps as large as they can be."""
    h = np.random.default_rng(3).uniform(0.0, 1.0, (5, 9, 4))
    h[0, ::2], h[0, 1::2] = 0.0, 1.0
    assert np.abs(unpacked(packed(h)) - h).max() <= 0.5001 * GRAIN
