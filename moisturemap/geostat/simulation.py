"""Unconditional and conditional simulation of a Gaussian field."""

from __future__ import annotations

from itertools import pairwise
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, eye_array
from scipy.sparse.linalg import spsolve_triangular
from scipy.spatial import cKDTree

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import Drift
from moisturemap.geostat.observations import Observations, distances_within

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EXACT = 3000
"""Places up to which the field is simulated by Cholesky factor."""

PARENTS = 30
"""Earlier places each place is drawn from, beyond ``EXACT``."""


NEAREST, TOGETHER = 64, 512
"""Readings and earlier cells a cell is drawn from in turn, and cells weighed at once."""


class Kriged(Protocol):
    """What residual substitution needs of a kriging."""

    model: Covariance
    observations: Observations

    def means(self, cells: Array, values: Array) -> Array:
        """Kriged means (m, r) of other values (n, r) at the same readings."""


class KrigedNearby(Protocol):
    """What drawing in turn needs of a kriging."""

    model: Covariance
    observations: Observations
    drift: Drift
    coefficients: Array

    @property
    def tree(self) -> cKDTree:
        """Readings by place, in coordinates in which the field is isotropic."""

    def coefficient_root(self) -> Array:
        """Root R of the covariance of the drift coefficients: R R', (p, p)."""


def simulate(points: Array, model: Covariance, count: int, seed: int) -> Array:
    """Unconditional draws of the field with zero mean: (count, m).

    By Cholesky factor to ``EXACT`` places; beyond, one place after the other in random order from
    its nearest predecessors (Vecchia, J. R. Stat. Soc. B 50 (1988) 297; Datta et al., J. Am. Stat.
    Assoc. 111 (2016) 800).

    Parameters
    ----------
    points : ndarray
        Places [m], shape (m, 2).
    model : Covariance
    count : int
        Draws.
    seed : int

    Returns
    -------
    ndarray, shape (count, m)
        Draws.
    """
    rng = np.random.default_rng(seed)
    places = model.isotropic(points)
    if len(points) <= EXACT:
        covariance = model.between(points, points)
        covariance.ravel()[:: len(points) + 1] += 1e-9 * model.variance
        root = np.linalg.cholesky(covariance)
        return np.asarray(rng.standard_normal((count, len(points))) @ root.T)
    order = rng.permutation(len(points))
    lower, spread = _predecessors(places[order], model)
    right = spread[:, None] * rng.standard_normal((len(points), count))
    field = np.empty((count, len(points)))
    field[:, order] = spsolve_triangular(lower, right, lower=True, unit_diagonal=True).T
    return field


def conditional_draws(kriged: Kriged, cells: Array, count: int, seed: int) -> Array:
    """Conditional draws of the noise-free field at cells, by residual substitution: (count, m).

    A free draw at readings and cells is corrected by the kriging of what it misses at the readings
    (Journel, Econ. Geol. 69 (1974) 673; Chiles and Delfiner, Geostatistics, 2012, section 7.3).
    """
    data = kriged.observations
    free = simulate(np.concatenate([data.points, cells]), kriged.model, count, seed)
    noise = np.sqrt(data.noise_with(kriged.model.nugget))
    rng = np.random.default_rng([seed, 1])
    read = free[:, : len(noise)] + noise * rng.standard_normal((count, len(noise)))
    missed = (data.values - read).T
    return np.asarray(free[:, len(noise) :] + kriged.means(cells, missed).T)


def draws_in_turn(kriged: KrigedNearby, cells: Array, count: int, seed: int) -> Array:
    """Conditional draws of the noise-free field at cells, one after the other: (count, m).

    In random order, each from the readings and the earlier cells nearest to it (Katzfuss and
    Guinness, Stat. Sci. 36 (2021) 124, responses first; from memory, verify). The time it takes
    grows with the cells alone, however many readings there are.
    """
    data, model = kriged.observations, kriged.model
    readings, rng = len(data.points), np.random.default_rng(seed)
    order = rng.permutation(len(cells))
    places = model.isotropic(np.concatenate([data.points, cells[order]]))
    near = _nearest(kriged.tree, places[readings:])
    noise = np.concatenate([data.noise_with(model.nugget), np.zeros(len(cells))])
    share, spread = np.empty(near[0].shape), np.empty(len(cells))
    for start in range(0, len(cells), TOGETHER):
        part = np.arange(start, min(start + TOGETHER, len(cells)))
        some = near[0][part], near[1][part]
        share[part], spread[part] = _weights(places, model, readings + part, some, noise)
    row = np.repeat(np.arange(len(cells)), near[0].shape[1])
    where = row, near[0].ravel()
    whole = csr_matrix(((share * near[1]).ravel(), where), shape=(len(cells), len(places)))
    drawn = rng.standard_normal((kriged.coefficients.size, count))
    drift = kriged.coefficients[:, None] + kriged.coefficient_root() @ drawn
    heard = np.unique(near[0][near[0] < readings])
    missed = data.values[heard, None] - kriged.drift(data.points[heard]) @ drift
    right = whole[:, heard] @ missed
    right += spread[:, None] * rng.standard_normal((len(cells), count))
    lower = eye_array(len(cells), format="csr") - whole[:, readings:]
    field = np.empty((count, len(cells)))
    field[:, order] = spsolve_triangular(lower, right, lower=True, unit_diagonal=True).T
    return np.asarray(field + (kriged.drift(cells) @ drift).T)


