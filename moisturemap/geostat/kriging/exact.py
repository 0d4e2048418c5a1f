"""Exact kriging with a drift, noise of each reading, and closed-form leave-one-out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import lapack

from moisturemap.errors import NotEnoughData
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.kriging.distances import CellDistances, Distances
from moisturemap.geostat.lapack import factorise, inverse, multiply, solve
from moisturemap.geostat.observations import Observations, checked_points, even_sample, pool
from moisturemap.geostat.simulation import EXACT, conditional_draws

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Progress = Callable[[str, float], None] | None

BLOCK_CELLS = 1500
"""Most cells the standard deviation of a block mean is computed from."""

CHUNK, CACHED = 512, 40_000
"""Most cells solved at once, and covariances with readings: what fits the processor's cache is
fastest."""

INVERTED = 1
"""Cells for each reading from which a factor is inverted: multiplying by the inverse is quicker
than solving by the factor, but it has to be found first (measured, one thread)."""

KEPT_INVERSE = 600
"""Most readings of which joint predictions multiply by the inverse: leaving each out has found it
before, and holes and zones ask again and again."""


class Kriging:
    """The best linear unbiased predictor of a noise-free field from noisy readings.

    K = C(h) + diag(noise), the drift by generalised least squares (Cressie, Statistics for Spatial
    Data, 1993, section 3.4). Observations at one place are pooled first, so that the system is
    never singular.

    Parameters
    ----------
    points : array_like, shape (n, d)
        Places [m].
    values : array_like, shape (n,)
    model : Covariance
        Its nugget is noise of each observation.
    noise_sd : float or array_like (n,), optional
        Known noise of each observation besides the nugget.
    drift : callable, optional
        Gives the drift columns (m, p) at places (m, d); a constant by default.

    Raises
    ------
    InputError
        For input that is not finite.
    NotEnoughData
        With fewer distinct places than drift columns.
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
        observations = pool(points, values, noise_sd)
        self._prepare(observations, model, drift, Distances(observations.points))

    @classmethod
    def over(
        cls, observations: Observations, model: Covariance, drift: Drift, apart: Distances
    ) -> Kriging:
        """Krige readings that are pooled already, and whose distances others share."""
        made = cls.__new__(cls)
        made._prepare(observations, model, drift, apart)
        return made

    def _prepare(
        self, observations: Observations, model: Covariance, drift: Drift, apart: Distances
    ) -> None:
        self.model, self.drift, self.observations = model, drift, observations
        places = observations.points
        columns = drift(places)
        if len(places) < columns.shape[1]:
            message = f"{columns.shape[1]} distinct places are needed, {len(places)} given"
            raise NotEnoughData(message)
        matrix = apart.covariance(model)
        matrix[np.diag_indices_from(matrix)] += observations.noise_with(model.nugget)
        self._factor = _cholesky(matrix)
        half = self._forward(np.column_stack([columns, self.observations.values]))
        self._columns, target = half[:, :-1], half[:, -1]
        self._normal = np.linalg.cholesky(self._columns.T @ self._columns)
        projected = np.linalg.solve(self._normal, self._columns.T @ target)
        self.coefficients: Array = np.linalg.solve(self._normal.T, projected)
        self._half_residual = target - self._columns @ self.coefficients
        self._dual = lapack.dtrtrs(self._factor, self._half_residual, lower=1, trans=1)[0]

    def predict(self, cells: ArrayLike, progress: Progress = None) -> tuple[Array, Array]:
        """Mean and standard deviation of the noise-free field at cells (m, d): each (m,)."""
        places = checked_points(cells, "cells")
        return krige_together([self], places, progress)[0]

    def deviations(self, cells: ArrayLike, progress: Progress = None) -> Array:
        """Return the standard deviation of the noise-free field at cells (m, d): (m,)."""
        return self.predict(cells, progress)[1]

    def predict_reading(self, cells: ArrayLike, noise_sd: float = 0.0) -> tuple[Array, Array]:
        """Mean and standard deviation of a new reading: the field plus nugget and noise."""
        mean, sd = self.predict(cells)
        return mean, np.sqrt(sd**2 + self.model.nugget + noise_sd**2)

    def leave_one_out(self) -> tuple[Array, Array]:
        """Residual (observed minus predicted from the others) and sd of it, by pooled place.

        Closed form of Dubrule, Math. Geol. 15 (1983) 687: with P = K^-1 - K^-1F(F'K^-1F)^-1F'K^-1,
        residual_i = (P z)_i / P_ii and variance_i = 1 / P_ii. A place without which the drift
        cannot be estimated gives NaN residual and infinite sd.
        """
        whole = np.einsum("ij,ij->j", self._inverse, self._inverse)
        diagonal = whole - (self._drift_dual() ** 2).sum(axis=0)
        sound = diagonal > 1e-10 * whole
        safe = np.where(sound, diagonal, 1.0)
        residual = np.where(sound, self._dual / safe, np.nan)
        return residual, np.where(sound, 1.0 / np.sqrt(safe), np.inf)

    def precision(self) -> tuple[Array, Array]:
        """P = K^-1 - K^-1F(F'K^-1F)^-1F'K^-1 of shape (n, n), and P z of shape (n,)."""
        spread = self._drift_dual()
        return inverse(self._factor) - spread.T @ spread, self._dual

    def change_without(self, gone: Index) -> Callable[[Distances], tuple[Array, Array, Array]]:
        """Return what gives the mean at cells, its change without some readings, the variance's.

        With w the weights of these readings g at a cell and P as for :meth:`leave_one_out`, the
        mean changes by -w' P_gg^-1 (P z)_g and the variance by w' P_gg^-1 w: the closed form of
        leaving one out, for several. It takes the distances from m cells to the readings, and
        returns (m,) each.

        Parameters
        ----------
        gone : ndarray of int, shape (g,)
            Pooled places.
        """
        spread, some = self._drift_dual(), np.zeros((len(self.observations.points), len(gone)))
        some[gone, np.arange(len(gone))] = 1.0
        rows = lapack.dpotrs(self._factor, some, lower=1)[0] - spread.T @ spread[:, gone]
        by_drift = np.linalg.solve(self._normal.T, spread[:, gone])
        root = np.linalg.cholesky(rows[gone])
        residual = np.linalg.solve(root, self._dual[gone])
        rows = np.column_stack([rows, self._dual])
        by_drift = np.column_stack([by_drift, self.coefficients])

        def change(apart: Distances) -> tuple[Array, Array, Array]:
            found = apart.covariance(self.model) @ rows + self.drift(apart.one) @ by_drift
            half = lapack.dtrtrs(root, found[:, :-1].T, lower=1)[0]
            return found[:, -1], -residual @ half, np.einsum("ij,ij->j", half, half)

        return change

    def _drift_dual(self) -> Array:
        half = lapack.dtrtrs(self._factor, self._columns, lower=1, trans=1)[0]
        return np.asarray(np.linalg.solve(self._normal, half.T))

    def draws(
        self, cells: ArrayLike, count: int, seed: int, apart: CellDistances | None = None
    ) -> Array:
        """Conditional draws of the noise-free field at cells: shape (count, m).

        From the Cholesky factor of the kriging covariance to 3,000 cells, beyond by residual
        substitution. Distances may come from another kriging of the same readings.
        """
        places = checked_points(cells, "cells")
        if len(places) > EXACT:
            return conditional_draws(self, places, count, seed)
        return normal_draws(*self.joint(places, apart), self.model.variance, (count, seed))

    def coefficient_root(self) -> Array:
        """Root R of the covariance of the drift coefficients: R R' is (F'K^-1F)^-1, (p, p)."""
        return np.asarray(np.linalg.inv(self._normal).T)

    def coefficients_of(self, values: Array) -> Array:
        """Drift coefficients (p, r) of other values (n, r) at the same pooled places."""
        right = self._columns.T @ self._forward(np.array(values))
        return np.asarray(np.linalg.solve(self._normal.T, np.linalg.solve(self._normal, right)))

    def means(self, cells: Array, values: Array) -> Array:
        """Kriged means (m, r) of other values (n, r) at the same pooled places."""
        coefficients = self.coefficients_of(values)
        residual = values - self.drift(self.observations.points) @ coefficients
        dual = lapack.dpotrs(self._factor, residual, lower=1)[0]
        found = np.empty((len(cells), values.shape[1]))
        for start in range(0, len(cells), CHUNK):
            part = slice(start, start + CHUNK)
            between = self.model.between(cells[part], self.observations.points)
            found[part] = between @ dual + self.drift(cells[part]) @ coefficients
        return found

    def joint(self, cells: Array, apart: CellDistances | None = None) -> tuple[Array, Array]:
        """Mean (m,) and covariance (m, m) of the prediction at cells."""
        apart = apart or CellDistances.of(cells, self.observations.points)
        between, columns = apart.to_readings.covariance(self.model), self.drift(cells)
        mean = np.asarray(between @ self._dual + columns @ self.coefficients)
        if len(self.observations.points) <= KEPT_INVERSE:
            half = multiply(self._inverse, between.T)
        else:
            half = self._forward(between.T)
        trend = np.linalg.solve(self._normal, columns.T - self._columns.T @ half)
        covariance = apart.among.covariance(self.model)
        covariance -= half.T @ half
        covariance += trend.T @ trend
        return mean, covariance

    def average(
        self,
        cells: ArrayLike,
        weights: ArrayLike | None = None,
        apart: CellDistances | None = None,
    ) -> tuple[float, float]:
        """Mean of the field over a block of cells, and its standard deviation (block kriging).

        The standard deviation comes from an even sample of the cells when they are more than
        ``BLOCK_CELLS``. The sample's distances may come from another kriging of the same readings.
        """
        places = checked_points(cells, "cells")
        share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=float)
        chosen = even_sample(len(places), BLOCK_CELLS)
        part, some = share[chosen] / share[chosen].sum(), places[chosen]
        apart = apart or CellDistances.of(some, self.observations.points)
        to_readings, columns = (
            part @ apart.to_readings.covariance(self.model),
            part @ self.drift(some),
        )
        if len(some) == len(places):
            mean = float(to_readings @ self._dual + columns @ self.coefficients)
        else:
            mean = float(share @ self._means_of(places) / share.sum())
        half = self._forward(to_readings)
        trend = np.linalg.solve(self._normal, columns - half @ self._columns)
        variance = part @ apart.among.covariance(self.model) @ part - half @ half + trend @ trend
        return mean, float(np.sqrt(max(float(variance), 0.0)))

    def _means_of(self, cells: Array) -> Array:
        """Mean at cells, a cache-full at a time."""
        parts = [self._mean(cells[i : i + CHUNK]) for i in range(0, len(cells), CHUNK)]
        return np.concatenate(parts) if parts else np.empty(0)

    def predict_at(self, apart: Distances, *, inverted: bool) -> tuple[Array, Array]:
        """Mean and sd at a few cells by their distances to the readings: each (m,).

        ``inverted`` for one of very many such calls.
        """
        between = apart.covariance(self.model)
        columns = self.drift(apart.one)
        mean = between @ self._dual + columns @ self.coefficients
        if inverted:
            half = multiply(self._inverse, between.T)
        else:
            half = self._forward(between.T)
        trend = np.linalg.solve(self._normal, columns.T - self._columns.T @ half)
        variance = (
            self.model.variance
            - np.einsum("ij,ij->j", half, half)
            + np.einsum("ij,ij->j", trend, trend)
        )
        return mean, np.sqrt(np.maximum(variance, 0.0))

    @cached_property
    def _inverse(self) -> Array:
        """Inverse of the lower factor."""
        return np.asarray(lapack.dtrtri(self._factor, lower=1)[0])

    def _mean(self, cells: Array) -> Array:
        between = self.model.between(cells, self.observations.points)
        return np.asarray(between @ self._dual + self.drift(cells) @ self.coefficients)

    def _forward(self, right: Array) -> Array:
        """Solve by the lower factor; right sides in columns (Fortran order) are used up."""
        if right.ndim == 1 or not right.flags.f_contiguous:
            right = np.array(right, order="F")
        return solve(self._factor, right.reshape(len(right), -1, order="F")).reshape(right.shape)


