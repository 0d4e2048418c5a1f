"""The regular grid of cells that maps are computed on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class CellGrid:
    """Cell centres over the bounding box of a plan.

    Attributes
    ----------
    x, y : ndarray, shape (nx,) and (ny,)
        Cell centres [m], both ascending.
    room : ndarray of int, shape (ny, nx)
        Index into ``plan.rooms``; -1 outside every room.
    domain : ndarray of int, shape (ny, nx)
        Index into the plan's domains; -1 outside every room.
    spacing : float
        Side of a cell [m].
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    room: NDArray[np.intp]
    domain: NDArray[np.intp]
    spacing: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns (ny, nx)."""
        return self.y.size, self.x.size

    @property
    def inside(self) -> NDArray[np.bool_]:
        """True for cells whose centre lies in a room, shape (ny, nx)."""
        inside: NDArray[np.bool_] = self.room >= 0
        return inside

    def centres(self, where: NDArray[np.bool_] | None = None) -> NDArray[np.float64]:
        """Return the centres [m], shape (m, 2), of the cells where the mask is true."""
        mask = self.inside if where is None else where
        row, column = np.nonzero(mask)
        return np.column_stack([self.x[column], self.y[row]])
