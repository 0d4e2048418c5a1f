"""The floor without anomalies: fine texture and broad wet zones as two components.

One stationary component takes the steep flanks of wet zones for roughness of the whole floor; a
second, smooth one carries the zones, so that the texture keeps its own, finer scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack
from scipy.optimize import minimize
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

Array = NDArray[np.float64]

BLOCK = 150
"""Readings whose joint likelihood is used at once."""

SHORTEST = 2.5
"""Least length of the texture [spacings]; what varies faster is for the search to explain."""

BLOCKS = 9
"""Most blocks of neighbours, beside as many thinned ones."""

PRIOR_SD = np.array([1.5, 0.5, 2.0, 0.6, 1.2])
"""Spread of the weak priors on the logarithms of the five parameters."""


@dataclass(frozen=True)
class Background:
    """Covariance of the undisturbed floor.

    C(h) = texture (1 + s) exp(-s) + zones exp(-h^2 / 2 zone_length^2) with
    s = sqrt(3) h / texture_length, and the nugget apart.

    Attributes
    ----------
    texture, zones, nugget : float
        Variances [reading^2].
    texture_length, zone_length : float
        Lengths [m].
    """

    texture: float
    texture_length: float
    zones: float
    zone_length: float
    nugget: float

    @property
    def variance(self) -> float:
        """Variance of the field [reading^2]."""
        return self.texture + self.zones

    def between(self, one: Array, other: Array) -> Array:
        """Covariance of the field between places (n, 2) and (m, 2) [m]."""
        distance = cdist(one, other)
        scaled = np.sqrt(3.0) * distance / self.texture_length
        fine = self.texture * (1.0 + scaled) * np.exp(-scaled)
        return np.asarray(fine + self.zones * np.exp(-0.5 * (distance / self.zone_length) ** 2))


def _pieces(distance: Array, model: Background) -> tuple[Array, Array, Array, Array]:
    """Both components and their derivatives by log length."""
    scaled = np.sqrt(3.0) * distance / model.texture_length
    decay = model.texture * np.exp(-scaled)
    ratio = (distance / model.zone_length) ** 2
    smooth = model.zones * np.exp(-0.5 * ratio)
    return (1.0 + scaled) * decay, scaled**2 * decay, smooth, ratio * smooth


def _restricted(
    distance: Array, values: Array, share: Array, model: Background
) -> tuple[float, Array]:
    """Negative restricted log likelihood of one block and its gradient by log parameters."""
    pieces = _pieces(distance, model)
    matrix = pieces[0] + pieces[2]
    diagonal = np.diag_indices_from(matrix)
    matrix[diagonal] += model.nugget * share + 1e-8 * model.variance
    root, info = lapack.dpotrf(matrix, lower=1, clean=1)
    if info != 0:
        return 1e12, np.zeros(5)
    log_det = 2.0 * np.log(np.diagonal(root)).sum()
    inverse, _ = lapack.dpotri(root, lower=1)
    inverse = inverse + inverse.T
    inverse[diagonal] *= 0.5
    column = inverse.sum(axis=1)
    total = column.sum()
    inverse -= np.outer(column, column / total)
    image = inverse @ values
    value = 0.5 * (log_det + np.log(total) + values @ image)
    weight = inverse
    weight -= np.outer(image, image)
    weight *= 0.5
    gradient = [float(np.vdot(weight, piece)) for piece in pieces]
    nugget = float((weight[diagonal] * share).sum() * model.nugget)
    return float(value), np.array([*gradient, nugget])


def _blocks(points: Array, seed: int) -> list[NDArray[np.intp]]:
    """Blocks of neighbours, for the fine scales, and thinned ones for the broad."""
    count = len(points)
    if count <= BLOCK:
        return [np.arange(count)]
    rng = np.random.default_rng(seed)
    number = min(BLOCKS, int(np.ceil(count / BLOCK)))
    tree = cKDTree(points)
    starts = [int(rng.integers(count))]
    distance = np.linalg.norm(points - points[starts[0]], axis=1)
    for _ in range(number - 1):
        starts.append(int(np.argmax(distance)))
        distance = np.minimum(distance, np.linalg.norm(points - points[starts[-1]], axis=1))
    groups = [np.sort(tree.query(points[start], k=BLOCK)[1]) for start in starts]
    wide = min(6 * BLOCK, count)
    for start in starts[: (number + 1) // 2]:
        near = np.atleast_1d(tree.query(points[start], k=wide)[1])
        groups.append(np.sort(rng.choice(near, BLOCK, replace=False)))
    return groups


def _prior_mean(values: Array, spacing: float, floor: float) -> Array:
    spread = float(np.subtract(*np.quantile(values, [0.84, 0.16])) / 2)
    variance = max(spread**2, float(values.var()) / 3, 4 * floor, 1e-6)
    return np.log(
        [0.5 * variance, 5 * spacing, variance, 3.5 * spacing, max(0.15 * variance, floor)]
    )


@dataclass(frozen=True)
class Sample:
    """Readings a background is fitted to.

    Attributes
    ----------
    points, values : ndarray
        Places (n, 2) [m] and readings (n,).
    share : ndarray, shape (n,)
        Share of the nugget each value carries: 1 over its repeats.
    spacing : float
        Typical distance between neighbouring readings [m].
    floor : float
        Least nugget [reading^2].
    """

    points: Array
    values: Array
    share: Array
    spacing: float
    floor: float

    def blocks(self, seed: int) -> list[tuple[Array, Array, Array]]:
        """Distances, centred values and shares of each block of the likelihood."""
        centred = self.values - np.median(self.values)
        return [
            (cdist(self.points[group], self.points[group]), centred[group], self.share[group])
            for group in _blocks(self.points, seed)
        ]

    def bounds(self, centre: Array, shortest: float) -> Array:
        """Lower and upper bounds of the logarithms, shape (5, 2)."""
        extent = float(np.ptp(self.points, axis=0).max())
        least = np.log(self.floor)
        return np.array(
            [
                (centre[0] - 8, centre[0] + 4),
                np.log(
                    [
                        shortest * self.spacing,
                        max(extent, 4 * self.spacing, shortest * self.spacing),
                    ]
                ),
                (centre[2] - 12, centre[2] + 5),
                np.log([2.0 * self.spacing, 12 * self.spacing]),
                (least, max(centre[4] + 4, least + 1)),
            ]
        )


def fit_background(
    sample: Sample, *, start: Background | None = None, shortest: float = SHORTEST, seed: int = 1
) -> Background:
    """Fit the background to a sample of readings.

    Restricted likelihood summed over blocks (composite likelihood: Varin, Reid & Firth, Statistica
    Sinica 21 (2011) 5), with weak priors on the logarithms.

    Parameters
    ----------
    sample : Sample
    start : Background, optional
        Where to start from.
    shortest : float
        Least length of the texture [spacings].
    seed : int
        Seed of the choice of blocks.
    """
    blocks = sample.blocks(seed)
    centre = _prior_mean(sample.values, sample.spacing, sample.floor)
    bounds = sample.bounds(centre, shortest)

    def objective(theta: Array) -> tuple[float, Array]:
        model = Background(*np.exp(theta))
        off = (theta - centre) / PRIOR_SD
        value, gradient = 0.5 * float(off @ off), off / PRIOR_SD
        for distance, part, weight in blocks:
            one, slope = _restricted(distance, part, weight, model)
            value, gradient = value + one, gradient + slope
        return value, gradient

    first = centre
    if start is not None:
        first = np.log(
            [start.texture, start.texture_length, start.zones, start.zone_length, start.nugget]
        )
    found = minimize(
        objective,
        np.clip(first, bounds[:, 0], bounds[:, 1]),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": 40, "ftol": 1e-6, "gtol": 1e-2},
    )
    return Background(*(float(value) for value in np.exp(found.x)))
