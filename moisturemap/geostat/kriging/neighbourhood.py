"""Kriging of many readings: tiles of cells share their neighbours and one factorisation.

Method: docs/method/kriging.md, "Many readings".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import blas, lapack
from scipy.spatial import cKDTree

from moisturemap.errors import NotEnoughData
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.kriging.distances import Distances
from moisturemap.geostat.kriging.exact import INVERTED, Kriging, normal_draws
from moisturemap.geostat.kriging.shared import BATCH, SharedTiles
from moisturemap.geostat.kriging.tiles import Layout, Tiling, lay_tiles, neighbours_of
from moisturemap.geostat.lapack import factorise, multiply, solve
from moisturemap.geostat.observations import Observations, checked_points, even_sample, pool
from moisturemap.geostat.simulation import EXACT, draws_in_turn

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Progress = Callable[[str, float], None] | None

DRIFT_READINGS, ALL_READINGS = 400, 600
"""Readings from which the drift is estimated, once for the whole floor, and readings up to which
that is all of them. Our choice: what more readings tell of a mean they tell of its surroundings
(unchanged maps from 300 to 800)."""

BLOCK_CELLS, BLOCK_READINGS, WHOLE = 1500, 1500, 3000
"""Most cells and readings a block mean is computed from, and readings up to which all blocks are
computed from one system of all."""

NEAREST, FEW = 150, 0.5
"""Readings nearest to each cell that make draws and block means there, and share of all readings
up to which the others are left out. On floors of 2,000 readings, smooth or rough, noise to twice
the sd of the field: means within 0.1 sd, sds within 0.3% of one system of all (measured)."""


@dataclass(frozen=True)
class TileSystem:
    """The readings of a tile, factorised.

    Attributes
    ----------
    factor : ndarray, shape (k, k)
        Upper Cholesky factor of their covariance, or its inverse.
    inverted : bool
        Which of the two.
    drift : ndarray, shape (k, p)
        Their drift columns, solved by the factor.
    dual : ndarray, shape (k,)
        Weight of each reading's covariance with a cell in the cell's mean.
    """

    factor: Array
    inverted: bool
    drift: Array
    dual: Array

    def forward(self, right: Array) -> Array:
        """Solve right sides (k, m), in Fortran order and used up, by the transposed factor."""
        by = multiply if self.inverted else solve
        return by(self.factor, right, lower=False, turned=True)


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
        self._prepare(pool(points, values, noise_sd))

    @classmethod
    def over(
        cls,
        observations: Observations,
        model: Covariance,
        drift: Drift,
        whole: Kriging | None = None,
    ) -> NeighbourhoodKriging:
        """Krige readings that are pooled already, the drift from a kriging of all of them."""
        made = cls.__new__(cls)
        made.model, made.drift = model, drift
        made._prepare(observations, whole)
        return made

    def _prepare(self, observations: Observations, whole: Kriging | None = None) -> None:
        data = self.observations = observations
        self.places = self.model.isotropic(data.points)
        self.layout = Layout(self.places)
        self._round = replace(self.model, anisotropy=1.0, angle_deg=0.0)
        self._noise = data.noise_with(self.model.nugget)
        self._columns = self.drift(data.points)
        self._sample = np.arange(len(data.points))
        if whole is None:
            whole = self._kriging_of_sample()
        self._whole, self.coefficients = whole, whole.coefficients
        self._spread = whole.coefficient_root()
        self._residual = data.values - self._columns @ self.coefficients

    @property
    def tree(self) -> cKDTree:
        """Readings by place, in coordinates in which the field is isotropic."""
        return self.layout.tree

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and standard deviation of the noise-free field at cells (m, d): each (m,)."""
        return self._alone.predict(checked_points(cells, "cells"), progress)

    def deviations(self, cells: ArrayLike, progress: Progress = None) -> Array:
        """Return the standard deviation of the noise-free field at cells (m, d): (m,)."""
        return self.predict(cells, progress)[1]

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and standard deviation of a new reading: the field plus nugget and noise."""
        mean, sd = self.predict(cells)
        return mean, np.sqrt(sd**2 + self.model.nugget + noise_sd**2)

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual and sd of each pooled place, predicted from its neighbours."""
        return self._alone.leave_one_out()

    @property
    def _alone(self) -> SharedTiles:
        return SharedTiles((self,), np.ones(1))

    def means(self, cells: Array, values: Array) -> Array:
        """Kriged means (m, r) of other values (n, r) at the same readings."""
        coefficients = self._coefficients_of(values)
        residual = values - self._columns @ coefficients
        mean = self.drift(cells) @ coefficients
        places = self.model.isotropic(cells)
        tiling = self.tiling(places)
        for batch in tiling.batches(BATCH):
            near = neighbours_of(self.tree, tiling.centres[batch], tiling.count)
            for member, share, some in zip(
                tiling.members[batch], tiling.shares[batch], near, strict=True
            ):
                right = lapack.dpotrs(self._factor(some), residual[some], lower=0)[0]
                cross = self._round.between(places[member], self.places[some])
                mean[member] += share[:, None] * (cross @ right)
        return mean

    def draws(
        self, cells: ArrayLike, count: int, seed: int, *, nearest: int | None = None
    ) -> Array:
        """Conditional draws of the noise-free field: (count, m).

        From the joint normal of the cells where few readings lie near to them, so many nearest to
        each, else cell after cell.
        """
        places = checked_points(cells, "cells")
        near = self.around(places, nearest)
        if len(places) > EXACT or not self.are_few(near, FEW if nearest is None else 1.0):
            return draws_in_turn(self, places, count, seed)
        return normal_draws(*self._joint(places, near), self.model.variance, (count, seed))

    def around(self, cells: Array, nearest: int | None = None) -> Index:
        """Find the readings that tell of cells (m, d): so many nearest to each."""
        ranks = np.arange(1, min(nearest or NEAREST, len(self.places)) + 1)
        return np.unique(self.tree.query(self.model.isotropic(cells), k=ranks)[1])

    def are_few(self, near: Index, share: float = FEW) -> bool:
        """Whether some readings are so few that a system of them alone is much quicker."""
        return len(near) <= min(share * len(self.places), BLOCK_READINGS)

    def average_nearby(self, cells: Array, weights: Array) -> tuple[float, float]:
        """Mean over a block of cells (m, d) and its sd, from the readings near to it alone.

        Parameters
        ----------
        cells : ndarray, shape (m, d)
            Of more than ``BLOCK_CELLS`` an even sample makes the sd.
        weights : ndarray, shape (m,)
            Sum to 1.
        """
        chosen = even_sample(len(cells), BLOCK_CELLS)
        some, part = cells[chosen], weights[chosen] / weights[chosen].sum()
        mean, covariance = self._joint(some, self.around(some))
        whole = mean @ part if len(some) == len(cells) else self.predict(cells)[0] @ weights
        return float(whole), float(np.sqrt(max(part @ covariance @ part, 0.0)))

    def _joint(self, cells: Array, near: Index) -> tuple[Array, Array]:
        """Mean (m,) and covariance (m, m) at cells, from some readings."""
        readings = self.observations.points[near]
        system = self.system(near, Distances(readings), 1)
        cross, columns = Distances(cells, readings).covariance(self.model), self.drift(cells)
        mean = cross @ system.dual + columns @ self.coefficients
        half = system.forward(cross.T)
        left = (columns.T - system.drift.T @ half).T @ self._spread
        covariance = Distances(cells).covariance(self.model)
        covariance += left @ left.T - half.T @ half
        return mean, covariance

    def coefficient_root(self) -> Array:
        """Root R of the covariance of the drift coefficients: R R', (p, p)."""
        return self._spread

    def average(self, cells: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
        """Mean of the field over a block of cells and its sd.

        Of many readings the sd comes from those in and around the block alone, and from an even
        sample of its cells when they are more than ``BLOCK_CELLS``.
        """
        places = checked_points(cells, "cells")
        share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=float)
        chosen = even_sample(len(places), BLOCK_CELLS)
        if len(self.places) <= WHOLE:
            local = self._of_all
        else:
            local = self._kriging_of(self._around(places[chosen]))
        mean = float(self.predict(places)[0] @ share / share.sum())
        return mean, local.average(places[chosen], share[chosen])[1]

    @cached_property
    def _of_all(self) -> Kriging:
        return self._kriging_of(np.arange(len(self.places)))

    def _kriging_of(self, some: Index) -> Kriging:
        """Krige some of the readings in one system."""
        data, noise = self.observations, np.sqrt(self._noise[some])
        model = replace(self.model, nugget=0.0)
        return Kriging(data.points[some], data.values[some], model, noise, drift=self.drift)

    def _around(self, cells: Array) -> Index:
        """Find the readings nearest to a block, at most ``BLOCK_READINGS``."""
        block = self.model.isotropic(cells)
        near = np.unique(self.tree.query(block, k=32)[1])
        if len(near) >= BLOCK_READINGS:
            return near[even_sample(len(near), BLOCK_READINGS)]
        gap = cKDTree(block).query(self.places)[0]
        return np.sort(np.argpartition(gap, BLOCK_READINGS)[:BLOCK_READINGS])

    def tiling(self, places: Array) -> Tiling:
        """Lay tiles over places (m, d), in coordinates in which the field is isotropic."""
        noise = float(np.median(self._noise))
        return lay_tiles(self.layout, places, self._round, noise)

    def _kriging_of_sample(self) -> Kriging:
        """Krige an even sample, for the drift."""
        count = len(self.places)
        if count > ALL_READINGS:
            self._sample = even_sample(count, DRIFT_READINGS)
        return self._kriging_of(self._sample)

    def _coefficients_of(self, values: Array) -> Array:
        return self._whole.coefficients_of(values[self._sample])

    def repeats(self, tiling: Tiling) -> bool:
        """Whether tiles on common lattices look alike to this covariance."""
        return (
            tiling.readings is not None
            and self.drift is constant
            and self.model.anisotropy == 1.0
            and float(np.ptp(self._noise)) == 0.0
        )

    def _factor(self, some: Index, among: Distances | None = None) -> Array:
        """Upper Cholesky factor of some readings' covariance, in Fortran order."""
        among = among or Distances(self.observations.points[some])
        jitter = 0.0
        for _ in range(2):
            matrix = among.covariance(self.model)
            matrix.ravel()[:: len(some) + 1] += self._noise[some] + jitter
            # the transpose is the same matrix in the order LAPACK asks for
            if factorise(matrix.T, lower=False):
                return matrix.T
            jitter = 1e-9 * (self.model.variance + float(self._noise[some].max()))
        message = "the covariance of neighbouring readings is not positive definite"
        raise NotEnoughData(message)

    def system(self, some: Index, among: Distances, cells: int) -> TileSystem:
        """Factorise some readings, once for all cells that share them.

        Parameters
        ----------
        some : ndarray of int, shape (k,)
        among : Distances
            Among them.
        cells : int
            How many share them: multiplying by the inverse of a factor is quicker than solving by
            it, but it has to be found first.
        """
        factor = self._factor(some, among)
        right = np.vstack([self._columns[some].T, self._residual[some]]).T
        half = blas.dtrsm(1.0, factor, right, lower=0, trans_a=1, overwrite_b=1)
        dual = blas.dtrsv(factor, half[:, -1], lower=0)
        inverted = cells > INVERTED * len(some)
        if inverted:
            factor = lapack.dtrtri(factor, lower=0)[0]
        return TileSystem(factor, inverted, half[:, :-1], dual)

    def solve_cells(
        self, system: TileSystem, apart: Distances, columns: Array
    ) -> tuple[Array, Array]:
        """Krige a few cells from the readings of a system.

        Parameters
        ----------
        system : TileSystem
            Of k readings.
        apart : Distances
            From m cells to the readings.
        columns : ndarray, shape (m, p)
            Drift columns at the cells.

        Returns
        -------
        mean, variance : ndarray, shape (m,)
        """
        cross = apart.covariance(self.model)
        mean = cross @ system.dual + columns @ self.coefficients
        half = system.forward(cross.T)
        left = (columns.T - system.drift.T @ half).T @ self._spread
        variance = (
            self.model.variance
            - np.einsum("ij,ij->j", half, half)
            + np.einsum("ij,ij->i", left, left)
        )
        return mean, variance

    def means_at(self, system: TileSystem, apart: Distances, columns: Array) -> Array:
        """Means (m,) at a few cells, as for :meth:`solve_cells`."""
        cross = apart.covariance(self.model)
        return np.asarray(cross @ system.dual + columns @ self.coefficients)

    def solve_pattern(
        self, some: Index, cells: Array, own: int, groups: Index
    ) -> tuple[Array, Array]:
        """Krige tiles that lie alike: means (g, m), and variances (own,) that all share.

        Parameters
        ----------
        some : ndarray of int, shape (k,)
            Readings of the first tile.
        cells : ndarray, shape (m, d)
            Its cells [m].
        own : int
            How many of the cells, the first, also get a variance.
        groups : ndarray of int, shape (g, k)
            Readings of every tile.
        """
        factor = self._factor(some)
        cross = self._round.between(self.places[some], cells)
        half = solve(factor, np.array(cross[:, :own], order="F"), lower=False, turned=True)
        # for each tile, and for the mean of the floor
        right = np.vstack([self._residual[groups], np.ones(len(some))]).T
        dual = lapack.dpotrs(factor, right, lower=0)[0].T
        heard = dual @ cross
        left = (1.0 - heard[-1, :own]) * float(self._spread[0, 0])
        explained = np.einsum("ij,ij->j", half, half)
        means = heard[:-1] + float(self.coefficients[0])
        return means, self.model.variance - explained + left**2

    def left_out(self, group: Index, inside: Index, among: Distances) -> tuple[Array, Array]:
        """Leave-one-out residuals and sds of some readings within a group, given its distances.

        The diagonal of the inverse covariance is that of R R' with R the inverse of its factor.
        """
        factor = self._factor(group, among)
        root = lapack.dtrtri(factor, lower=0)[0][inside]
        dual = lapack.dpotrs(factor, self._residual[group], lower=0)[0]
        sd = 1.0 / np.sqrt(np.einsum("ij,ij->i", root, root))
        return dual[inside] * sd**2, sd
