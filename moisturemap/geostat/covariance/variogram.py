"""The empirical variogram: plain, robust, and by FFT on lattices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial.distance import pdist

from moisturemap.errors import NotEnoughData, OptionError
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.lattice import Lattice, find_lattice
from moisturemap.geostat.observations import pool

Array = NDArray[np.float64]

ESTIMATORS = ("matheron", "cressie-hawkins", "dowd")

ALL_PAIRS = 2000
"""Readings up to which every pair is used; beyond, a random sample (or the lattice)."""


@dataclass(frozen=True)
class EmpiricalVariogram:
    """An empirical variogram.

    Attributes
    ----------
    distance : ndarray, shape (b,)
        Mean distance of the pairs in each bin [m].
    gamma : ndarray, shape (b,)
        Semivariance [value units squared].
    pairs : ndarray, shape (b,)
        Number of pairs.
    estimator : str
    """

    distance: Array
    gamma: Array
    pairs: Array
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
    """Semivariance of readings by distance.

    ``"matheron"``: half the mean squared difference. ``"cressie-hawkins"``: Cressie and Hawkins,
    Math. Geol. 12 (1980) 115. ``"dowd"``: 2.198 times the squared median absolute difference, Dowd
    in Geostatistics for Natural Resources Characterization (1984) 91. On a full lattice of more
    than 2,000 readings all pairs are summed by FFT (Marcotte, Comput. Geosci. 22 (1996) 1175;
    Matheron's estimator only).

    Parameters
    ----------
    points : array_like, shape (n, d)
        Places [m].
    values : array_like, shape (n,)
    classes : int
        Number of classes of distance, of equal width.
    cutoff : float, optional
        Longest distance [m]; a third of the diagonal of the layout by default.
    estimator : str
    seed : int
        Of the sample taken from more than ``ALL_PAIRS`` scattered readings.

    Raises
    ------
    NotEnoughData
        With fewer than two distinct places.
    """
    if estimator not in ESTIMATORS:
        raise OptionError("unknown estimator", value=estimator, allowed=", ".join(ESTIMATORS))
    data = pool(points, values)
    if len(data.points) < 2:
        raise NotEnoughData("a variogram needs readings at two places or more")
    reach = float(np.hypot.reduce(np.ptp(data.points, axis=0))) / 3.0 if cutoff is None else cutoff
    edges = np.linspace(0.0, reach, classes + 1)
    places, numbers = data.points, data.values
    if len(places) > ALL_PAIRS:
        lattice = find_lattice(places, least_filled=0.5)
        if lattice is not None and estimator == "matheron":
            return _on_lattice(lattice, (places, numbers), edges)
        chosen = np.random.default_rng(seed).choice(len(places), ALL_PAIRS, replace=False)
        places, numbers = places[chosen], numbers[chosen]
    apart = pdist(places)
    unlike = pdist(numbers[:, None], "cityblock")
    return _binned(apart, unlike, edges, estimator)


def _binned(apart: Array, unlike: Array, edges: Array, estimator: str) -> EmpiricalVariogram:
    """Sort pairs into bins closed on the right."""
    place = np.searchsorted(edges, apart, side="left") - 1
    keep = (place >= 0) & (place < len(edges) - 1)
    place, apart, unlike = place[keep], apart[keep], unlike[keep]
    count = np.bincount(place, minlength=len(edges) - 1).astype(float)
    held = np.flatnonzero(count)
    distance = np.bincount(place, weights=apart, minlength=len(count))[held] / count[held]
    if estimator == "matheron":
        total = np.bincount(place, weights=unlike**2, minlength=len(count))[held]
        gamma = 0.5 * total / count[held]
    elif estimator == "cressie-hawkins":
        root = np.bincount(place, weights=np.sqrt(unlike), minlength=len(count))[held]
        number = count[held]
        gamma = 0.5 * (root / number) ** 4 / (0.457 + 0.494 / number + 0.045 / number**2)
    else:
        order = np.argsort(place, kind="stable")
        parts = np.split(unlike[order], np.cumsum(count.astype(int))[:-1])
        median = np.array([np.median(part) for part in parts if len(part)])
        gamma = 0.5 * 2.198 * median**2
    return EmpiricalVariogram(distance, np.asarray(gamma), count[held], estimator)


def _on_lattice(lattice: Lattice, data: tuple[Array, Array], edges: Array) -> EmpiricalVariogram:
    """All pairs of a lattice, gaps allowed, by FFT."""
    places, numbers = data
    index = tuple(lattice.index(places).T)
    field, mask = np.zeros(lattice.shape), np.zeros(lattice.shape)
    field[index], mask[index] = numbers - numbers.mean(), 1.0
    from scipy.fft import irfft2, next_fast_len, rfft2  # loaded late, for few ask

    size = tuple(next_fast_len(2 * count, real=True) for count in lattice.shape)
    one, two, square = (rfft2(part, size) for part in (mask, field, field**2))
    pairs = np.rint(irfft2(one * one.conj(), size))
    both = irfft2(two * two.conj(), size)
    ends = irfft2(square * one.conj() + one * square.conj(), size)
    steps = [np.fft.fftfreq(count, 1.0 / count) for count in size]
    apart = np.hypot(steps[0][:, None] * lattice.step[0], steps[1] * lattice.step[1])
    place = np.searchsorted(edges, apart * (1.0 - 1e-12), side="left") - 1
    keep = (place >= 0) & (place < len(edges) - 1) & (pairs > 0) & (apart > 0)
    length = len(edges) - 1
    count = np.bincount(place[keep], weights=pairs[keep], minlength=length)
    total = np.bincount(place[keep], weights=(ends - 2.0 * both)[keep], minlength=length)
    reach = np.bincount(place[keep], weights=(apart * pairs)[keep], minlength=length)
    held = count > 0
    distance = np.asarray(reach[held] / count[held])
    gamma = np.asarray(0.5 * total[held] / count[held], dtype=float)
    return EmpiricalVariogram(distance, gamma, np.asarray(0.5 * count[held]), "matheron")


def fit_variogram(variogram: EmpiricalVariogram, kind: str = "spherical") -> Covariance:
    """Fit a covariance to an empirical variogram by least squares with weights N/h^2.

    The weights of the usual weighted fit (Pebesma, Comput. Geosci. 30 (2004) 683).

    Parameters
    ----------
    variogram : EmpiricalVariogram
    kind : str
        One of ``KINDS``.
    """
    if len(variogram.gamma) < 3:
        raise NotEnoughData("a variogram fit needs three bins or more")
    root = np.sqrt(variogram.pairs) / variogram.distance
    top = max(float(variogram.gamma.max()), 1e-300)
    far = float(variogram.distance.max())

    def misfit(theta: Array) -> Array:
        model = Covariance(kind, 1.0, theta[2] * far)
        curve = theta[0] + theta[1] * (1.0 - model.correlation(variogram.distance))
        return np.asarray(root * (curve - variogram.gamma / top))

    from scipy.optimize import least_squares  # a fifth of a second to load, and seldom needed

    found = least_squares(
        misfit,
        [0.1, 0.8, 0.4],
        bounds=([0.0, 0.0, 1e-3], [2.0, 20.0, 20.0]),
        x_scale=[0.1, 1.0, 0.5],
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
        max_nfev=200,
    )
    nugget, sill, length = (float(number) for number in found.x)
    return Covariance(kind, max(sill, 1e-12) * top, length * far, nugget * top)