def _nearest(tree: cKDTree, cells: Array) -> tuple[Index, NDArray[np.bool_]]:
    """Find what each cell is drawn from, cells counted on from the readings; and what there is."""
    apart, near = tree.query(cells, k=np.arange(1, min(NEAREST, tree.n) + 1))
    beside, others = cKDTree(cells).query(cells, k=np.arange(1, min(3 * NEAREST, len(cells)) + 1))
    earlier = others < np.arange(len(cells))[:, None]
    away = np.hstack([apart, np.where(earlier, beside, np.inf)])
    first = np.argsort(away, axis=1, kind="stable")[:, :NEAREST]
    found = np.take_along_axis(np.hstack([near, tree.n + others]), first, axis=1)
    return found, np.isfinite(np.take_along_axis(away, first, axis=1))


def _predecessors(places: Array, model: Covariance) -> tuple[csr_matrix, Array]:
    """Write the field as a unit lower-triangular matrix on predecessors; also the sd left."""
    count = len(places)
    rows: list[Index] = []
    columns: list[Index] = []
    weights: list[Array] = []
    spread = np.empty(count)
    for start, stop in _chunks(count):
        parents, known = _parents(places, start, stop)
        share, left = _weights(places, model, np.arange(start, stop), (parents, known))
        spread[start:stop] = left
        rows.append(np.repeat(np.arange(start, stop), parents.shape[1])[known.ravel()])
        columns.append(parents.ravel()[known.ravel()])
        weights.append(-share.ravel()[known.ravel()])
    diagonal = np.arange(count)
    matrix = csr_matrix(
        (
            np.concatenate([*weights, np.ones(count)]),
            (np.concatenate([*rows, diagonal]), np.concatenate([*columns, diagonal])),
        ),
        shape=(count, count),
    )
    return matrix, spread


def _chunks(count: int) -> list[tuple[int, int]]:
    """Ranges that double in length, cut to a bounded size."""
    edges = [0, min(64, count)]
    while edges[-1] < count:
        edges.append(min(count, 2 * edges[-1], edges[-1] + 4096))
    return list(pairwise(edges))


def _parents(places: Array, start: int, stop: int) -> tuple[Index, NDArray[np.bool_]]:
    """Nearest predecessors of a range of places, with a mask of those that exist."""
    want = min(int(2.5 * PARENTS), stop)
    found = cKDTree(places[:stop]).query(places[start:stop], k=np.arange(1, want + 1))[1]
    earlier = found < np.arange(start, stop)[:, None]
    first = np.argsort(~earlier, axis=1, kind="stable")[:, :PARENTS]
    return np.take_along_axis(found, first, axis=1), np.take_along_axis(earlier, first, axis=1)


def _weights(
    places: Array,
    model: Covariance,
    these: Index,
    near: tuple[Index, NDArray[np.bool_]],
    noise: Array | None = None,
) -> tuple[Array, Array]:
    """Weigh the parents of each place by simple kriging; also the sd left over."""
    parents, known = near
    around = places[parents]
    matrix = model.at(distances_within(around))
    if not known.all():
        matrix *= known[:, :, None] & known[:, None, :]
    diagonal = np.arange(parents.shape[1])
    matrix[:, diagonal, diagonal] = model.variance * (1.0 + 1e-9)
    if noise is not None:
        matrix[:, diagonal, diagonal] += noise[parents]
    cross = model.at(np.linalg.norm(around - places[these][:, None, :], axis=2)) * known
    weights = np.asarray(np.linalg.solve(matrix, cross[:, :, None])[:, :, 0], dtype=float)
    left = model.variance - np.einsum("ij,ij->i", weights, cross)
    return weights, np.asarray(np.sqrt(np.maximum(left, 0.0)))
