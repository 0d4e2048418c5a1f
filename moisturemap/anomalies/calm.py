"""The calm floor: texture and noise where nothing stands out, and the level of dry floor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

BLOCK, LEAST_BLOCK, BLOCKS = 36, 25, 8
"""Readings of one block (our choice: six by six, a texture of a few spacings fits in), down to five
by five where the readings make no more than so many blocks: on a small floor a larger one has a
thing in it wherever it lies, and a smaller one is taken for calm by chance."""

LEFT = 8
"""A block of which fewer readings are left tells nothing."""

WET_FROM = 0.5
"""A reading this share of the way from dry floor to the wet level, and beyond, is no calm floor."""

ROUGH = 4.0
"""Nor one that stands less than so many sd of calm floor over dry floor, where the level is as low:
that is the floor's own roughness, and without it calm floor would seem smoother than it is."""

FEWEST_DRY = 30
"""Where fewer readings are drier than that, all are taken (our choice)."""

MOST_READ = 24 * BLOCK
"""Most readings of all blocks; more change no digit that matters (our choice)."""

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


def _plane(places: Array, values: Array, least: float, wet: Mask) -> tuple[Array, Array, Mask]:
    """Robust plane of each block: drift columns, spread (k,) and what is left out (k, m)."""
    count, size = values.shape
    drift = np.concatenate(
        [np.ones((count, size, 1)), places - places.mean(axis=1, keepdims=True)], axis=2
    )
    weight = np.where(wet, 0.0, 1.0)
    for _ in range(6):
        weighed = drift * weight[..., None]
        gram = np.einsum("kmi,kmj->kij", weighed, drift) + LEVEL * np.eye(3)
        right = np.einsum("kmi,km->ki", weighed, values)
        slope = np.linalg.solve(gram, right[..., None])[..., 0]
        residual = values - np.einsum("kmi,ki->km", drift, slope)
        residual -= _median(residual, wet)
        spread = 1.4826 * _median(np.abs(residual), wet) + least
        share = residual / (OUTLIER * spread)
        weight = np.where((np.abs(share) < 1) & ~wet, (1 - share**2) ** 2, 0.0)
    return drift, spread[:, 0], (np.abs(share) >= 0.85) | wet


def _median(values: Array, wet: Mask) -> Array:
    """Median of each block (k, 1) of what is not wet."""
    return np.asarray(np.nanmedian(np.where(wet, np.nan, values), axis=1, keepdims=True))


def _profile(
    texture: Array, noise: Array, drift: Array, values: Array, gone: Mask
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
    """Fit texture and noise to the calmer blocks of a scene, wet floor left out.

    Twice where the wet level is so low that the first fit left out roughness as wet floor.
    """
    base = dry_level(scene, scene.points)
    wet = _wet(scene, base, 0.0)
    calm = _fitted(scene, base, wet)
    wetter = _wet(scene, base, ROUGH * calm.sd)
    return calm if np.array_equal(wet, wetter) else _fitted(scene, base, wetter)


def _fitted(scene: Scene, base: Array, wet: Mask) -> CalmFloor:
    """Fit texture and noise to what is not wet.

    A restricted likelihood summed over blocks (composite likelihood: Varin, Reid & Firth 2011),
    maximised on a grid of ratios and lengths with weak log-normal priors; a plane is taken out of
    each block, and what stands out in it is left out, as is wet floor.
    """
    size = min(int(np.clip(len(base) // BLOCKS, LEAST_BLOCK, BLOCK)), len(base))
    count = int(np.clip(np.ceil(2.0 * len(base) / size), 1, MOST_READ // size))
    centres = scene.points[_centres(scene.points, count)]
    index = np.asarray(scene.tree.query(centres, k=size)[1])
    known = (~wet[index]).sum(axis=1) >= min(LEFT, size)
    if not known.any():
        known, wet = ~known, np.zeros(len(base), dtype=bool)
    index = index[known]
    places, values, share = scene.points[index], scene.values[index], scene.share[index]
    least = float(np.sqrt(scene.noise_floor))
    drift, spread, gone = _plane(places, values, least, wet[index])
    calm = np.argsort(spread, kind="stable")[: max(1, int(np.ceil(CALMER * len(index))))]
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
    return CalmFloor(*found, base)


def _wet(scene: Scene, base: Array, least: float) -> Mask:
    """Find readings nearer to the wet level than to dry floor, and so far over it [reading].

    None where no level is stated, nor where what is dry about a place is above the level itself:
    all of it is wet or none.
    """
    wet = np.zeros(len(base), dtype=bool)
    if scene.level is not None:
        wet = scene.values - base > np.maximum(WET_FROM * (scene.level - base), least)
        wet &= base < scene.level
    return wet if (~wet).sum() >= FEWEST_DRY else np.zeros_like(wet)


def dry_level(scene: Scene, places: Array) -> Array:
    """Level of dry floor about places (m, 2), as the readings of a scene tell it, (m,)."""
    _, near = scene.tree.query(places, k=min(BASE_NEIGHBOURS, len(scene.values)))
    base = np.quantile(scene.values[near], BASE_QUANTILE, axis=1)
    return np.asarray(np.minimum(base, np.median(scene.values)))
