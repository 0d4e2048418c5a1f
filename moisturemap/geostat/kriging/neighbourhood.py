"""Kriging of many readings: tiles of cells share their neighbours and one factorisation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import blas, lapack
from scipy.spatial import cKDTree

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.kriging.exact import Kriging
from moisturemap.geostat.kriging.tiles import Tiling, lay_tiles, neighbours_of
from moisturemap.geostat.kriging.workers import work_through
from moisturemap.geostat.observations import checked_points, even_sample, pool
from moisturemap.geostat.simulation import conditional_draws

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Progress = Callable[[str, float], None] | None

BATCH = 1024
"""Tiles whose neighbours are looked up at once; bounds memory."""

PARTS = 8
"""Batches at least, where tiles differ: the same on every machine, so that sums round alike."""

DRIFT_READINGS = 800
"""Readings from which the drift is estimated, once for the whole floor."""

BLOCK_CELLS, BLOCK_READINGS = 1500, 1500
"""Most cells and readings a block mean is computed from."""


@dataclass(frozen=True)
class _Part:
    """What a batch of tiles adds to the means of some cells, and the variances of others."""

    members: Index
    means: Array
    tiles: Index
    variances: Array


class NeighbourhoodKriging:
    """Kriging in neighbourhoods shared by tiles of cells.

    The drift is estimated once over the whole floor, from an even sample; its residuals are kriged
    in each tile from all readings in and around the tile, so that one Cholesky factor serves every
    cell of the tile. Readings and cells on lattices repeat the same tile over and over: it is
    solved once.

    Parameters
    ----------
    points, values, model, noise_sd, drift
        As for :class:`Kriging`.
    """

    def __init__(
        self,
        points: ArrayLike,
        values: ArrayLike,
        model: Covariance,
        noise_sd: ArrayLike | None = None,
        *,
        drift: Drift = constant,
    ) -> None:
        self.model = model
        self.drift = drift
        self.observations = pool(points, values, noise_sd)
        data = self.observations
        self._places = model.isotropic(data.points)
        self._round = replace(model, anisotropy=1.0, angle_deg=0.0)
        self._tree = cKDTree(self._places)
        self._noise = data.noise_with(model.nugget)
        self._columns = drift(data.points)
        self.coefficients, self._spread = self._whole_drift()
        self._residual = data.values - self._columns @ self.coefficients

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and standard deviation of the noise-free field at cells (m, d): each (m,)."""
        places = checked_points(cells, "cells")
        columns = self.drift(places)
        mean, variance = columns @ self.coefficients, np.empty(len(places))
        if len(places) == 0:
            return mean, variance
        round_places = self.model.isotropic(places)
        tiling = self._tiling(round_places)
        repeats = self._repeats(tiling)
        solve = self._solve_repeating if repeats else self._solve_each
        size = BATCH if repeats else min(BATCH, -(-len(tiling.tiles) // PARTS))

        def collect(part: _Part) -> None:
            mean[:] += np.bincount(part.members, weights=part.means, minlength=len(mean))
            variance[part.tiles] = part.variances

        work_through(
            tiling.batches(size),
            lambda batch: solve(tiling, batch, (round_places, columns)),
            collect,
            None if progress is None else lambda done: progress("kriging", done),
        )
        return mean, np.sqrt(np.maximum(variance, 0.0))

    def deviations(self, cells: ArrayLike, progress: Progress = None) -> Array:
        """Return the standard deviation of the noise-free field at cells (m, d): (m,)."""
        return self.predict(cells, progress)[1]

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and standard deviation of a new reading: the field plus nugget and noise."""
        mean, sd = self.predict(cells)
        return mean, np.sqrt(sd**2 + self.model.nugget + noise_sd**2)

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and sd of each pooled place, predicted from its neighbours.

        The closed form of :meth:`Kriging.leave_one_out` within each tile's neighbourhood.
        """
        count = len(self._places)
        residual, sd = np.empty(count), np.empty(count)
        tiling = self._tiling(self._places)
        tiling = replace(tiling, readings=None, cells=None)
        for batch in tiling.batches(BATCH):
            near = neighbours_of(self._tree, tiling.centres[batch], tiling.count)
            for tile, some in zip(tiling.tiles[batch], near, strict=True):
                group = np.union1d(some, tile)
                residual[tile], sd[tile] = self._left_out(group, np.searchsorted(group, tile))
        return residual, sd

    def means(self, cells: Array, values: Array) -> Array:
        """Kriged means (m, r) of other values (n, r) at the same readings."""
        coefficients = self._coefficients_of(values)
        residual = values - self._columns @ coefficients
        mean = self.drift(cells) @ coefficients
        places = self.model.isotropic(cells)
        tiling = self._tiling(places)
        for batch in tiling.batches(BATCH):
            near = neighbours_of(self._tree, tiling.centres[batch], tiling.count)
            for member, share, some in zip(
                tiling.members[batch], tiling.shares[batch], near, strict=True
            ):
                right = lapack.dpotrs(self._factor(some).T, residual[some], lower=0)[0]
                cross = self._round.between(places[member], self._places[some])
                mean[member] += share[:, None] * (cross @ right)
        return mean

    def draws(self, cells: ArrayLike, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free field, by residual substitution: (count, m)."""
        return conditional_draws(self, checked_points(cells, "cells"), count, seed)

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells and its sd.

        The sd comes from the readings in and around the block alone, and from an even sample of
        its cells when they are more than ``BLOCK_CELLS``.
        """
        places = checked_points(cells, "cells")
        share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=float)
        chosen = even_sample(len(places), BLOCK_CELLS)
        near = self._around(places[chosen])
        data = self.observations
        local = Kriging(
            data.points[near],
            data.values[near],
            replace(self.model, nugget=0.0),
            np.sqrt(self._noise[near]),
            drift=self.drift,
        )
        mean = float(self.predict(places)[0] @ share / share.sum())
        return mean, local.average(places[chosen], share[chosen])[1]

    def _around(self, cells: Array) -> Index:
        """Find the readings nearest to a block, at most ``BLOCK_READINGS``."""
        if len(self._places) <= BLOCK_READINGS:
            return np.arange(len(self._places))
        block = self.model.isotropic(cells)
        near = np.unique(self._tree.query(block, k=min(32, len(self._places)))[1])
        if len(near) >= BLOCK_READINGS:
            return near[even_sample(len(near), BLOCK_READINGS)]
        gap = cKDTree(block).query(self._places)[0]
        return np.sort(np.argpartition(gap, BLOCK_READINGS)[:BLOCK_READINGS])

    def _tiling(self, places: Array) -> Tiling:
        return lay_tiles(self._places, places, self._round, float(np.median(self._noise)))

    def _whole_drift(self) -> tuple[Array, Array]:
        """Drift coefficients and a root of their covariance, from an even sample."""
        self._sample = even_sample(len(self._places), DRIFT_READINGS)
        data = self.observations
        noise = np.sqrt(self._noise[self._sample])
        whole = Kriging(
            data.points[self._sample],
            data.values[self._sample],
            replace(self.model, nugget=0.0),
            noise,
            drift=self.drift,
        )
        self._whole = whole
        return whole.coefficients, whole.coefficient_root()

    def _coefficients_of(self, values: Array) -> Array:
        return self._whole.coefficients_of(values[self._sample])

    def _repeats(self, tiling: Tiling) -> bool:
        return (
            tiling.readings is not None
            and self.drift is constant
            and self.model.anisotropy == 1.0
            and float(np.ptp(self._noise)) == 0.0
        )

    def _factor(self, some: Index) -> Array:
        """Lower Cholesky factor of some readings' covariance."""
        return self._rooted(self._round.between(self._places[some], self._places[some]), some)

    def _rooted(self, matrix: Array, some: Index) -> Array:
        """Lower Cholesky factor of a covariance (used up) with the noise added.

        NumPy's routine frees the interpreter while it works, so that several cores can.
        """
        matrix.ravel()[:: len(some) + 1] += self._noise[some]
        try:
            return np.asarray(np.linalg.cholesky(matrix))
        except np.linalg.LinAlgError:
            jitter = 1e-9 * (self.model.variance + float(self._noise[some].max()))
            matrix.ravel()[:: len(some) + 1] += jitter
            return np.asarray(np.linalg.cholesky(matrix))

    def _solve_each(self, tiling: Tiling, batch: slice, at: tuple[Array, Array]) -> _Part:
        """Krige the tiles of a batch one by one."""
        places, columns = at
        drifts = columns.shape[1]
        near = neighbours_of(self._tree, tiling.centres[batch], tiling.count)
        means, variances = [], []
        for number, some in zip(range(batch.start, batch.stop), near, strict=True):
            tile, member = tiling.tiles[number], tiling.members[number]
            readings = self._places[some]
            both = self._round.between(np.concatenate([readings, places[member]]), readings)
            factor = self._rooted(both[: len(some)], some)
            right = np.empty((len(tile) + drifts + 1, len(some)))
            right[: len(tile)] = both[len(some) : len(some) + len(tile)]
            right[len(tile) : -1] = self._columns[some].T
            right[-1] = self._residual[some]
            half = blas.dtrsm(1.0, factor.T, right.T, lower=0, trans_a=1, overwrite_b=1)
            dual = blas.dtrsv(factor.T, half[:, -1], lower=0)
            means.append(tiling.shares[number] * (both[len(some) :] @ dual))
            cross = half[:, : len(tile)]
            left = (columns[tile].T - half[:, len(tile) : -1].T @ cross).T @ self._spread
            variances.append(
                self.model.variance
                - np.einsum("ij,ij->j", cross, cross)
                + np.einsum("ij,ij->i", left, left)
            )
        return _Part(
            np.concatenate(tiling.members[batch]),
            np.concatenate(means),
            np.concatenate(tiling.tiles[batch]),
            np.concatenate(variances),
        )

    def _solve_repeating(self, tiling: Tiling, batch: slice, at: tuple[Array, Array]) -> _Part:
        """Krige the tiles of a batch, solving tiles that look alike once."""
        near = neighbours_of(self._tree, tiling.centres[batch], tiling.count)
        tiles, members = tiling.tiles[batch], tiling.members[batch]
        shares = tiling.shares[batch]
        means: list[Array] = [np.empty(0)] * len(tiles)
        variances: list[Array] = [np.empty(0)] * len(tiles)
        for group in self._alike(tiling, (tiles, members), near, at[0]):
            first = group[0]
            weights, variance = self._pattern(at[0][members[first]], len(tiles[first]), near[first])
            found = (self._residual[near[group]] @ weights) * shares[first]
            for one, mean in zip(group, found, strict=True):
                means[one], variances[one] = mean, variance
        return _Part(
            np.concatenate(members),
            np.concatenate(means),
            np.concatenate(tiles),
            np.concatenate(variances),
        )

    def _alike(
        self, tiling: Tiling, parts: tuple[list[Index], list[Index]], near: Index, places: Array
    ) -> list[Index]:
        """Group the tiles whose readings and cells lie alike."""
        tiles, members = parts
        if tiling.readings is None or tiling.cells is None:
            return [np.array([one]) for one in range(len(tiles))]
        nodes = tiling.readings.index(self._places[near.ravel()]).reshape(*near.shape, 2)
        corner = tiling.readings.origin + nodes[:, 0] * tiling.readings.step
        nodes = nodes - nodes[:, :1]
        grain = 1e-3 * tiling.cells.step
        groups: dict[bytes, list[int]] = {}
        for one, (tile, member) in enumerate(zip(tiles, members, strict=True)):
            cells = places[member]
            where = np.rint((cells - corner[one]) / grain).astype(np.int64)
            key = nodes[one].tobytes() + where.tobytes() + len(tile).to_bytes(8, "little")
            groups.setdefault(key, []).append(one)
        return [np.array(group) for group in groups.values()]

    def _pattern(self, places: Array, own: int, some: Index) -> tuple[Array, Array]:
        """Weights of the neighbours for places, and variances of the first of them."""
        factor = self._factor(some)
        cross = self._round.between(self._places[some], places)
        weights = lapack.dpotrs(factor.T, cross, lower=0)[0]
        left = (1.0 - weights[:, :own].sum(axis=0)) * float(self._spread[0, 0])
        explained = np.einsum("ij,ij->j", weights[:, :own], cross[:, :own])
        return weights, self.model.variance - explained + left**2

    def _left_out(self, group: Index, inside: Index) -> tuple[Array, Array]:
        """Leave-one-out residuals and sds of some readings within a group."""
        factor = self._factor(group)
        inverse, _ = lapack.dpotri(factor.T, lower=0)
        dual = lapack.dpotrs(factor.T, self._residual[group], lower=0)[0]
        sd = 1.0 / np.sqrt(np.diagonal(inverse)[inside])
        return dual[inside] * sd**2, sd
