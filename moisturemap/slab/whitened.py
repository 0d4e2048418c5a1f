"""Errors that depend on one another, made independent: for very many cases of few readings each."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def whitened(cover: Array, *columns: Array) -> tuple[list[Array], Array]:
    """Divide columns by the Cholesky factor of the covariance of their errors.

    Whole arrays at a time: a library of linear algebra is called anew for each small matrix, which
    takes most of the time of a profile.

    Parameters
    ----------
    cover : ndarray, shape (..., k, k)
        Positive definite.
    *columns : ndarray, shape (..., k)

    Returns
    -------
    white : list of ndarray, shape (..., k)
        Sums of the products of two of them are products with the inverse of the covariance.
    log_det : ndarray, shape (...)
        Logarithm of the determinant of the covariance.
    """
    count = cover.shape[-1]
    root: dict[tuple[int, int], Array] = {}
    for i in range(count):
        for j in range(i + 1):
            rest = cover[..., i, j] - sum(root[i, m] * root[j, m] for m in range(j))
            root[i, j] = np.sqrt(rest) if i == j else rest / root[j, j]
    white = []
    for column in columns:
        done: list[Array] = []
        for i in range(count):
            rest = column[..., i] - sum(root[i, m] * done[m] for m in range(i))
            done.append(rest / root[i, i])
        white.append(np.stack(done, axis=-1))
    log_det = 2.0 * np.sum([np.log(root[i, i]) for i in range(count)], axis=0)
    return white, np.asarray(log_det)
