"""Blocks of readings whose likelihoods are summed.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.intp]

WHOLE = 200
"""Readings up to which the likelihood is that of all. Our choice: beyond, blocks are as fast and
the uncertainty they leave costs under half a percent of the error (scripts/bench/coverage.py)."""

SIZE, MOST = 80, 12
"""Readings of a block and number of blocks: nine by nine neighbours tell nugget, smoothness and
short range, and a thousand readings in all tell them well enough. Our choice."""


def choose_blocks(points: Array, seed: int = 20_240) -> Index:
    """Return blocks of equally many readings: shape (b, k).

    All readings in one block when they are few. Otherwise compact blocks, each reading in at most
    one, which tell of the nugget and the short range, and one block spread over the whole floor,
    which tells of the long range (composite likelihood: Varin, Reid and Firth, Statistica Sinica
    21 (2011) 5; Caragea and Smith, J. Multivariate Anal. 98 (2007) 1417).

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Places [m].
    seed : int
        Seed of the choice.
    """
    count = len(points)
    if count <= WHOLE:
        return np.arange(count)[None]
    rng = np.random.default_rng(seed)
    if count <= MOST * SIZE:
        parts = _split(points, np.arange(count), round(count / SIZE))
    else:
        tree = cKDTree(points)
        centres = points[rng.choice(count, MOST, replace=False)]
        parts = [np.atleast_1d(tree.query(centre, k=SIZE)[1]) for centre in centres]
    size = min(len(part) for part in parts)
    spread = rng.choice(count, size, replace=False)
    return np.array([*(part[:size] for part in parts), spread], dtype=np.intp)


def _split(points: Array, members: Index, parts: int) -> list[Index]:
    """Cut readings into compact parts of equal number, across their longest direction each time.

    The direction is the first principal axis, so that turning the plan changes nothing.
    """
    if parts <= 1:
        return [members]
    centred = points[members] - points[members].mean(axis=0)
    axis = np.linalg.eigh(centred.T @ centred)[1][:, -1]
    order = members[np.argsort(centred @ axis, kind="stable")]
    first = parts // 2
    cut = round(len(members) * first / parts)
    return [*_split(points, order[:cut], first), *_split(points, order[cut:], parts - first)]
