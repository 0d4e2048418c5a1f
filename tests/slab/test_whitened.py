"""Errors made independent, against the library of linear algebra."""

import numpy as np
import pytest

from moisturemap.slab import DepthReading, SlabSpec, estimate_profile
from moisturemap.slab.whitened import whitened


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_products_and_determinants_are_those_of_the_inverse(count: int) -> None:
    """Whatever the number of readings at a spot; for every case of a stack at once."""
    random = np.random.default_rng(count)
    root = random.normal(size=(4, 7, count, count))
    cover = root @ np.swapaxes(root, -1, -2) + 0.1 * np.eye(count)
    one, other = random.normal(size=(2, 4, 7, count))
    (white, pale), log_det = whitened(cover, one, other)
    expected = np.einsum("abi,abij,abj->ab", one, np.linalg.inv(cover), other)
    assert (white * pale).sum(axis=-1) == pytest.approx(expected)
    assert log_det == pytest.approx(np.linalg.slogdet(cover)[1])


def test_a_spot_asked_for_again_is_worked_out_once_and_cannot_be_spoilt() -> None:
    """In any order of its readings; another reading is another spot."""
    spec = SlabSpec(150.0, 1, 304.0)
    upper, lower = DepthReading(40, 80.0, 1.7), DepthReading(60, 85.0, 1.7)
    found = estimate_profile([upper, lower], spec)
    assert estimate_profile([lower, upper], spec) is found
    with pytest.raises(ValueError, match="read-only"):
        found.sealed_draws[:] = 0.0
    with pytest.raises(ValueError, match="read-only"):
        found.candidates.history[:] = 0
    wetter = estimate_profile([upper, DepthReading(60, 86.0, 1.7)], spec)
    assert wetter.sealed.value > found.sealed.value
