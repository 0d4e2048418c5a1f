"""Fit a covariance to readings: restricted likelihood with bounds and weak priors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.spatial.distance import cdist

from moisturemap.errors import NotEnoughData, OptionError
from moisturemap.geostat.blocks import choose_blocks
from moisturemap.geostat.covariance import KINDS, Covariance
from moisturemap.geostat.kriging import constant
from moisturemap.geostat.likelihood import likelihood_and_gradient
from moisturemap.geostat.observations import Observations, pool, spacing_of
from moisturemap.geostat.posterior import posterior_points
from moisturemap.geostat.prior import Prior, prior_for

Array = NDArray[np.float64]

EXACT_FIT = 500
"""Readings up to which the likelihood is that of all of them; beyond, a sum over blocks."""


@dataclass(frozen=True, kw_only=True)
class FitOptions:
    """How a covariance is fitted.

    Attributes
    ----------
    kinds : tuple of str
        Candidates of smoothness; the likelihood chooses.
    nugget_floor : float
        Least nugget variance, e.g. the variance of repeats or step^2/12 of a rounded scale.
    length_bounds : (float, float) or None
        Bounds of the length parameter [m]; from spacing and extent when None.
    priors : bool
        Weak priors on range, variance and nugget; off for plain restricted likelihood.
    posterior : int or None
        Most parameter points that carry the uncertainty of the fit; chosen by the number of
        readings when None; 1 for the mode alone.
    anisotropy : bool
        Let the range differ by direction where 100 readings or more earn it.
    drift : callable
        Drift columns at places.
    """

    kinds: tuple[str, ...] = ("exponential", "matern32", "spherical")
    nugget_floor: float = 0.0
    length_bounds: tuple[float, float] | None = None
    priors: bool = True
    posterior: int | None = None
    anisotropy: bool = False
    drift: Callable[[Array], Array] = constant

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            raise OptionError("unknown covariance", value=unknown, allowed=", ".join(KINDS))
        if not self.nugget_floor >= 0:
            raise OptionError("nugget_floor must be a variance, 0 or more", value=self.nugget_floor)


@dataclass(frozen=True)
class CovarianceFit:
    """A fitted covariance.

    Attributes
    ----------
    model : Covariance
        The most likely one.
    posterior : tuple of (float, Covariance)
        Weighted parameter points that carry the uncertainty of the fit; weights sum to 1.
    log_likelihood : float
        Restricted log likelihood of ``model`` (summed over blocks for many readings).
    by_kind : dict of str to float
        Penalised log likelihood reached by each candidate.
    notes : tuple of str
        What was assumed or looks odd, in sentences.
    """

    model: Covariance
    posterior: tuple[tuple[float, Covariance], ...]
    log_likelihood: float
    by_kind: dict[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Block:
    """Readings whose joint likelihood is used."""

    distance: Array
    values: Array
    noise: tuple[Array, Array]
    drift: Array


def fit_covariance(
    points: ArrayLike,
    values: ArrayLike,
    *,
    noise_sd: ArrayLike | None = None,
    options: FitOptions | None = None,
) -> CovarianceFit:
    """Fit a covariance by restricted maximum likelihood with bounds and weak priors.

    The range stays between the spacing of the readings and the extent of the floor, because
    restricted likelihood alone may run to an infinite range. The kind (smoothness) with the
    highest penalised likelihood is taken; for few readings ``posterior`` holds a handful of
    weighted parameter sets that carry the uncertainty of the fit into the map.

    Parameters
    ----------
    points : array_like, shape (n, d)
        Places [m].
    values : array_like, shape (n,)
    noise_sd : float or array_like (n,), optional
        Known noise of each value, besides the nugget that is fitted.
    options : FitOptions, optional

    Raises
    ------
    InputError
        For input that is not finite.
    NotEnoughData
        With fewer than two distinct places beyond the drift columns.
    """
    options = options or FitOptions()
    data = pool(points, values, noise_sd)
    drift = options.drift(data.points)
    if len(data.points) < drift.shape[1] + 2:
        message = (f"at least {drift.shape[1] + 2} readings at different places are needed to fit "
                   f"a covariance, {len(data.points)} given")  # fmt: skip
        raise NotEnoughData(message)
    prior = prior_for(data, options)
    blocks = _blocks(data, drift, prior)
    results = {kind: _fit_kind(kind, blocks, prior) for kind in options.kinds
               if kind != "spherical" or data.points.shape[1] <= 3}  # fmt: skip
    best = max(results, key=lambda kind: results[kind][1])
    model, reached = results[best]
    likelihood = reached - prior.log_density(model) if options.priors else reached
    by_kind = {kind: value for kind, (_, value) in results.items()}
    starts = {kind: one for kind, (one, _) in results.items()}
    posterior = posterior_points(data, drift, starts, prior, options.posterior)
    if posterior is None:
        posterior = ((1.0, model),)
    return CovarianceFit(model, posterior, likelihood, by_kind, _notes(model, data, prior))


def _blocks(data: Observations, drift: Array, prior: Prior) -> list[_Block]:
    """Cut the readings into blocks, one when they are few."""
    groups = [np.arange(len(data.points))]
    if len(data.points) > EXACT_FIT:
        groups = choose_blocks(data.points)
    blocks = []
    for group in groups:
        places = data.points[group]
        blocks.append(
            _Block(
                cdist(places, places),
                data.values[group] - prior.centre,
                (data.noise[group], 1.0 / data.repeats[group]),
                drift[group],
            )
        )
    return blocks


def _fit_kind(kind: str, blocks: list[_Block], prior: Prior) -> tuple[Covariance, float]:
    """Best covariance of one kind and its penalised log likelihood."""
    bounds = prior.bounds(kind)

    def objective(theta: Array) -> tuple[float, Array]:
        model = Covariance(kind, *np.exp(theta))
        value, gradient = prior.penalty(model)
        for block in blocks:
            part = likelihood_and_gradient(
                block.distance, block.values, model, block.noise, block.drift
            )
            value += part.value
            gradient = gradient + part.gradient
        if not np.isfinite(value):
            return 1e300, np.zeros(3)
        return -value, -gradient

    start = np.clip(prior.start(kind), bounds[:, 0], bounds[:, 1])
    found = minimize(objective, start, jac=True, method="L-BFGS-B", bounds=bounds,
                     options={"maxiter": 60, "ftol": 1e-7, "gtol": 1e-3})  # fmt: skip
    return Covariance(kind, *np.exp(found.x)), -float(found.fun)


def _notes(model: Covariance, data: Observations, prior: Prior) -> tuple[str, ...]:
    notes = []
    if float(np.ptp(data.values)) == 0.0:
        notes.append("All readings are equal: the map is flat, and its interval rests on the "
                     "scale's step and the repeats alone.")  # fmt: skip
    low, high = np.exp(prior.bounds(model.kind)[1])
    if model.length >= 0.99 * high:
        notes.append("The readings vary on a scale as large as the floor: the fitted range stands "
                     "at its upper bound.")  # fmt: skip
    if model.length <= 1.01 * low:
        notes.append("Neighbouring readings are no more alike than distant ones: the fitted range "
                     "stands at its lower bound, the spacing of the readings.")  # fmt: skip
    return tuple(notes)


def with_nugget(fit: CovarianceFit, nugget: float) -> CovarianceFit:
    """Return the fit with another nugget in every parameter point."""
    return replace(
        fit,
        model=replace(fit.model, nugget=nugget),
        posterior=tuple((weight, replace(one, nugget=nugget)) for weight, one in fit.posterior),
    )


__all__ = ["CovarianceFit", "FitOptions", "fit_covariance", "spacing_of", "with_nugget"]
