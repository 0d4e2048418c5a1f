"""Tiles of cells that share their neighbouring readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat.lattice import Lattice, find_lattice, square_tiles

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FINE = (6.0, 2.5)
COARSE = (7.0, 2.0)
"""Side of a tile, and reach of its neighbours beyond it, in typical distances between readings:
for cells finer than the readings, where the least seam would show, and for cells as coarse."""

FEWEST, MOST_CELLS = 100, 1024
"""Least neighbours of a tile, and most cells in it."""

ROUNDNESS = 4.0
"""Minkowski exponent of the neighbourhood: between a disc (2) and a square (infinite)."""

OFFSET = np.array([0.00137, 0.00071, 0.00043])
"""Shift of a tile's centre in tile sides, so that ties between neighbours fall alike everywhere."""


@dataclass(frozen=True)
class Tiling:
    """Cells in tiles, each tile with the same number of neighbouring readings.

    Attributes
    ----------
    tiles : list of ndarray of int
        Cells of each tile.
    centres : ndarray, shape (t, d)
        Centres of the tiles [m].
    count : int
        Neighbours of a tile.
    readings, cells : Lattice or None
        Common lattices on which equal tiles repeat; None when they do not.
    """

    tiles: list[Index]
    centres: Array
    count: int
    readings: Lattice | None = None
    cells: Lattice | None = None

    def batches(self, size: int) -> Iterator[slice]:
        """Slices over the tiles."""
        for start in range(0, len(self.tiles), size):
            yield slice(start, min(start + size, len(self.tiles)))


def lay_tiles(points: Array, cells: Array) -> Tiling:
    """Part cells into tiles and say how many readings each shares.

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Readings, in coordinates in which the field is isotropic [m].
    cells : ndarray, shape (m, d)
        Places to map, likewise [m].
    """
    gap, fineness = typical_gap(points), typical_gap(cells)
    wide, margin = COARSE if fineness > 0.9 * gap else FINE
    side = min(wide * gap, fineness * np.sqrt(MOST_CELLS))
    low = cells.min(axis=0)
    readings, lattice = _common_lattice(points, cells, side)
    if lattice is not None and readings is not None:
        side = _repeating_side(readings, lattice, side)
        low = lattice.origin - 0.5 * lattice.step
    tiles = square_tiles(cells, side, low - 1e-9 * side)
    first = np.array([cells[tile[0]] for tile in tiles]).reshape(-1, cells.shape[1])
    centres = (np.floor((first - low + 1e-9 * side) / side) + 0.5) * side + low
    centres = centres + OFFSET[: cells.shape[1]] * side
    wanted = int(np.ceil((side / gap + 2.0 * margin) ** 2))
    count = min(max(wanted, FEWEST), len(points))
    return Tiling(tiles, centres, count, readings, lattice)


def neighbours_of(tree: cKDTree, centres: Array, count: int) -> Index:
    """Find the readings nearest to each centre, in ascending order: shape (t, count)."""
    found = tree.query(centres, k=np.arange(1, count + 1), p=ROUNDNESS)[1]
    return np.sort(np.asarray(found, dtype=np.intp), axis=1)


def typical_gap(points: Array) -> float:
    """Distance between neighbours of an even layout of the same local density [m]."""
    if len(points) < 2:
        return 1.0
    sample = points[:: len(points) // 2000 + 1]
    near = min(16, len(points))
    reach = cKDTree(points).query(sample, k=near)[0][:, -1]
    gap = float(np.median(reach)) * np.sqrt(np.pi / near)
    return gap if gap > 0 else 1.0


def _common_lattice(
    points: Array, cells: Array, side: float
) -> tuple[Lattice | None, Lattice | None]:
    """Lattices of readings and cells when tiles can repeat on them."""
    readings = find_lattice(points)
    if readings is None:
        return None, None
    lattice = find_lattice(cells)
    if lattice is None or _repeating_side(readings, lattice, side) == 0.0:
        return None, None
    return readings, lattice


def _repeating_side(readings: Lattice, cells: Lattice, side: float) -> float:
    """Side near the wanted one that is a whole number of steps of both lattices; 0 if none is."""
    if abs(cells.step[0] - cells.step[1]) > 1e-6 * cells.step[0]:
        return 0.0
    step = float(cells.step[0])
    wanted = max(1, round(side / step))
    for number in sorted(range(1, 2 * wanted + 1), key=lambda one: (abs(one - wanted), one)):
        ratio = number * step / readings.step
        if np.abs(ratio - np.rint(ratio)).max() < 1e-4 and number**2 <= 4 * MOST_CELLS:
            return number * step
    return 0.0
