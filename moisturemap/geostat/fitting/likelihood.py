"""Restricted likelihood of a covariance model.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import pdist

from moisturemap.geostat.covariance.model import Covariance, correlation_at, made_isotropic
from moisturemap.geostat.fitting.blocks import Index, choose_blocks
from moisturemap.geostat.observations import Observations

Array = NDArray[np.float64]

TOGETHER = 4
"""Covariances whose matrices are factorised in one call; bounds memory."""


@dataclass(frozen=True)
class Profile:
    """Restricted log likelihood of one shape of covariance, for every variance.

    At variance v the log likelihood is ``base - freedom/2 log v - misfit/(2 v)``, without the
    constant ``freedom/2 log 2 pi``.

    Attributes
    ----------
    base : float
        Log determinants; minus infinity where the covariance is not positive definite.
    misfit : float
        Weighted squares of the generalised least squares residuals [value units squared].
    freedom : int
        Readings less drift columns.
    """

    base: float
    misfit: float
    freedom: int

    def at(self, variance: Array) -> Array:
        """Log likelihood at variances of any shape."""
        return self.base - 0.5 * self.freedom * np.log(variance) - 0.5 * self.misfit / variance

    @property
    def best(self) -> float:
        """Likeliest variance."""
        return max(self.misfit / self.freedom, 1e-300)


@dataclass(frozen=True)
class ReadingBlocks:
    """Readings in blocks whose likelihoods are summed, with one drift for all.

    Attributes
    ----------
    points : ndarray, shape (b, k, d)
    values : ndarray, shape (b, k)
    drift : ndarray, shape (b, k, p)
    noise : ndarray, shape (b, k)
        Noise variance in shares of its mean.
    distance : ndarray, shape (b, k (k - 1) / 2)
        Distances of the pairs within blocks, in coordinates in which the field is isotropic [m].
    """

    points: Array
    values: Array
    drift: Array
    noise: Array
    distance: Array

    @classmethod
    def of(cls, data: Observations, drift: Array, nugget: float) -> ReadingBlocks:
        """Put readings in blocks; the nugget tells how noise is shared where readings differ."""
        blocks = choose_blocks(data.points)
        noise = data.noise_with(nugget)
        mean = float(noise.mean())
        shares = noise / mean if mean > 0 else np.ones(len(noise))
        values = data.values - data.values.mean()
        return cls._made(blocks, data.points, values, drift, np.maximum(shares, 1e-9))

    @classmethod
    def _made(
        cls, blocks: Index, points: Array, values: Array, drift: Array, noise: Array
    ) -> ReadingBlocks:
        places = points[blocks]
        return cls(places, values[blocks], drift[blocks], noise[blocks], _pairs_within(places))

    @property
    def count(self) -> int:
        """Readings in all blocks together."""
        return self.values.size

    def first(self, readings: int) -> ReadingBlocks:
        """Return fewer readings: the last blocks, the spread one among them."""
        size = self.values.shape[1]
        keep = slice(-max(1, round(readings / size)), None)
        return ReadingBlocks(
            self.points[keep],
            self.values[keep],
            self.drift[keep],
            self.noise[keep],
            self.distance[keep],
        )

    def bent(self, anisotropy: float, angle_deg: float) -> ReadingBlocks:
        """Return the readings with distances in which an anisotropic field is isotropic.

        Distances are scaled so that the mean (geometric) range stays.
        """
        places = self.points.reshape(-1, self.points.shape[2])
        scaled = np.sqrt(anisotropy) * made_isotropic(places, anisotropy, angle_deg)
        return replace(self, distance=_pairs_within(scaled.reshape(self.points.shape)))

    def profile(self, kind: str, length: float, ratio: float) -> Profile:
        """Profile of a covariance with a length [m] and a noise to field variance ratio."""
        return self.profiles(kind, np.array([length]), np.array([ratio]))[0]

    def profiles(self, kind: str, lengths: Array, ratios: Array) -> list[Profile]:
        """Profiles of p covariances, (p,) each; equal lengths share their correlations."""
        different, which = np.unique(lengths, return_inverse=True)
        correlation = correlation_at(kind, self.distance, different[:, None, None])
        found: list[Profile] = []
        for start in range(0, len(ratios), TOGETHER):
            these = slice(start, start + TOGETHER)
            found += self._profiles_of(correlation[which[these]], ratios[these])
        return found

    def profiles_bent(
        self, kind: str, length: float, ratio: float, shapes: list[tuple[float, float]]
    ) -> list[Profile]:
        """Profiles of one covariance along directions, (anisotropy, angle [degrees]) each."""
        distance = np.array([self.bent(*shape).distance for shape in shapes])
        correlation = correlation_at(kind, distance, length)
        return self._profiles_of(correlation, np.full(len(shapes), ratio))

    def profile_of(self, correlation: Array, ratio: float, own: float = 1.0) -> Profile:
        """Profile at K = correlation + ratio * noise, by pairs; ``own`` is that of one place."""
        return self._profiles_of(correlation[None], np.array([ratio]), own)[0]

    def _profiles_of(self, correlation: Array, ratios: Array, own: float = 1.0) -> list[Profile]:
        """Profiles at correlations of pairs (p, b, k (k - 1) / 2) and ratios (p,).

        Each block's matrix is bordered by drift and values: its Cholesky factor then holds their
        solution in the border, and one call serves all blocks of all covariances. The factor asks
        for what stands below the diagonal alone.
        """
        blocks, size, columns = self.drift.shape
        freedom = blocks * size - columns
        wide = size + columns + 1
        lower = np.zeros((len(ratios), blocks, wide * wide))
        lower[..., _below(size, wide)] = correlation
        matrix = lower.reshape(len(ratios), blocks, wide, wide)
        diagonal, border = np.arange(size), np.arange(size, wide)
        matrix[..., diagonal, diagonal] = own + ratios[:, None, None] * self.noise
        matrix[..., size:-1, :size] = self.drift.transpose(0, 2, 1)
        matrix[..., -1, :size] = self.values
        squares = float((self.drift**2).sum() + (self.values**2).sum())
        least = ratios * self.noise.min() + 1e-12
        matrix[..., border, border] = (10.0 * squares / least + 1.0)[:, None, None]
        try:
            factor = np.linalg.cholesky(matrix)
            half = factor[..., size:, :size]
            products = np.einsum("pbik,pbjk->pij", half, half)
            normal = np.linalg.cholesky(products[:, :-1, :-1])
        except np.linalg.LinAlgError:
            if len(ratios) == 1:
                return [Profile(-np.inf, 1.0, freedom)]
            pairs = zip(correlation, ratios, strict=True)
            return [self.profile_of(one, float(ratio), own) for one, ratio in pairs]
        projected = np.linalg.solve(normal, products[:, :-1, -1:])[..., 0]
        misfit = products[:, -1, -1] - (projected**2).sum(axis=1)
        base = -np.log(factor[..., diagonal, diagonal]).sum(axis=(1, 2))
        base -= np.log(np.diagonal(normal, axis1=1, axis2=2)).sum(axis=1)
        pairs = zip(base.tolist(), misfit.tolist(), strict=True)
        return [Profile(one, max(rest, 1e-300), freedom) for one, rest in pairs]


@lru_cache(maxsize=16)
def _below(size: int, wide: int) -> Index:
    """Where pairs of so many readings stand below the diagonal of a matrix of so many rows."""
    earlier, later = np.triu_indices(size, 1)
    return np.asarray(later * wide + earlier)


def _pairs_within(groups: Array) -> Array:
    """Distances of the pairs within groups of places (g, k, d): (g, k (k - 1) / 2) [m]."""
    return np.array([pdist(one) for one in groups])


def restricted_log_likelihood(
    points: Array,
    values: Array,
    model: Covariance,
    noise: Array | None = None,
    drift: Array | None = None,
) -> float:
    """Restricted log likelihood (REML) of a covariance with drift estimated.

    -log L = 1/2 log|K| + 1/2 log|F'K^-1F| + 1/2 r'K^-1r + (n-p)/2 log 2 pi with r the generalised
    least squares residuals (Patterson and Thompson, Biometrika 58 (1971) 545; Kitanidis, Water
    Resour. Res. 19 (1983) 909; without the constant 1/2 log|F'F| some programs add).

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Places [m].
    values : ndarray, shape (n,)
    model : Covariance
    noise : ndarray, shape (n,), optional
        Noise variance of each value; ``model.nugget`` for each when not given.
    drift : ndarray, shape (n, p), optional
        Drift columns; a constant when not given.

    Returns
    -------
    float
        Minus infinity where the covariance matrix is not positive definite.
    """
    columns = np.ones((len(points), 1)) if drift is None else drift
    variance = np.full(len(points), model.nugget) if noise is None else noise
    share = np.maximum(variance, 1e-300)
    all_of_them = ReadingBlocks(
        points[None], values[None], columns[None], share[None], np.empty((1, 0))
    )
    pairs = model.at(_pairs_within(model.isotropic(points)[None]))
    found = all_of_them.profile_of(pairs, 1.0, model.variance)
    constant = 0.5 * found.freedom * np.log(2.0 * np.pi)
    return float(found.base - 0.5 * found.misfit - constant)
