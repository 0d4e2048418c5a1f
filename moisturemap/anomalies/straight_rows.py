"""Single high readings that stand in one straight row, as over a pipe the grid is too wide for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FEWEST = 3
"""So many single readings in a straight row are likely one thing (our choice)."""

ASIDE_M = 0.15
"""They lie this near to the line through them, or within the footprint [m] (our choice)."""

GAP, BEYOND = 1.5, 1.5
"""Largest gap between two of a row, and how far it may run on beyond its ends [spacings] (our
choice)."""

STEP_M = 0.1
"""Steps in which a course is kept [m]."""


def courses_of_rows(points: Array, spacing: float, footprint: float) -> Array:
    """Return the courses through straight rows of single readings and on beyond their ends.

    Parameters
    ----------
    points : ndarray, shape (k, 2)
        Places of single readings that stand high [m].
    spacing : float
        Of the grid [m].
    footprint : float
        Of the meter [m].

    Returns
    -------
    ndarray, shape (m, 2)
        Places along the courses, every 0.1 m.
    """
    kept = [np.empty((0, 2))]
    for k, start in enumerate(points):
        for end in points[k + 1 :]:
            length = float(np.hypot(*(end - start)))
            if not 0.0 < length <= GAP * spacing:
                continue
            way = (end - start) / length
            along = (points - start) @ way
            across = np.abs((points - start) @ np.array([-way[1], way[0]]))
            row = _run(np.sort(along[across <= max(ASIDE_M, footprint)]), GAP * spacing)
            if row.size >= FEWEST:
                low, high = row[0] - BEYOND * spacing, row[-1] + BEYOND * spacing
                steps = np.arange(low, high + STEP_M, STEP_M)
                kept.append(start + steps[:, None] * way)
    return np.concatenate(kept)


def _run(along: Array, gap: float) -> Array:
    """Return those of some places along a line that are linked to the one at 0 by short gaps."""
    parts = np.split(along, np.flatnonzero(np.diff(along) > gap) + 1)
    return next(part for part in parts if part[0] <= 0.0 <= part[-1])
