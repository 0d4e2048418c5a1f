"""Blocks of readings for a composite likelihood."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Array = NDArray[np.float64]

SIZE = 160
REACHES = (1, 6, 36)
COUNT = 8


def choose_blocks(points: Array, seed: int = 20_240) -> list[NDArray[np.intp]]:
    """Return groups of readings whose joint likelihoods are summed (composite likelihood).

    Blocks of neighbours tell of the nugget and the short range, thinned blocks over wider areas of
    the long range (Varin, Reid and Firth, Statistica Sinica 21 (2011) 5; Caragea and Smith, J.
    Multivariate Anal. 98 (2007) 1417).

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Places [m].
    seed : int
        Seed of the choice.
    """
    rng = np.random.default_rng(seed)
    tree = cKDTree(points)
    groups = []
    for reach in REACHES:
        near = min(SIZE * reach, len(points))
        for start in rng.choice(len(points), size=COUNT, replace=len(points) < COUNT):
            group = np.atleast_1d(tree.query(points[start], k=near)[1])
            if near > SIZE:
                group = rng.choice(group, size=SIZE, replace=False)
            groups.append(np.sort(group))
    return groups


def halves(points: Array, seed: int = 20_240) -> list[NDArray[np.intp]]:
    """Return random parts and compact parts of some hundred readings, each of them once."""
    rng = np.random.default_rng(seed)
    count = int(np.ceil(len(points) / SIZE))
    shuffled = np.array_split(rng.permutation(len(points)), count)
    longest = int(np.ptp(points, axis=0).argmax())
    along = np.array_split(np.argsort(points[:, longest], kind="stable"), count)
    return [np.sort(group) for group in (*shuffled, *along)]
