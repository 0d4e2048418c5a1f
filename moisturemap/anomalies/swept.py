"""Sweeps: short rows of readings close together, and what they settle.

A sweep is read across what the grid could not tell. Its readings stand close together in a row, so
they must not be searched for courses as a grid is: whatever runs along the row would look like a
line. The grid alone says what is contested; the sweeps say what that is.
Method: docs/method/anomalies.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

LEAST = 5
"""Fewest readings of a sweep."""

MOST_STEP_M, MOST_SHARE = 0.25, 0.7
"""Longest step of a sweep [m], [spacings of the scan]."""

CROSSES_M = 0.12
"""A sweep crosses what it passes this near [m]: a grid places a thing no better."""

UNEVEN_M = 0.08
"""A reading of a sweep may lie this far from where the last two lead to [m]."""


def runs_of(points: Array, spacing: float) -> list[Index]:
    """Return the sweeps among some readings: evenly on, in one direction, in short steps.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Places in the order they were read [m].
    spacing : float
        Spacing of the scan [m].
    """
    most = min(MOST_STEP_M, MOST_SHARE * spacing)
    step = np.diff(points, axis=0)
    short = np.hypot(*step.T) <= most
    on = short[1:] & short[:-1] & (np.hypot(*np.diff(step, axis=0).T) <= UNEVEN_M)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(np.int8), [0]])))
    runs = [np.arange(first, last + 2) for first, last in edges.reshape(-1, 2)]
    return [run for run in runs if run.size >= LEAST]


def crossed(points: Array, runs: list[Index], geometry: BaseGeometry) -> bool:
    """Whether one of some sweeps, as :func:`runs_of` finds them, crosses a line or a place."""
    return any(geometry.distance(LineString(points[run])) <= CROSSES_M for run in runs)


def of_sweeps(points: Array, spacing: float) -> Mask:
    """Return which readings were read in sweeps, as :func:`runs_of` finds them."""
    swept = np.zeros(len(points), dtype=bool)
    for run in runs_of(points, spacing):
        swept[run] = True
    return swept
