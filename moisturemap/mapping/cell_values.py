"""Any number on the cells of a floor: what bands, contours and areas are drawn from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.errors import OptionError
from moisturemap.floorplan import CellGrid, Domain

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CellValues:
    """One value a cell.

    Attributes
    ----------
    values : ndarray, shape (ny, nx)
        NaN where nothing is known.
    grid : CellGrid
    domains : tuple of Domain
        Parts of the floor whose values do not run into each other.
    """

    values: Array
    grid: CellGrid
    domains: tuple[Domain, ...]

    def __post_init__(self) -> None:
        if self.values.shape != self.grid.shape:
            message = "values do not fit the cells of the grid"
            raise OptionError(message, value=self.values.shape, allowed=str(self.grid.shape))
