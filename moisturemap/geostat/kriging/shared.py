"""Several covariances over the same readings, kriged tile by tile together.

Method: docs/method/kriging.md, "Many readings".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat.kriging.distances import Distances
from moisturemap.geostat.kriging.tiles import Tiling, neighbours_of
from moisturemap.geostat.kriging.workers import work_through

if TYPE_CHECKING:
    from moisturemap.geostat.kriging.neighbourhood import NeighbourhoodKriging

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Progress = Callable[[str, float], None] | None

BATCH = 1024
"""Tiles whose neighbours are looked up at once; bounds memory."""

CHUNK = 256
"""Cells of a tile solved at once: their covariances fit the processor's cache."""

PARTS = 8
"""Batches at least, where tiles differ: the same on every machine, so that sums round alike."""


@dataclass(frozen=True)
class _Batch:
    """What a batch of tiles adds to the means of some cells, and the variances of others."""

    members: Index
    means: Array
    tiles: Index
    variances: Array


@dataclass(frozen=True)
class SharedTiles:
    """A weighted mixture of krigings that share tiles, neighbours and distances.

    The mean is the mixture's; the variance is the weighted one within plus that between (law of
    total variance).

    Attributes
    ----------
    parts : tuple of NeighbourhoodKriging
        Over the same readings.
    weights : ndarray, shape (k,)
        Sum to 1.
    """

    parts: tuple[NeighbourhoodKriging, ...]
    weights: Array

    @property
    def lead(self) -> NeighbourhoodKriging:
        """Heaviest part: it lays the tiles."""
        return self.parts[int(self.weights.argmax())]

    def predict(self, cells: Array, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and standard deviation of the noise-free field at cells (m, d): each (m,)."""
        mean, variance = np.zeros(len(cells)), np.empty(len(cells))
        if len(cells) == 0:
            return mean, variance
        columns = self.lead.drift(cells)
        tiling = self.lead.tiling(self.lead.model.isotropic(cells))
        repeats = all(part.repeats(tiling) for part in self.parts)
        size = BATCH if repeats else min(BATCH, -(-len(tiling.tiles) // PARTS))

        def solve(batch: slice) -> _Batch:
            near = neighbours_of(self.lead.tree, tiling.centres[batch], tiling.count)
            if repeats:
                return self._solve_repeating(tiling, batch, near, cells)
            return self._solve_each(tiling, batch, near, (cells, columns))

        def collect(part: _Batch) -> None:
            mean[:] += np.bincount(part.members, weights=part.means, minlength=len(mean))
            variance[part.tiles] = part.variances

        work_through(
            tiling.batches(size),
            solve,
            collect,
            None if progress is None else lambda done: progress("kriging", done),
        )
        return mean, np.sqrt(np.maximum(variance, 0.0))

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and sd of each pooled place, predicted from its neighbours.

        The closed form of :meth:`Kriging.leave_one_out` within each tile's neighbourhood.
        """
        places = self.lead.places
        residual, sd = np.empty(len(places)), np.empty(len(places))
        tiling = self.lead.tiling(places)
        for batch in tiling.batches(BATCH):
            near = neighbours_of(self.lead.tree, tiling.centres[batch], tiling.count)
            for tile, some in zip(tiling.tiles[batch], near, strict=True):
                group = np.union1d(some, tile)
                inside = np.searchsorted(group, tile)
                among = Distances(self.lead.observations.points[group])
                pairs = [part.left_out(group, inside, among) for part in self.parts]
                residual[tile], sd[tile] = blend(self.weights, pairs)
        return residual, sd

    def _solve_each(
        self, tiling: Tiling, batch: slice, near: Index, at: tuple[Array, Array]
    ) -> _Batch:
        """Krige the tiles of a batch one by one."""
        cells, columns = at
        means, variances = [], []
        for number, some in zip(range(batch.start, batch.stop), near, strict=True):
            tile, member = tiling.tiles[number], tiling.members[number]
            whole, mixed, spread = self._tile(some, cells[member], (columns[member], len(tile)))
            means.append(_added(tiling.shares[number], whole, mixed))
            variances.append(spread)
        return _Batch(
            np.concatenate(tiling.members[batch]),
            np.concatenate(means),
            np.concatenate(tiling.tiles[batch]),
            np.concatenate(variances),
        )

    def _tile(self, some: Index, cells: Array, at: tuple[Array, int]) -> tuple[Array, Array, Array]:
        """Krige a tile's cells from some readings.

        Returns the lead's mean at all of them, and the mixture's mean and variance at the tile's
        own, the first.
        """
        columns, own = at
        readings = self.lead.observations.points[some]
        among = Distances(readings)
        systems = [part.system(some, among, own) for part in self.parts]
        lead = int(self.weights.argmax())
        mean, mixed, variance = np.empty(len(cells)), np.empty(own), np.empty(own)
        for start in range(0, own, CHUNK):
            these = slice(start, min(start + CHUNK, own))
            apart = Distances(cells[these], readings)
            solved = [
                part.solve_cells(system, apart, columns[these])
                for part, system in zip(self.parts, systems, strict=True)
            ]
            means, variances = (np.array(one) for one in zip(*solved, strict=True))
            mixed[these], variance[these] = _mixed(self.weights, means, variances)
            mean[these] = means[lead]
        for start in range(own, len(cells), CHUNK):
            these = slice(start, start + CHUNK)
            apart = Distances(cells[these], readings)
            mean[these] = self.lead.means_at(systems[lead], apart, columns[these])
        return mean, mixed, variance

    def _solve_repeating(self, tiling: Tiling, batch: slice, near: Index, cells: Array) -> _Batch:
        """Krige the tiles of a batch, solving tiles that look alike once."""
        tiles, members = tiling.tiles[batch], tiling.members[batch]
        shares = tiling.shares[batch]
        means: list[Array] = [np.empty(0)] * len(tiles)
        variances: list[Array] = [np.empty(0)] * len(tiles)
        for group in _alike(tiling, (tiles, members), self.lead.places[near], cells):
            first = int(group[0])
            there, own = cells[members[first]], len(tiles[first])
            solved = [
                part.solve_pattern(
                    near[first], there if part is self.lead else there[:own], own, near[group]
                )
                for part in self.parts
            ]
            whole = solved[int(self.weights.argmax())][0]
            for row, one in enumerate(group):
                mixed, variances[one] = _mixed(
                    self.weights,
                    np.array([found[row, :own] for found, _ in solved]),
                    np.array([spread for _, spread in solved]),
                )
                means[one] = _added(shares[first], whole[row], mixed)
        return _Batch(
            np.concatenate(members),
            np.concatenate(means),
            np.concatenate(tiles),
            np.concatenate(variances),
        )


def _mixed(weights: Array, means: Array, variances: Array) -> tuple[Array, Array]:
    """Mean and variance (m,) of a mixture of (k, m)."""
    if len(weights) == 1:
        return means[0], variances[0]
    mean = weights @ means
    return mean, weights @ (variances + (means - mean) ** 2)


def _added(share: Array, whole: Array, mixed: Array) -> Array:
    """Return what a tile adds to the means of its members.

    The lead's mean passes into that of the next tile in the band between them; what the mixture's
    differs by, which is little, is that of each cell's own tile.
    """
    added = share * whole
    added[: len(mixed)] += mixed - whole[: len(mixed)]
    return np.asarray(added)


def blend(weights: Array, pairs: list[tuple[Array, Array]]) -> tuple[Array, Array]:
    """Mean and sd of a mixture of (mean, sd)."""
    if len(pairs) == 1:
        return pairs[0]
    means = np.array([mean for mean, _ in pairs])
    spreads = np.array([sd for _, sd in pairs])
    mean = weights @ means
    variance = weights @ (spreads**2 + (means - mean) ** 2)
    return mean, np.sqrt(variance)


def _alike(
    tiling: Tiling, parts: tuple[list[Index], list[Index]], near: Array, cells: Array
) -> list[Index]:
    """Group the tiles whose readings (t, k, 2) and cells lie alike."""
    tiles, members = parts
    if tiling.readings is None or tiling.cells is None:
        return [np.array([one]) for one in range(len(tiles))]
    nodes = tiling.readings.index(near.reshape(-1, 2)).reshape(near.shape)
    corner = tiling.readings.origin + nodes[:, 0] * tiling.readings.step
    nodes = nodes - nodes[:, :1]
    grain = 1e-3 * tiling.cells.step
    groups: dict[bytes, list[int]] = {}
    for one, (tile, member) in enumerate(zip(tiles, members, strict=True)):
        where = np.rint((cells[member] - corner[one]) / grain).astype(np.int64)
        key = nodes[one].tobytes() + where.tobytes() + len(tile).to_bytes(8, "little")
        groups.setdefault(key, []).append(one)
    return [np.array(group) for group in groups.values()]
