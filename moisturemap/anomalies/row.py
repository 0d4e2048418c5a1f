"""Rows of readings that were keyed in one place too far along."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST = 6
"""Shortest row that is judged [readings]."""

CLEAR = 0.7
"""A shift is reported when it leaves at most this share of the misfit to both sides."""

CAP = 3.0
"""Misfits are capped at this many times their median: a value that came round from the far
end, or lies over a pipe, must not decide."""

SURE = 3.3
"""And when the misfit falls by this many standard errors."""


@dataclass(frozen=True)
class ShiftedRow:
    """A row that fits its neighbours better when moved along.

    Attributes
    ----------
    axis : str
        ``"y"`` for a row along x at one y, ``"x"`` for a row along y.
    place : float
        The row's y or x [m].
    by : int
        Places its values should move along the axis to fit.
    """

    axis: str
    place: float
    by: int


def _lattice(points: Array, values: Array, spacing: float) -> tuple[Array, Array, Array] | None:
    """Return readings as a table (rows y, columns x), NaN where none; None when not on a grid."""
    offset = (points - points.min(axis=0)) / spacing
    node = np.round(offset).astype(int)
    if np.abs(offset - node).max() > 0.2:
        return None
    shape = node.max(axis=0) + 1
    if shape.min() < 4 or shape.prod() > 4 * len(points):
        return None
    table = np.full((shape[1], shape[0]), np.nan)
    table[node[:, 1], node[:, 0]] = values
    low = points.min(axis=0)
    return table, low[0] + spacing * np.arange(shape[0]), low[1] + spacing * np.arange(shape[1])


def _moved(row: Array, by: int) -> Array:
    moved = np.full_like(row, np.nan)
    if by > 0:
        moved[by:] = row[:-by]
    elif by < 0:
        moved[:by] = row[-by:]
    else:
        moved[:] = row
    return moved


def _shift_of(row: Array, beside: Array) -> int:
    """Places a row should move to fit the mean of its neighbours; 0 when it fits as it is."""
    best, found = np.inf, 0
    for by in (-1, 1):
        moved = _moved(row, by)
        both = ~np.isnan(row) & ~np.isnan(moved) & ~np.isnan(beside)
        if both.sum() < LEAST:
            continue
        still, shifted = np.abs(row - beside)[both], np.abs(moved - beside)[both]
        cap = CAP * np.median(still)
        gain = np.minimum(still, cap) - np.minimum(shifted, cap)
        error = gain.std(ddof=1) / np.sqrt(gain.size)
        sure = gain.mean() > SURE * error
        left = float(np.minimum(shifted, cap).sum() / max(np.minimum(still, cap).sum(), 1e-12))
        if sure and left <= CLEAR and left < best:
            best, found = left, by
    return found


def shifted_rows(points: Array, values: Array, spacing: float) -> tuple[ShiftedRow, ...]:
    """Find rows of a grid that fit the rows on both sides better when moved by one place.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Places [m].
    values : ndarray, shape (n,)
    spacing : float
        Spacing of the grid [m].
    """
    grid = _lattice(points, values, spacing)
    if grid is None:
        return ()
    table, x, y = grid
    found = []
    for axis, rows, places in (("y", table, y), ("x", table.T, x)):
        for index in range(1, len(rows) - 1):
            beside = 0.5 * (rows[index - 1] + rows[index + 1])
            by = _shift_of(rows[index], beside)
            if by:
                found.append(ShiftedRow(axis, float(places[index]), by))
    return tuple(found)
