"""LAPACK and BLAS routines during which other threads can work.

SciPy's wrappers hold the interpreter as long as a routine runs, so that two threads factorise no
faster than one. These are the same routines of the same library, by the addresses that SciPy gives
to compiled code (``scipy.linalg.cython_lapack``), and give the same bits.
"""

from __future__ import annotations

import ctypes
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cython_blas, cython_lapack, lapack

Array = NDArray[np.float64]

_api = ctypes.pythonapi
_name_of = ctypes.PYFUNCTYPE(ctypes.c_char_p, ctypes.py_object)(("PyCapsule_GetName", _api))
_address_of = ctypes.PYFUNCTYPE(ctypes.c_void_p, ctypes.py_object, ctypes.c_char_p)(
    ("PyCapsule_GetPointer", _api)
)


def _routine(module: Any, name: str) -> Any:
    """Return a routine that is called with addresses alone."""
    capsule = module.__pyx_capi__[name]
    signature = _name_of(capsule)
    if b", int *" not in signature:
        message = f"{name} of this SciPy counts otherwise than in C integers"
        raise ImportError(message)
    kinds = [ctypes.c_void_p] * (signature.count(b",") + 1)
    return ctypes.CFUNCTYPE(None, *kinds)(_address_of(capsule, signature))


_dpotrf, _dlaset = (_routine(cython_lapack, name) for name in ("dpotrf", "dlaset"))
_dtrsm, _dtrmm = (_routine(cython_blas, name) for name in ("dtrsm", "dtrmm"))

_ONE, _ZERO = ctypes.byref(ctypes.c_double(1.0)), ctypes.byref(ctypes.c_double(0.0))


def _size(number: int) -> Any:
    return ctypes.byref(ctypes.c_int(number))


def _ready(*matrices: Array) -> None:
    """Refuse what a routine would read or write wrongly."""
    for one in matrices:
        if one.dtype != np.float64 or not one.flags.f_contiguous or one.ndim != 2:
            message = "a matrix of doubles in Fortran order is needed"
            raise ValueError(message)


def factorise(matrix: Array, *, lower: bool = True) -> bool:
    """Replace a symmetric matrix (n, n) by its Cholesky factor; False where there is none.

    Fortran order. Of a matrix without a factor what stands on the other side of the diagonal, above
    it by default, is kept.
    """
    _ready(matrix)
    count, info = len(matrix), ctypes.c_int()
    side = _size(max(count, 1))
    own, other = (b"L", b"U") if lower else (b"U", b"L")
    _dpotrf(own, _size(count), matrix.ctypes.data, side, ctypes.byref(info))
    if info.value == 0 and count > 1:
        beyond = (matrix[:, 1:] if lower else matrix[1:]).ctypes.data
        _dlaset(other, _size(count - 1), _size(count - 1), _ZERO, _ZERO, beyond, side)
    return info.value == 0


def inverse(factor: Array) -> Array:
    """Inverse (n, n) of a matrix by its lower Cholesky factor."""
    lower = lapack.dpotri(factor, lower=1)[0]
    return np.asarray(np.tril(lower) + np.tril(lower, -1).T)


def solve(factor: Array, right: Array, *, lower: bool = True, turned: bool = False) -> Array:
    """Solve right sides (n, m) in place by a triangular factor, or by its transpose."""
    return _by_triangle(_dtrsm, factor, right, (lower, turned))


def multiply(factor: Array, right: Array, *, lower: bool = True, turned: bool = False) -> Array:
    """Multiply right sides (n, m) in place by a triangular matrix, or by its transpose."""
    return _by_triangle(_dtrmm, factor, right, (lower, turned))


def _by_triangle(routine: Any, factor: Array, right: Array, how: tuple[bool, bool]) -> Array:
    _ready(factor, right)
    lower, turned = how
    rows, columns = right.shape
    side = _size(max(rows, 1))
    if factor.shape != (rows, rows):
        message = f"a factor of {factor.shape} does not fit right sides of {right.shape}"
        raise ValueError(message)
    routine(
        b"L",
        b"L" if lower else b"U",
        b"T" if turned else b"N",
        b"N",
        _size(rows),
        _size(columns),
        _ONE,
        factor.ctypes.data,
        side,
        right.ctypes.data,
        side,
    )
    return right
