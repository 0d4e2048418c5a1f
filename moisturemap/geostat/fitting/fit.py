"""Fit a covariance to readings: restricted likelihood with bounds and weak priors."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.spatial.distance import cdist

from moisturemap.errors import NotEnoughData
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.covariance.variogram import empirical_variogram, fit_variogram
from moisturemap.geostat.fitting.anisotropy import earned_anisotropy
from moisturemap.geostat.fitting.blocks import choose_blocks, halves
from moisturemap.geostat.fitting.likelihood import Block
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.fitting.posterior import posterior_points
from moisturemap.geostat.fitting.prior import Prior, as_kind, prior_for
from moisturemap.geostat.observations import Observations, pool

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EXACT_FIT = 500
"""Readings up to which the likelihood is that of all of them; beyond, a sum over blocks."""

QUICK_CHOICE = 200
"""Readings beyond which the kind is chosen on blocks before the whole is fitted."""

ROUGH_READINGS, ROUGH_CLASSES = 30, 6
"""Readings, and classes of distance, that a variogram needs to start a search from."""

ANISOTROPY_READINGS = 100
"""Fewest readings that may show a range that differs by direction."""


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
        message = (
            f"at least {drift.shape[1] + 2} readings at different places are needed to fit "
            f"a covariance, {len(data.points)} given"
        )
        raise NotEnoughData(message)
    prior = prior_for(data, options)
    modes = _modes(data, drift, prior, options)
    best = max(modes, key=lambda kind: modes[kind][1])
    model, reached = modes[best]
    if EXACT_FIT >= len(data.points) > _quick(options):
        whole = [_block(data, drift, prior, np.arange(len(data.points)))]
        model, reached = _search(best, whole, prior, [_logs(model)])
    posterior = posterior_points(
        data, drift, {kind: one for kind, (one, _) in modes.items()}, prior, options.posterior
    ) or ((1.0, model),)
    by_kind = {kind: value for kind, (_, value) in modes.items()}
    likelihood = reached - prior.log_density(model)
    fit = CovarianceFit(model, posterior, likelihood, by_kind, _notes(model, data, prior))
    if options.anisotropy and len(data.points) >= ANISOTROPY_READINGS:
        ratio, angle = earned_anisotropy(data, drift, model)
        return fit if ratio == 1.0 else _stretched(fit, ratio, angle)
    return fit


def _modes(
    data: Observations, drift: Array, prior: Prior, options: FitOptions
) -> dict[str, tuple[Covariance, float]]:
    """Most likely covariance of each kind, and its penalised log likelihood."""
    count = len(data.points)
    if count <= _quick(options):
        groups = [np.arange(count)]
    elif count <= EXACT_FIT:
        groups = halves(data.points)
    else:
        groups = choose_blocks(data.points)
    blocks = [_block(data, drift, prior, group) for group in groups]
    rough = _rough(data) if count <= QUICK_CHOICE else None

    def starts(kind: str) -> list[Array]:
        again = [] if rough is None else [_logs(as_kind(rough, kind))]
        first = prior.start(kind) if options.start is None else _logs(as_kind(options.start, kind))
        return [first, *again]

    return {
        kind: _search(kind, blocks, prior, starts(kind))
        for kind in options.kinds
        if kind != "spherical" or data.points.shape[1] <= 3
    }


def _quick(options: FitOptions) -> int:
    """Return up to how many readings all are fitted at once: of one kind there is no choice."""
    return QUICK_CHOICE if len(options.kinds) > 1 else EXACT_FIT


def _rough(data: Observations) -> Covariance | None:
    """Covariance read off a robust variogram, to start the search from."""
    if len(data.points) < ROUGH_READINGS:
        return None
    found = empirical_variogram(
        data.points,
        data.values,
        classes=12,
        estimator="cressie-hawkins",
        cutoff=0.5 * float(np.ptp(data.points, axis=0).max()),
    )
    return fit_variogram(found, "exponential") if len(found.gamma) >= ROUGH_CLASSES else None


def _block(data: Observations, drift: Array, prior: Prior, group: Index) -> Block:
    places = data.points[group]
    return Block(
        cdist(places, places),
        data.values[group] - prior.centre,
        data.noise[group],
        1.0 / data.repeats[group],
        drift[group],
    )


def _search(
    kind: str, blocks: list[Block], prior: Prior, starts: list[Array]
) -> tuple[Covariance, float]:
    """Best covariance of one kind and its penalised log likelihood.

    Likelihoods may have several maxima, the spherical one often: a second start helps.
    """
    bounds = prior.bounds(kind)

    def objective(theta: Array) -> tuple[float, Array]:
        model = Covariance(kind, *np.exp(theta))
        value, gradient = prior.penalty(model)
        for block in blocks:
            part, slope = block.likelihood(model)
            value += part
            gradient = gradient + slope
        if not np.isfinite(value):
            return 1e300, np.zeros(3)
        return -value, -gradient

    tolerance = 1e-7 if sum(len(block.values) for block in blocks) <= QUICK_CHOICE else 1e-6
    runs = [
        minimize(
            objective,
            np.clip(first, bounds[:, 0], bounds[:, 1]),
            jac=True,
            method="L-BFGS-B",
            bounds=bounds,
            options={"maxiter": 60, "ftol": tolerance, "gtol": 1e-2},
        )
        for first in starts
    ]
    found = min(runs, key=lambda run: float(run.fun))
    variance, length, nugget = (float(number) for number in np.exp(found.x))
    return Covariance(kind, variance, length, nugget), -float(found.fun)


def _logs(model: Covariance) -> Array:
    """Log variance, log length, log nugget."""
    return np.log(np.maximum([model.variance, model.length, model.nugget], 1e-300))


def _stretched(fit: CovarianceFit, ratio: float, angle: float) -> CovarianceFit:
    """Return the fit with a range that differs by direction, its mean range kept."""

    def stretch(model: Covariance) -> Covariance:
        return replace(
            model, length=model.length / float(np.sqrt(ratio)), anisotropy=ratio, angle_deg=angle
        )

    posterior = tuple((weight, stretch(model)) for weight, model in fit.posterior)
    note = (
        f"Readings resemble each other {1 / ratio:.1f} times as far along {angle:.0f} degrees "
        "as across."
    )
    return replace(fit, model=stretch(fit.model), posterior=posterior, notes=(*fit.notes, note))


def _notes(model: Covariance, data: Observations, prior: Prior) -> tuple[str, ...]:
    notes = []
    if float(np.ptp(data.values)) == 0.0:
        notes.append(
            "All readings are equal: the map is flat, and its interval rests on the "
            "scale's step and the repeats alone."
        )
    low, high = np.exp(prior.bounds(model.kind)[1])
    if model.length >= 0.99 * high:
        notes.append(
            "The readings vary on a scale as large as the floor: the fitted range stands "
            "at its upper bound."
        )
    if model.length <= 1.01 * low:
        notes.append(
            "Neighbouring readings are no more alike than distant ones: the fitted range "
            "stands at its lower bound, the spacing of the readings."
        )
    return tuple(notes)
