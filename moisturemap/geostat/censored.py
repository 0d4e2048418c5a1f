"""Readings that stop at the end of the scale: known to be at or beyond it, not equal to it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.special import log_ndtr, ndtri_exp

from moisturemap.errors import NotEnoughData
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.fit import CovarianceFit, fit_covariance
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.kriging.exact import Kriging

Array = NDArray[np.float64]
Index = NDArray[np.intp]

ROUNDS = 3
"""Rounds of filling in and fitting again before the last."""

SETTLED = 0.1
"""Change of log variance, length and nugget below which no further round is made."""

QUICK, SWEEPS = 20, 60
"""Gibbs sweeps between fits, and before the last."""

COPIES = 12
"""Filled-in copies carried into the map."""

WHOLE = 1500
"""Readings up to which the joint conditional distribution is used; beyond, neighbours."""

NEAREST = 24


@dataclass(frozen=True)
class CensoredFit:
    """A covariance fitted to readings some of which are censored.

    Attributes
    ----------
    fit : CovarianceFit
    copies : ndarray, shape (n, COPIES)
        The readings with the censored ones filled in, drawn from their distribution given all
        readings; every column the same when nothing is censored.
    """

    fit: CovarianceFit
    copies: Array


@dataclass(frozen=True)
class Censored:
    """Readings at distinct places, some known only to lie at or beyond their value.

    Attributes
    ----------
    points : ndarray, shape (n, d)
    values : ndarray, shape (n,)
        Readings; for a censored one, the limit.
    side : ndarray of int, shape (n,)
        1: at or above the value; -1: at or below it; 0: the value itself.
    noise_sd : ndarray, shape (n,), or None
    """

    points: Array
    values: Array
    side: NDArray[np.int_]
    noise_sd: Array | None = None


def fit_censored(
    points: Array,
    values: Array,
    side: NDArray[np.int_],
    *,
    noise_sd: Array | None = None,
    options: FitOptions | None = None,
    seed: int = 0,
) -> CensoredFit:
    """Fit a covariance and fill in the censored readings.

    Data augmentation: the censored readings are drawn from their truncated normal distribution
    given the others by Gibbs sampling, the covariance is fitted to them, and so on (stochastic EM;
    De Oliveira, Scand. J. Stat. 32 (2005) 61; Geweke 1991 for the sampler).

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Distinct places [m].
    values : ndarray, shape (n,)
        Readings; for a censored one, the limit.
    side : ndarray of int, shape (n,)
        1: at or above the value; -1: at or below it; 0: the value itself.
    noise_sd : ndarray, shape (n,), optional
    options : FitOptions, optional
    seed : int

    Raises
    ------
    NotEnoughData
        When fewer than three readings are not censored.
    """
    rng = np.random.default_rng(seed)
    if not side.any():
        fit = fit_covariance(points, values, noise_sd=noise_sd, options=options)
        return CensoredFit(fit, values[:, None].repeat(1, axis=1))
    if np.count_nonzero(side == 0) < 3:
        message = "fewer than three readings lie inside the scale"
        raise NotEnoughData(message)
    spread = float(values[side == 0].std()) or 1.0
    filled = values + 0.3 * spread * side
    data = Censored(points, values, side, noise_sd)
    mode = replace(options or FitOptions(), posterior=1, anisotropy=False)
    before: Covariance | None = None
    for _ in range(ROUNDS):
        model = fit_covariance(points, filled, noise_sd=noise_sd, options=mode).model
        filled = fill_in(data, model, rng, QUICK)[:, 0]
        if before is not None and _settled(before, model):
            break
        before, mode = model, replace(mode, kinds=(model.kind,))
    fit = fit_covariance(points, filled, noise_sd=noise_sd, options=options)
    return CensoredFit(fit, fill_in(data, fit.model, rng))


def _settled(before: Covariance, model: Covariance) -> bool:
    """Whether a round moved the covariance by less than it is known to."""
    one, other = (np.array([c.variance, c.length, c.nugget]) for c in (before, model))
    return bool(np.all(np.abs(np.log(one / other)) < SETTLED))


def fill_in(
    data: Censored, model: Covariance, rng: np.random.Generator, sweeps: int = SWEEPS
) -> Array:
    """Draw the censored readings given the others: (n, COPIES).

    Parameters
    ----------
    data : Censored
    model : Covariance
    rng : numpy.random.Generator
    sweeps : int
        Passes over the censored readings.

    Returns
    -------
    ndarray, shape (n, copies)
        Values with the censored ones drawn.
    """
    hidden = np.flatnonzero(data.side)
    start = data.values + 0.5 * np.sqrt(model.variance) * data.side
    current = np.repeat(start[:, None], COPIES, axis=1)
    if len(data.points) <= WHOLE:
        precision, _ = Kriging(data.points, data.values, model, data.noise_sd).precision()
        sd = 1.0 / np.sqrt(np.diagonal(precision)[hidden])
        rows = -precision[hidden] * (sd**2)[:, None]
        rows[np.arange(len(hidden)), hidden] = 0.0
        near = np.broadcast_to(np.arange(len(data.points)), rows.shape)
    else:
        near, rows, sd = _neighbour_weights(data, hidden, model)
    for _ in range(sweeps):
        for number, one in enumerate(hidden):
            mean = rows[number] @ current[near[number]]
            limit, side = float(data.values[one]), int(data.side[one])
            current[one] = _beyond(mean, float(sd[number]), limit, side, rng)
    return current


def _beyond(mean: Array, sd: float, limit: float, side: int, rng: np.random.Generator) -> Array:
    """Draw normal values known to lie at or beyond a limit."""
    bound = side * (mean - limit) / sd
    log_share = log_ndtr(bound) + np.log(rng.uniform(1e-12, 1.0, size=mean.shape))
    return np.asarray(mean - side * sd * ndtri_exp(log_share))


def _neighbour_weights(
    data: Censored, hidden: Index, model: Covariance
) -> tuple[Index, Array, Array]:
    """Ordinary kriging weights of each hidden reading on its neighbours, and its sd."""
    points, places = data.points, model.isotropic(data.points)
    noise = np.full(len(points), model.nugget)
    if data.noise_sd is not None:
        noise = noise + data.noise_sd**2
    near = np.asarray(cKDTree(places).query(places[hidden], k=NEAREST + 1)[1])[:, 1:]
    rows, sd = np.empty(near.shape), np.empty(len(hidden))
    for number, (one, some) in enumerate(zip(hidden, near, strict=True)):
        matrix = np.ones((NEAREST + 1, NEAREST + 1))
        matrix[:-1, :-1] = model.between(points[some], points[some]) + np.diag(noise[some])
        matrix[-1, -1] = 0.0
        right = np.append(model.between(points[some], points[[one]])[:, 0], 1.0)
        weights = np.linalg.solve(matrix, right)
        rows[number] = weights[:-1]
        sd[number] = np.sqrt(max(model.variance + noise[one] - weights @ right, 1e-300))
    return np.asarray(near, dtype=np.intp), rows, sd
