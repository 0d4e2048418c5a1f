"""Empirical variogram: half the mean squared difference of readings by distance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial.distance import pdist

from moisturemap.errors import NotEnoughData, OptionError

Array = NDArray[np.float64]

ESTIMATORS = ("matheron", "cressie-hawkins", "dowd")

MOST_POINTS = 2_000
"""Places whose pairs are all formed; of more, an even random sample is taken."""

NORMAL_QUARTILE = 0.6744897501960817
"""Upper quartile of the standard normal distribution."""


@dataclass(frozen=True)
class EmpiricalVariogram:
    """Variogram by classes of distance.

    Attributes
    ----------
    distance : ndarray, shape (k,)
        Mean distance of the pairs of each class [m].
    gamma : ndarray, shape (k,)
        Semivariance [value units squared].
    pairs : ndarray of int, shape (k,)
        Number of pairs in each class; classes without pairs are left out.
    estimator : str
    """

    distance: Array
    gamma: Array
    pairs: NDArray[np.intp]
    estimator: str


def empirical_variogram(
    points: ArrayLike,
    values: ArrayLike,
    *,
    classes: int = 15,
    cutoff: float | None = None,
    estimator: str = "matheron",
    seed: int = 0,
) -> EmpiricalVariogram:
    """Return the empirical variogram.

    Parameters
    ----------
    points : array_like, shape (n, d)
        Places [m].
    values : array_like, shape (n,)
    classes : int
        Number of classes of equal width.
    cutoff : float, optional
        Longest distance [m]; a third of the diagonal of the bounding box by default.
    estimator : str
        ``"matheron"`` (Matheron 1962), ``"cressie-hawkins"`` (Cressie & Hawkins, Math. Geol. 12
        (1980) 115, eq. 2.3 with the bias term to N^-2), or ``"dowd"`` (Dowd 1984, the median).
    seed : int
        Of the sample taken from more than ``MOST_POINTS`` places.

    Raises
    ------
    NotEnoughData
        With fewer than two distinct places.
    """
    if estimator not in ESTIMATORS:
        message = "unknown variogram estimator"
        raise OptionError(message, value=estimator, allowed=", ".join(ESTIMATORS))
    places = np.asarray(points, dtype=float)
    z = np.asarray(values, dtype=float)
    if len(places) > MOST_POINTS:
        kept = np.random.default_rng(seed).choice(len(places), MOST_POINTS, replace=False)
        places, z = places[kept], z[kept]
    if cutoff is None:
        cutoff = float(np.hypot.reduce(np.ptp(places, axis=0))) / 3 if len(places) else 0.0
    if cutoff <= 0:
        message = "a variogram needs at least two readings at different places"
        raise NotEnoughData(message)
    distance = pdist(places)
    difference = pdist(z[:, None])
    number = np.ceil(distance / (cutoff / classes)).astype(np.intp) - 1
    rows = []
    for index in range(classes):
        chosen = number == index
        if chosen.any():
            gamma = _semivariance(difference[chosen], estimator)
            rows.append((distance[chosen].mean(), gamma, int(chosen.sum())))
    middle, gammas, pairs = (np.array(column) for column in zip(*rows, strict=True))
    return EmpiricalVariogram(middle, gammas, pairs.astype(np.intp), estimator)


def _semivariance(difference: Array, estimator: str) -> float:
    """Semivariance of one class from the absolute differences of its pairs."""
    count = difference.size
    if estimator == "matheron":
        return float(0.5 * np.mean(difference**2))
    if estimator == "dowd":
        # the median of |N(0, 2 gamma)| is the normal quartile times sqrt(2 gamma)
        return float(0.5 * (np.median(difference) / NORMAL_QUARTILE) ** 2)
    bias = 0.457 + 0.494 / count + 0.045 / count**2
    return float(0.5 * np.mean(np.sqrt(difference)) ** 4 / bias)
