"""The generalised least squares metric of the readings: P, whole or in tiles.

P = K^-1 - K^-1 F (F'K^-1 F)^-1 F'K^-1 takes out the drift F and weighs by the covariance K
(Dubrule, Math. Geol. 15 (1983) 687). P z holds the scores of single readings,
l'Pz / sqrt(l'Pl) the score of a shape l.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import lapack
from scipy.spatial import cKDTree

from moisturemap.anomalies.background import Background
from moisturemap.anomalies.templates import SEGMENT, Templates

Array = NDArray[np.float64]

WHOLE = 1200
"""Up to this many readings P is one dense matrix; beyond, it is built tile by tile."""

CORE = 220
"""Readings in the core of a tile, about."""

MARGIN = 7.0
"""Width of the rim round the core of a tile that shares its factor [spacings]."""

CHUNK = 2_000_000
"""Gathered entries at a time, to bound memory."""


@dataclass(frozen=True)
class Tile:
    """Readings whose P is computed together.

    Attributes
    ----------
    members : ndarray of int, shape (k,)
        Readings of the core and the rim.
    core : ndarray of bool, shape (k,)
        True for those of the core; cores part the readings.
    matrix : ndarray, shape (k, k)
        P among the members.
    root : ndarray, shape (k, k)
        Lower Cholesky factor of K among the members.
    """

    members: NDArray[np.intp]
    core: NDArray[np.bool_]
    matrix: Array
    root: Array


@dataclass(frozen=True)
class Precision:
    """P of all readings as tiles, and as one matrix to multiply with.

    A single tile has the constant drift taken out of P itself. Several tiles hold K^-1 and share
    one mean, which :meth:`scores` takes out of the readings: a mean of its own for each tile would
    take too much of the broad field with it.
    """

    tiles: tuple[Tile, ...]
    whole: Array | sparse.csr_matrix
    drift_taken: bool

    def scores(self, values: Array) -> Array:
        """Return P z for readings (n,); tiles share the mean of the whole domain."""
        if self.drift_taken:
            return self.times(values)
        weight = self.times(np.ones(len(values)))
        return self.times(values - float(weight @ values) / float(weight.sum()))

    def times(self, vector: Array) -> Array:
        """Return P v for a vector (n,) or columns (n, k)."""
        return np.asarray(self.whole @ vector)

    def of(self, readings: NDArray[np.intp], weights: Array) -> Array:
        """Return P l for columns l given by their weights (s, k) on a few readings (s,)."""
        return np.asarray(self.whole[readings].T @ weights)

    @property
    def diagonal(self) -> Array:
        """Diagonal of P, shape (n,)."""
        return np.asarray(self.whole.diagonal())


def _tile(
    points: Array,
    noise: Array,
    model: Background,
    members: NDArray[np.intp],
    core: NDArray[np.bool_] | None = None,
) -> Tile:
    """Compute a tile; without a core it is the only one and takes the drift out."""
    places = points[members]
    matrix = model.between(places, places)
    matrix[np.diag_indices_from(matrix)] += noise[members] + 1e-9 * model.variance
    root, info = lapack.dpotrf(matrix, lower=1, clean=1)
    if info != 0:
        matrix[np.diag_indices_from(matrix)] += 1e-6 * model.variance
        root, _ = lapack.dpotrf(matrix, lower=1, clean=1)
    inverse, _ = lapack.dpotri(root, lower=1)
    inverse = inverse + inverse.T
    inverse[np.diag_indices_from(inverse)] *= 0.5
    if core is None:
        column = inverse.sum(axis=1)
        inverse -= np.outer(column, column) / column.sum()
        core = np.ones(len(members), dtype=bool)
    return Tile(members, core, inverse, root)


def _cores(points: Array) -> list[NDArray[np.intp]]:
    """Part the readings into compact groups by halving along the longer side."""
    groups, done = [np.arange(len(points))], []
    while groups:
        group = groups.pop()
        if len(group) <= CORE:
            done.append(np.sort(group))
            continue
        axis = int(np.argmax(np.ptp(points[group], axis=0)))
        order = group[np.argsort(points[group, axis], kind="stable")]
        groups += [order[: len(order) // 2], order[len(order) // 2 :]]
    return done


def build_precision(points: Array, noise: Array, model: Background, spacing: float) -> Precision:
    """Build P for readings at points (n, 2) with noise variances (n,).

    Parameters
    ----------
    model : Background
        Covariance of the field; its nugget is expected in ``noise``.
    spacing : float
        Typical distance between neighbouring readings [m].
    """
    count = len(points)
    if count <= WHOLE:
        tile = _tile(points, noise, model, np.arange(count))
        return Precision((tile,), tile.matrix, True)
    tiles, rows, columns, values = [], [], [], []
    tree = cKDTree(points)
    for core in _cores(points):
        low, high = points[core].min(axis=0), points[core].max(axis=0)
        radius = 0.5 * np.linalg.norm(high - low) + MARGIN * spacing
        near = np.array(sorted(tree.query_ball_point(0.5 * (low + high), radius)), dtype=np.intp)
        inside = np.all(
            (points[near] >= low - MARGIN * spacing) & (points[near] <= high + MARGIN * spacing),
            axis=1,
        )
        members = near[inside]
        tile = _tile(points, noise, model, members, np.isin(members, core))
        tiles.append(tile)
        local = np.flatnonzero(tile.core)
        rows.append(np.repeat(members[local], members.size))
        columns.append(np.tile(members, local.size))
        values.append(tile.matrix[local].ravel())
    whole = sparse.csr_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), (count, count)
    )
    return Precision(tuple(tiles), (0.5 * (whole + whole.T)).tocsr(), False)


def owners(precision: Precision, bank: Templates) -> list[NDArray[np.intp]]:
    """Templates that belong to each tile: the tile of the reading nearest to their centre."""
    tile_of = np.empty(bank.weights.shape[1], dtype=np.intp)
    for index, tile in enumerate(precision.tiles):
        tile_of[tile.members[tile.core]] = index
    owner = tile_of[bank.nearest]
    return [np.flatnonzero(owner == index) for index in range(len(precision.tiles))]


def _norms(matrix: Array, weights: sparse.csr_matrix) -> Array:
    """Return l'Pl for each row l of sparse weights, by gathering the few entries each needs."""
    counts = np.diff(weights.indptr)
    found = np.zeros(len(counts))
    for size in np.unique(counts[counts > 0]):
        rows = np.flatnonzero(counts == size)
        step = max(1, CHUNK // int(size) ** 2)
        for start in range(0, rows.size, step):
            part = rows[start : start + step]
            spots = weights.indptr[part][:, None] + np.arange(size)
            index, weight = weights.indices[spots], weights.data[spots]
            block = matrix[index[:, :, None], index[:, None, :]]
            found[part] = ((block @ weight[:, :, None])[:, :, 0] * weight).sum(axis=1)
    return found


def template_norms(precision: Precision, bank: Templates) -> Array:
    """Return l'Pl of each template, shape (m,)."""
    found = np.zeros(len(bank))
    for tile, owned in zip(precision.tiles, owners(precision, bank), strict=True):
        found[owned] = _norms(tile.matrix, bank.weights[owned][:, tile.members].tocsr())
    return found


def null_maxima(
    precision: Precision, bank: Templates, norms: Array, count: int, seed: int
) -> Array:
    """Greatest score over the bank in each of ``count`` fields without anomalies.

    Points and discs count on both sides, segments only as rises.
    """
    rng = np.random.default_rng(seed)
    greatest = np.zeros(count)
    for tile, owned in zip(precision.tiles, owners(precision, bank), strict=True):
        if owned.size == 0:
            continue
        field = tile.root @ rng.standard_normal((len(tile.members), count))
        scores = bank.weights[owned][:, tile.members] @ (tile.matrix @ field)
        scores /= np.sqrt(np.maximum(norms[owned], 1e-300))[:, None]
        both = bank.family[owned] != SEGMENT
        scores[both] = np.abs(scores[both])
        greatest = np.maximum(greatest, scores.max(axis=0))
    return greatest
