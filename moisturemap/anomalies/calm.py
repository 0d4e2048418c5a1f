"""The calm floor: texture and noise where nothing stands out, and the level of dry floor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]

BLOCK = 36
"""Readings of one block (our choice: six by six, a texture of a few spacings fits in)."""

MOST_BLOCKS = 24
"""Most blocks; more change no digit that matters (our choice)."""

CALMER = 0.6
"""Share of the blocks, the calmer ones, that make the fit: the others may hold wet floor."""

RATIOS = (0.05, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
"""Variances of the texture tried [noise variances]."""

LENGTHS_M = (0.6, 1.0, 1.7, 3.0)
"""Lengths of the texture tried at spacings up to 0.6 m, stretched with the spacing beyond [m]."""

LEVEL = 1e-9
"""Weight that holds a plane level across readings that lie in one line, of which they tell no slope
[readings]."""

OUTLIER = 3.5
"""Residuals beyond this many robust sd are left out of a block (Tukey's biweight)."""

LEFT_OUT = 1e4
"""Noise, in noise variances, given to what is left out."""

BASE_NEIGHBOURS, BASE_QUANTILE = 60, 0.3
"""Dry level about a place: this quantile of as many nearest readings, at most the median of all."""


@dataclass(frozen=True)
class CalmFloor:
    """Covariance of calm floor, C(h) = texture (1 + s) exp(-s) with s = sqrt(3) h / length.

    Attributes
    ----------
    texture, noise : float
        Variances [reading^2]; ``noise`` is that of one reading.
    length : float
        Length of the texture [m].
    base : ndarray, shape (n,)
        Level of dry floor about each reading [reading].
    """

    texture: float
    length: float
    noise: float
    base: Array

    @property
    def noise_sd(self) -> float:
        """Sd of one reading [reading]."""
        return float(np.sqrt(self.noise))

    @property
    def sd(self) -> float:
        """Sd of a reading of calm floor about its level [reading]."""
        return float(np.sqrt(self.texture + self.noise))

    def between(self, distance: Array) -> Array:
        """Covariance of the texture at distances [m]."""
        return self.texture * matern(distance, self.length)


def matern(distance: Array, length: float) -> Array:
    """Matern correlation of smoothness 3/2 (Rasmussen & Williams 2006, eq. 4.17)."""
    scaled = np.sqrt(3.0) * distance / length
    return np.asarray((1.0 + scaled) * np.exp(-scaled))


def _centres(points: Array, count: int) -> list[int]:
    """Places far from each other, the first near the middle."""
    found = [int(np.argmin(((points - points.mean(axis=0)) ** 2).sum(axis=1)))]
    nearest = np.linalg.norm(points - points[found[0]], axis=1)
    while len(found) < count:
        found.append(int(nearest.argmax()))
        nearest = np.minimum(nearest, np.linalg.norm(points - points[found[-1]], axis=1))
    return found


def _plane(places: Array, values: Array, least: float) -> tuple[Array, Array, Array]:
    """Robust plane of each block: drift columns, spread (k,) and what is left out (k, m)."""
    count, size = values.shape
    drift = np.concatenate(
        [np.ones((count, size, 1)), places - places.mean(axis=1, keepdims=True)], axis=2
    )
    weight = np.ones_like(values)
    for _ in range(6):
        weighed = drift * weight[..., None]
        gram = np.einsum("kmi,kmj->kij", weighed, drift) + LEVEL * np.eye(3)
        right = np.einsum("kmi,km->ki", weighed, values)
        slope = np.linalg.solve(gram, right[..., None])[..., 0]
        residual = values - np.einsum("kmi,ki->km", drift, slope)
        residual -= np.median(residual, axis=1, keepdims=True)
        spread = 1.4826 * np.median(np.abs(residual), axis=1, keepdims=True) + least
        share = residual / (OUTLIER * spread)
        weight = np.where(np.abs(share) < 1, (1 - share**2) ** 2, 0.0)
    return drift, spread[:, 0], np.abs(share) >= 0.85


def _profile(
    texture: Array, noise: Array, drift: Array, values: Array, gone: Array
) -> tuple[float, float, float]:
    """Degrees of freedom, quadratic form and log determinants of all blocks together.

    Restricted likelihood with the noise variance profiled out (Harville 1977). Each block's matrix
    is bordered by drift and values: its Cholesky factor then holds their solution in the border.
    """
    count, size, columns = drift.shape
    bordered = np.zeros((count, size + columns + 1, size + columns + 1))
    bordered[:, :size, :size] = texture + noise
    bordered[:, size:-1, :size] = drift.transpose(0, 2, 1)
    bordered[:, -1, :size] = values
    border = np.arange(size, bordered.shape[1])
    least = np.diagonal(noise, axis1=1, axis2=2).min()
    squares = float((drift**2).sum() + (values**2).sum())
    bordered[:, border, border] = 10.0 * squares / least + 1.0
    factor = np.linalg.cholesky(bordered)
    root, white = factor[:, :size, :size], factor[:, size:, :size].transpose(0, 2, 1)
    gram = np.einsum("kmi,kmj->kij", white[..., :3], white[..., :3]) + LEVEL * np.eye(3)
    cross = np.einsum("kmi,km->ki", white[..., :3], white[..., 3])
    fitted = np.linalg.solve(gram, cross[..., None])[..., 0]
    quadratic = (white[..., 3] ** 2).sum(axis=1) - (cross * fitted).sum(axis=1)
    log_det = 2.0 * np.log(np.diagonal(root, axis1=1, axis2=2)).sum()
    log_det += np.linalg.slogdet(gram)[1].sum() - np.log(LEFT_OUT) * gone.sum()
    return float(gone.size - gone.sum() - 3 * len(values)), float(quadratic.sum()), float(log_det)


def fit_calm(scene: Scene) -> CalmFloor:
    """Fit texture and noise to the calmer blocks of a scene.

    A restricted likelihood summed over blocks (composite likelihood: Varin, Reid & Firth 2011),
    maximised on a grid of ratios and lengths with weak log-normal priors; a plane is taken out of
    each block, and what stands out in it is left out.
    """
    size = min(BLOCK, len(scene.values))
    count = int(np.clip(np.ceil(2.0 * len(scene.values) / size), 1, MOST_BLOCKS))
    tree = scene.tree
    _, index = tree.query(scene.points[_centres(scene.points, count)], k=size)
    places, values, share = scene.points[index], scene.values[index], scene.share[index]
    drift, spread, gone = _plane(places, values, float(np.sqrt(scene.noise_floor)))
    calm = np.argsort(spread, kind="stable")[: max(1, int(np.ceil(CALMER * count)))]
    places, values, drift, gone = places[calm], values[calm], drift[calm], gone[calm]
    noise = np.eye(size) * np.where(gone, LEFT_OUT, share[calm])[:, :, None]
    distance = np.linalg.norm(places[:, :, None] - places[:, None], axis=-1)
    best, found = np.inf, (0.0, 1.0, scene.noise_floor)
    for length in np.array(LENGTHS_M) * max(1.0, scene.spacing / LENGTHS_M[0]):
        shape = matern(distance, float(length))
        for ratio in RATIOS:
            free, quadratic, log_det = _profile(ratio * shape, noise, drift, values, gone)
            variance = max(quadratic / max(free, 1.0), scene.noise_floor)
            misfit = free * np.log(variance) + quadratic / variance + log_det
            misfit += (np.log(ratio / 2.0) / 2.0) ** 2 + (np.log(length / 1.2) / 0.8) ** 2
            if misfit < best:
                best, found = misfit, (ratio * variance, float(length), variance)
    return CalmFloor(*found, dry_level(scene, scene.points))


def dry_level(scene: Scene, places: Array) -> Array:
    """Level of dry floor about places (m, 2), as the readings of a scene tell it, (m,)."""
    _, near = scene.tree.query(places, k=min(BASE_NEIGHBOURS, len(scene.values)))
    base = np.quantile(scene.values[near], BASE_QUANTILE, axis=1)
    return np.asarray(np.minimum(base, np.median(scene.values)))
