"""Routines without the interpreter's lock against SciPy's own wrappers of the same library."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest
from scipy.linalg import blas, lapack

from moisturemap.geostat.lapack import factorise, multiply, solve

RNG = np.random.default_rng(4)
ROOT = RNG.standard_normal((60, 60))
MATRIX = ROOT @ ROOT.T + 60.0 * np.eye(60)
RIGHT = np.asfortranarray(RNG.standard_normal((60, 7)))


@pytest.mark.parametrize("lower", [True, False])
def test_the_factor_is_that_of_scipy(lower):
    """To the bit, with nothing on the other side of the diagonal."""
    factor = MATRIX.copy().T
    assert factorise(factor, lower=lower)
    assert np.array_equal(factor, lapack.dpotrf(MATRIX.T, lower=int(lower), clean=1)[0])


def test_a_matrix_without_a_factor_keeps_what_stands_above_its_diagonal():
    """So that it can be tried again with more on the diagonal."""
    matrix = (MATRIX - 200.0 * np.eye(60)).T
    kept = np.triu(matrix, 1).copy()
    assert not factorise(matrix)
    assert np.array_equal(np.triu(matrix, 1), kept)


@pytest.mark.parametrize("lower", [True, False])
@pytest.mark.parametrize("turned", [True, False])
def test_triangles_are_solved_by_and_multiplied_as_by_scipy(lower, turned):
    """To the bit, in place."""
    factor = np.asfortranarray(np.linalg.cholesky(MATRIX))
    factor = factor if lower else np.asfortranarray(factor.T)
    for own, theirs in ((solve, blas.dtrsm), (multiply, blas.dtrmm)):
        expected = theirs(1.0, factor, RIGHT, lower=int(lower), trans_a=int(turned))
        right = RIGHT.copy(order="F")
        assert own(factor, right, lower=lower, turned=turned) is right
        assert np.array_equal(right, expected)


def test_what_a_routine_would_read_wrongly_is_refused():
    """Order, kind of number and shape."""
    for wrong in (MATRIX[:, :30], MATRIX.astype(np.float32), np.arange(3.0)):
        with pytest.raises(ValueError, match="Fortran order"):
            factorise(wrong)
    with pytest.raises(ValueError, match="does not fit"):
        solve(np.eye(3, order="F"), RIGHT.copy(order="F"))


def test_another_thread_works_meanwhile():
    """It counts while a large matrix is factorised; SciPy's wrapper would not let it."""
    large = np.eye(1500, order="F") + 0.5
    worker = threading.Thread(target=factorise, args=(large,))
    worker.start()
    counted = 0
    while worker.is_alive():
        counted += 1
        time.sleep(0)
    assert counted > 100