def krige_together(
    parts: Sequence[Kriging], cells: Array, progress: Progress = None
) -> list[tuple[Array, Array]]:
    """Mean and sd at cells (m, d) of krigings of the same readings, which share distances."""
    if not parts:
        return []
    readings = parts[0].observations.points
    found = [(np.empty(len(cells)), np.empty(len(cells))) for _ in parts]
    size = min(max(CACHED // len(readings), 32), CHUNK)
    inverted = len(cells) > INVERTED * len(readings)
    for start in range(0, len(cells), size):
        if progress is not None:
            progress("kriging", start / len(cells))
        some = slice(start, start + size)
        apart = Distances(cells[some], readings)
        for one, (mean, sd) in zip(parts, found, strict=True):
            mean[some], sd[some] = one.predict_at(apart, inverted=inverted)
    return found


def normal_draws(
    mean: Array, covariance: Array, variance: float, count_seed: tuple[int, int]
) -> Array:
    """Draw from the joint normal of cells: (count, m).

    Parameters
    ----------
    mean : ndarray, shape (m,)
    covariance : ndarray, shape (m, m)
    variance : float
        Of the field: rounding is small beside it.
    count_seed : tuple of int
        Draws, and the seed.
    """
    count, seed = count_seed
    root = _cholesky(covariance, jitter=1e-10 * max(variance, 1e-300))
    normal = np.random.default_rng(seed).standard_normal((count, len(mean)))
    return np.asarray(mean + multiply(root, normal.T).T)


def _cholesky(matrix: Array, jitter: float = 0.0) -> Array:
    """Lower Cholesky factor of a symmetric matrix, which is used up.

    The least jitter that rounding needs is added.
    """
    # the transpose is the same matrix in the order LAPACK asks for
    factor, diagonal = matrix.T, np.diagonal(matrix).copy()
    size = float(diagonal.mean()) if len(matrix) else 1.0
    for attempt in range(8):
        if factorise(factor):
            return factor
        factor[:] = np.triu(factor, 1) + np.triu(factor, 1).T
        diagonal += max(jitter, 1e-12 * size, 1e-300) * 10.0**attempt
        np.fill_diagonal(factor, diagonal)
    message = "the covariance of the readings is not positive definite"
    raise NotEnoughData(message)
