"""Regular lattices among places, and places in squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CLOSE = 1e-4
"""Share of a step by which a place may miss its lattice node."""


@dataclass(frozen=True)
class Lattice:
    """An axis-parallel lattice.

    Attributes
    ----------
    origin : ndarray, shape (d,)
        Lowest node [m].
    step : ndarray, shape (d,)
        Spacing along each axis [m].
    shape : tuple of int
        Nodes along each axis.
    """

    origin: Array
    step: Array
    shape: tuple[int, ...]

    def index(self, points: Array) -> Index:
        """Node numbers (n, d) of places."""
        return np.asarray(np.rint((points - self.origin) / self.step), dtype=np.intp)


def find_lattice(points: Array, least_filled: float = 0.1) -> Lattice | None:
    """Return the lattice on which all places lie, or None.

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Places [m].
    least_filled : float
        Least share of nodes that must be occupied.
    """
    if len(points) < 4 or points.shape[1] != 2:
        return None
    axes = [_axis(column) for column in points.T]
    if any(axis is None for axis in axes):
        return None
    found = [axis for axis in axes if axis is not None]
    shape = tuple(count for _, _, count in found)
    if len(points) < least_filled * np.prod([float(count) for count in shape]):
        return None
    return Lattice(
        np.array([origin for origin, _, _ in found]),
        np.array([step for _, step, _ in found]),
        shape,
    )


def _axis(column: Array) -> tuple[float, float, int] | None:
    """Origin, step and count of the lattice lines along one axis, or None."""
    low, high = float(column.min()), float(column.max())
    if high <= low:
        return None
    grain = (high - low) * 1e-7
    lines = np.unique(np.rint((column - low) / grain)) * grain
    gaps = np.diff(lines)
    step = float(gaps[gaps > 10 * grain].min(initial=np.inf))
    if not np.isfinite(step):
        return None
    count = round((high - low) / step)
    if count < 1 or count > 100_000:
        return None
    step = (high - low) / count
    nodes = (column - low) / step
    if np.abs(nodes - np.rint(nodes)).max() > CLOSE:
        return None
    return low, step, count + 1


def square_groups(places: Array, side: float) -> list[Index]:
    """Group places into squares (cubes) of a side [m]: one index array for each."""
    number = np.floor((places - places.min(axis=0)) / side).astype(np.int64)
    key = np.ravel_multi_index(tuple(number.T), tuple(number.max(axis=0) + 1))
    order = np.argsort(key, kind="stable")
    return list(np.split(order, np.flatnonzero(np.diff(key[order])) + 1))
