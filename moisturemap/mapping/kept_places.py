"""Coordinates of places, kept for the next time they are asked for."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Names = NDArray[np.complex128]

MOST_KEPT = 200_000
"""Places a floor keeps (our choice: 10 MB)."""


class KeptPlaces:
    """Coordinates by place of the plan.

    The same cells are asked for again and again, all of them or some: by the map after each
    reading, by its zones and its holes.
    """

    def __init__(self) -> None:
        self._kept: tuple[Names, Array] | None = None

    def of(self, points: Array, find: Callable[[Array], Array]) -> Array:
        """Return coordinates (m, d) of one or more places (m, 2) [m], new ones by ``find``.

        Parameters
        ----------
        points : ndarray, shape (m, 2)
        find : callable
            Gives the coordinates (k, d) of places (k, 2), each whatever the others.
        """
        names = points[:, 0] + 1j * points[:, 1]
        kept = self._kept  # looked at once, as another thread may replace it meanwhile
        new = np.ones(len(points), dtype=bool) if kept is None else ~_held(kept[0], names)
        if kept is None or new.any():
            sought, first = np.unique(names[new], return_index=True)
            kept = _joined(kept, sought, find(points[new][first]))
            self._kept = kept if len(kept[0]) <= MOST_KEPT else None
        return np.asarray(kept[1][np.searchsorted(kept[0], names)])


def _held(held: Names, names: Names) -> NDArray[np.bool_]:
    at = np.minimum(np.searchsorted(held, names), len(held) - 1)
    return np.asarray(held[at] == names)


def _joined(kept: tuple[Names, Array] | None, names: Names, found: Array) -> tuple[Names, Array]:
    """Names in ascending order, and the coordinates of each."""
    if kept is None:
        return names, found
    together = np.concatenate([kept[0], names])
    order = np.argsort(together)
    return together[order], np.concatenate([kept[1], found])[order]
