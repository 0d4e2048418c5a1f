"""Tiles of cells that share their neighbouring readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.lattice import Lattice, find_lattice

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SIDES = (4.0, 5.0, 6.0, 8.0)
"""Sides of a tile that are tried, in typical distances between readings; the cheapest is taken."""

KERNEL, CALLS = 90.0, 4e5
"""Cost of a covariance and of the calls for a tile, in multiplications (measured, one thread)."""

WIDEST = 1.25
"""Side of a tile in wanted sides to which it is lengthened so that one fewer parts an extent."""

COARSE_SIDE, COARSE_MARGIN = 8.0, 1.6
"""Side and margin where cells are as coarse as the readings and no seam can show."""

MARGINS = (2.5, 3.0, 4.0, 5.0)
"""Reach of the neighbours beyond the tile that is tried, in typical distances."""

TOLERANCE = 0.08
"""Share of the sd by which farther readings may still move a mean at the corner of a tile."""

SAMPLED = 600
"""Most places whose neighbours are looked at for a typical distance: it is known to a hundredth."""

MANY, CLUMPS = 20_000, 7
"""Points from which only clumps of them are looked at for their gap, and how many clumps."""

FEWEST, MOST_CELLS = 100, 1024
"""Least neighbours of a tile, and most cells in it."""

OVERLAP, WIDEST_OVERLAP = 0.6, 0.2
"""Half-width of the band in which tiles pass into each other, in typical distances, and at most in
tile sides."""

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
        Cells of each tile; every cell is in one.
    members : list of ndarray of int
        Cells whose mean the tile takes part in: first its own, then those in the band around it.
    shares : list of ndarray
        The tile's share in the mean of each member; the shares of a cell sum to 1.
    centres : ndarray, shape (t, d)
        Centres of the tiles [m].
    count : int
        Neighbours of a tile.
    readings, cells : Lattice or None
        Common lattices on which equal tiles repeat; None when they do not.
    """

    tiles: list[Index]
    members: list[Index]
    shares: list[Array]
    centres: Array
    count: int
    readings: Lattice | None = None
    cells: Lattice | None = None

    def batches(self, size: int) -> Iterator[slice]:
        """Slices over the tiles."""
        for start in range(0, len(self.tiles), size):
            yield slice(start, min(start + size, len(self.tiles)))


@dataclass(frozen=True)
class Layout:
    """Readings in coordinates in which the field is isotropic; asked for one hole after the other.

    Attributes
    ----------
    points : ndarray, shape (n, d)
        Places [m].
    """

    points: Array

    @cached_property
    def gap(self) -> float:
        """Typical distance between readings [m]."""
        return typical_gap(self.points)

    @cached_property
    def lattice(self) -> Lattice | None:
        """Lattice all readings lie on, if there is one."""
        return find_lattice(self.points)

    @cached_property
    def tree(self) -> cKDTree:
        """Readings by place."""
        return cKDTree(self.points)


def lay_tiles(readings: Layout, cells: Array, model: Covariance, noise: float) -> Tiling:
    """Part cells into tiles and say how many readings each shares.

    Parameters
    ----------
    readings : Layout
    cells : ndarray, shape (m, d)
        Places to map, likewise [m].
    model : Covariance
        Isotropic.
    noise : float
        Typical noise variance of a reading.
    """
    gap = readings.gap
    fineness = typical_gap(cells)
    fine = fineness <= 0.9 * gap
    margin = needed_margin(model, gap, noise) if fine else COARSE_MARGIN
    wide = _cheapest_side(margin, (gap / fineness) ** 2) if fine else COARSE_SIDE
    side = min(wide * gap, fineness * np.sqrt(MOST_CELLS))
    common, lattice = _common_lattice(readings.lattice, cells, side)
    axes = np.eye(cells.shape[1])
    if lattice is not None and common is not None:
        sides = np.full(cells.shape[1], _repeating_side(common, lattice, side))
        low = lattice.origin - 0.5 * lattice.step
    else:
        axes = _axes(cells)
        cells = cells @ axes
        low, sides = cells.min(axis=0), _even_sides(cells, side)
    wanted = int(np.ceil((np.minimum(sides, WIDEST * side)[:2] / gap + 2.0 * margin).prod()))
    count = min(max(wanted, FEWEST), len(readings.points))
    band = np.minimum(OVERLAP * gap / sides, WIDEST_OVERLAP) if fine else np.zeros(len(sides))
    tiling = _cut(cells, sides, low - 1e-9 * sides, band)
    if lattice is None and cells.shape[1] > 2:
        # a sheet fills no tile: its middle there is that of its cells
        tiling.centres[:, 2] = [cells[tile, 2].mean() for tile in tiling.tiles]
    centres = tiling.centres @ axes.T
    return replace(tiling, centres=centres, count=count, readings=common, cells=lattice)


