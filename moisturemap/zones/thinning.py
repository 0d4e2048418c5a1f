"""Thinning of map cells to affordable places that stand for blocks of cells."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Index = NDArray[np.intp]


def block_side(mask: Mask, most: int) -> int:
    """Return the side of square blocks, in cells, that leaves at most so many of them.

    Parameters
    ----------
    mask : ndarray of bool, shape (ny, nx)
        Cells that count.
    most : int
        Most blocks wanted.
    """
    side = max(1, int(np.sqrt(mask.sum() / most) * 0.8))
    while _number(mask, side) > most:
        side += 1
    return side


def _number(mask: Mask, side: int) -> int:
    row, column = np.nonzero(mask)
    return int(np.unique(_block(row, column, mask.shape[1], side)).size)


def _block(row: Index, column: Index, width: int, side: int) -> Index:
    return np.asarray((row // side) * (width // side + 1) + column // side)


def thin(
    mask: Mask, side: int, key: NDArray[np.float64] | None = None
) -> tuple[Index, Index, NDArray[np.float64]]:
    """Return for each block one masked cell, and how many it stands for.

    Parameters
    ----------
    mask : ndarray of bool, shape (ny, nx)
        Cells that count.
    side : int
        Side of a block, in cells.
    key : ndarray, shape (ny, nx), optional
        The cell of least key stands for its block; among equals, and without a key, the one
        nearest the middle.

    Returns
    -------
    row, column : ndarray of int, shape (m,)
    weight : ndarray, shape (m,)
        Masked cells in the block.
    """
    row, column = np.nonzero(mask)
    block = _block(row, column, mask.shape[1], side)
    middle = (side - 1) / 2
    off = (row % side - middle) ** 2 + (column % side - middle) ** 2
    first_by = np.zeros(row.size) if key is None else key[row, column]
    order = np.lexsort((off, first_by, block))
    _, first, count = np.unique(block[order], return_index=True, return_counts=True)
    chosen = order[first]
    return row[chosen], column[chosen], count.astype(float)