def neighbours_of(tree: cKDTree, centres: Array, count: int) -> Index:
    """Find the readings nearest to each centre, in ascending order: shape (t, count)."""
    found = tree.query(centres, k=np.arange(1, count + 1), p=ROUNDNESS)[1]
    return np.sort(np.asarray(found, dtype=np.intp), axis=1)


def typical_gap(points: Array) -> float:
    """Distance between neighbours of an even layout of the same local density [m].

    Of many points a few clumps are looked at.
    """
    if len(points) < 2:
        return 1.0
    if len(points) <= MANY:
        return _gap(points, points[:: len(points) // SAMPLED + 1]) or 1.0
    reach = 0.5 * np.ptp(points, axis=0) * np.sqrt(2000.0 / len(points))
    gaps = []
    for centre in points[:: len(points) // CLUMPS]:
        away = np.abs(points - centre)
        clump = points[(away <= 1.5 * reach).all(axis=1)]
        inner = clump[(np.abs(clump - centre) <= reach).all(axis=1)]
        gaps.append(_gap(clump, inner[:: len(inner) // 400 + 1]))
    return float(np.median(gaps)) or 1.0


def _gap(points: Array, sample: Array) -> float:
    near = min(16, len(points))
    reach = np.asarray(cKDTree(points).query(sample, k=near)[0])[:, -1]
    return float(np.median(reach)) * float(np.sqrt(np.pi / near))


@lru_cache(maxsize=256)
def needed_margin(model: Covariance, gap: float, noise: float) -> float:
    """How far beyond a tile readings still matter, in typical distances.

    On a lattice of readings, the mean at a tile's corner moves by the root of the difference of
    two kriging variances when readings beyond the margin are left out. Smooth fields read with
    noise need a wider margin than rough ones.
    """
    axis = np.arange(-9.5, 10.0)
    x, y = np.meshgrid(axis, axis)
    places = gap * np.column_stack([x.ravel(), y.ravel()])
    least = places.min(axis=1) / gap
    cross = model.between(places, np.zeros((1, 2)))[:, 0]
    matrix = model.between(places, places)
    matrix.ravel()[:: len(places) + 1] += noise + 1e-9 * model.variance

    def explained(chosen: Index) -> float:
        part = np.linalg.solve(matrix[np.ix_(chosen, chosen)], cross[chosen])
        return float(cross[chosen] @ part)

    whole = explained(np.arange(len(places)))
    allowed = TOLERANCE**2 * max(model.variance - whole, 1e-12 * model.variance)
    for margin in MARGINS:
        if whole - explained(np.flatnonzero(least >= -margin)) <= allowed:
            return margin
    return MARGINS[-1]


def _cheapest_side(margin: float, density: float) -> float:
    """Side of a tile at which a cell costs least, with so many cells for each reading.

    A cell costs the square of the neighbours in solving and their number in covariances, and its
    share of the tile's factor and calls.
    """

    def cost(side: float) -> float:
        near = max((side + 2.0 * margin) ** 2, FEWEST)
        cells = side**2 * density
        return near**2 + KERNEL * near + (near**3 / 3.0 + KERNEL * near**2 + CALLS) / cells

    return min(SIDES, key=cost)


def _axes(cells: Array) -> Array:
    """Axes along which cells (m, d) are cut, in columns: (d, d).

    A floor unrolled round its corners is a sheet in three dimensions, nearly level between its two
    longest principal axes.
    """
    if cells.shape[1] < 3 or len(cells) < 3:
        return np.eye(cells.shape[1])
    return np.asarray(np.linalg.eigh(np.cov(cells.T))[1][:, ::-1])


def _even_sides(cells: Array, side: float) -> Array:
    """Sides of tiles (d,) that part cells (m, d) evenly, each near the wanted one.

    A tile that holds a few cells of an edge costs as much as a whole one. A sheet that rises by no
    more than a side within a tile is not cut across.
    """
    low, extent = cells.min(axis=0), np.ptp(cells, axis=0)
    number = np.maximum(np.ceil(extent / side - (WIDEST - 1.0)), 1.0)
    sides = np.maximum(extent, 1e-3 * side) * (1.0 + 1e-6) / number
    if len(sides) > 2 and number[2] > 1.0:
        whole = np.array([*sides[:2], number[2] * sides[2]])
        tiles = _cut(cells, whole, low - 1e-9 * whole, np.zeros(3)).tiles
        if max(np.ptp(cells[tile, 2]) for tile in tiles) <= WIDEST * side:
            return whole
    return np.asarray(sides)


def _cut(cells: Array, side: Array, low: Array, overlap: Array) -> Tiling:
    """Cut cells into tiles of sides (d,) that pass into each other in a band (d,) of sides."""
    where = (cells - low) / side
    own = np.floor(where).astype(np.int64)
    first = own.min(axis=0) - 1
    size = tuple(own.max(axis=0) - first + 2)
    key = np.ravel_multi_index(tuple((own - first).T), size)
    keys, tiles = _grouped(key)
    members, shares = tiles, [np.ones(len(tile)) for tile in tiles]
    if (overlap > 0.0).any():
        cell, tile, share = _shared((where, own - first), size, keys, overlap)
        order = np.argsort(tile, kind="stable")
        edges = np.searchsorted(tile[order], np.arange(1, len(keys)))
        members = list(np.split(cell[order], edges))
        shares = list(np.split(share[order], edges))
    corner = np.column_stack(np.unravel_index(keys, size)) + first
    centres = low + (corner + 0.5 + OFFSET[: cells.shape[1]]) * side
    return Tiling(tiles, members, shares, centres, 0)


def _grouped(key: NDArray[np.int64]) -> tuple[NDArray[np.int64], list[Index]]:
    """Distinct keys in ascending order, and which entries carry each."""
    order = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[order], prepend=-1))
    return key[order][starts], list(np.split(order, starts[1:]))


def _shared(
    at: tuple[Array, NDArray[np.int64]],
    size: tuple[int, ...],
    keys: NDArray[np.int64],
    overlap: Array,
) -> tuple[Index, Index, Array]:
    """Pairs of cell and tile with the tile's share; shares fall linearly across the band."""
    where, own = at
    inside = where - np.floor(where)
    to_edge = np.minimum(inside, 1.0 - inside)
    other = np.where(to_edge < overlap, 0.5 * (1.0 - to_edge / overlap), 0.0)
    step = np.where(inside < 0.5, -1, 1)
    cells, tiles, shares = [], [], []
    for across in product((False, True), repeat=where.shape[1]):
        mask = np.array(across)
        share = np.where(mask, other, 1.0 - other).prod(axis=1)
        cell = np.flatnonzero(share > 0)
        key = np.ravel_multi_index(tuple((own + mask * step)[cell].T), size)
        tile = np.minimum(np.searchsorted(keys, key), len(keys) - 1)
        there = keys[tile] == key
        cells.append(cell[there])
        tiles.append(tile[there])
        shares.append(share[cell][there])
    cell, share = np.concatenate(cells), np.concatenate(shares)
    total = np.bincount(cell, weights=share, minlength=len(where))
    return cell, np.concatenate(tiles), share / total[cell]


def _common_lattice(
    readings: Lattice | None, cells: Array, side: float
) -> tuple[Lattice | None, Lattice | None]:
    """Lattices of readings and cells when tiles can repeat on them."""
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
