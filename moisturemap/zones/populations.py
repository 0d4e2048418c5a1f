"""Evidence that readings fall into two populations, dry and wet.

The likelihood ratio of two normals against one has no chi-square law (McLachlan, G. J. (1987),
Applied Statistics 36, 318-324, bootstraps it), and neighbouring readings are not independent. The
null law is therefore simulated: floors of one population with the spatial correlation fitted to
these readings, and again around their plane trend, read at the same places. The larger p-value
counts, so that neither a slow trend nor a long-ranged field is called two populations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat import Covariance
from moisturemap.zones.mixture import crossing, fit_two_normals

Array = NDArray[np.float64]

QUANTILES = 120
"""Samples are thinned to at most this many quantiles before fitting, observed and simulated
alike."""

PLACES = 400
"""Most places a null floor is simulated at."""

LEAST_CONTRAST = 2.5
"""Least distance of the two means [sd of the dry population]. Our choice, moved by invented floors
read without a dry reference: wet ground fades out, so its population is wide, and a rule that
divides by both spreads (Ashman's D above 2) left 8 of 40 floors with wet patches without a zone
and drew one on 7 of 65 without; this one leaves 4 and draws 4."""

FEWEST = 4
"""Fewest readings of either population (our choice: fewer make no mean and spread of their own)."""

DECISIVE = 10.0
"""Least BIC difference where places are not known (Kass and Raftery (1995), JASA 90, 773-795: very
strong)."""


@dataclass(frozen=True, slots=True)
class PopulationEvidence:
    """What the values of a floor say about two populations.

    Attributes
    ----------
    against : str
        What keeps the readings from being called two populations; "" of nothing.
    level : float
        Reading as likely in the wet as in the dry population.
    ratio, p_value : float
        Likelihood ratio 2 log(L2/L1) and its simulated p-value.
    contrast : float
        Distance of the two means [sd of the dry population].
    weight, mean, sd : ndarray, shape (2,)
        Of the dry and the wet population.
    spatial : bool
        True when the null floors carried the spatial correlation of the readings.
    """

    against: str
    level: float
    ratio: float
    p_value: float
    contrast: float
    weight: Array
    mean: Array
    sd: Array
    spatial: bool

    @property
    def two(self) -> bool:
        """Whether the readings are called two populations."""
        return not self.against

    @property
    def null(self) -> str:
        """What the p-value is held against."""
        return _null(self.spatial)


@dataclass(frozen=True, slots=True)
class Places:
    """Where values were read, (n, 2) [m], and the covariance of the field there."""

    points: Array
    covariance: Covariance


def population_evidence(
    values: Array,
    places: Places | None,
    *,
    simulations: int,
    significance: float,
    seed: int,
) -> PopulationEvidence:
    """Weigh two populations against one.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings of one domain; not constant.
    places : Places or None
        Where they were read; when not known, the null floors are independent readings and the
        evidence must also pass a BIC difference of ``DECISIVE``.
    simulations, significance, seed
        As in ``LevelOptions``.
    """
    rng = np.random.default_rng(seed)
    if places is None:
        observed = values
        nulls = [rng.standard_normal((simulations, values.size))]
    else:
        keep = np.sort(rng.permutation(values.size)[:PLACES])
        observed = values[keep]
        places = Places(places.points[keep], places.covariance)
        nulls = [_floors(observed, places, simulations, rng, trend=t) for t in (False, True)]
    fit = fit_two_normals(_quantiles(observed[None, :]))
    ratio = float(fit.ratio[0])
    p_value = max(
        (1 + int(np.sum(fit_two_normals(_quantiles(null)).ratio >= ratio))) / (simulations + 1)
        for null in nulls
    )
    contrast = float(fit.contrast()[0])
    smaller = float(fit.weight[0].min() * observed.size)
    decisive = 3.0 * np.log(observed.size) + DECISIVE
    against = {
        f"as much comes about by chance on {_null(places is not None)} (p = {p_value:.2g}, "
        f"{significance:.2g} or less needed)": p_value > significance,
        f"the means lie {contrast:.1f} sd of the drier floor apart ({LEAST_CONTRAST:g} or more "
        "needed)": contrast < LEAST_CONTRAST,
        f"the smaller would be of {smaller:.1f} readings ({FEWEST} or more needed)": smaller
        < FEWEST,
        f"the likelihood ratio is {ratio:.0f}, and {decisive:.0f} or more needed where places are "
        "not known": places is None and ratio <= decisive,
    }
    return PopulationEvidence(
        "; ".join(words for words, counts in against.items() if counts),
        crossing(fit.weight[0], fit.mean[0], fit.sd[0]),
        ratio,
        p_value,
        contrast,
        fit.weight[0],
        fit.mean[0],
        fit.sd[0],
        places is not None,
    )


def _null(spatial: bool) -> str:
    if spatial:
        return "floors of one population with the same spatial correlation"
    return "independent readings of one population, their places not being used"


def _quantiles(samples: Array) -> Array:
    """Sorted samples, thinned to evenly spaced quantiles."""
    ordered = np.sort(samples, axis=1)
    size = samples.shape[1]
    if size <= QUANTILES:
        return ordered
    return ordered[:, np.round((np.arange(QUANTILES) + 0.5) / QUANTILES * size - 0.5).astype(int)]


def _floors(
    values: Array, places: Places, count: int, rng: np.random.Generator, *, trend: bool
) -> Array:
    """Simulate floors of one population at the places read, shape (count, n)."""
    model, size = places.covariance, values.size
    mean, scale = np.full(size, values.mean()), 1.0
    if trend and size > 6:
        off = places.points - places.points.mean(axis=0)
        plane = np.column_stack([np.ones(size), off])
        mean = plane @ np.linalg.lstsq(plane, values, rcond=None)[0]
        scale = max(float((values - mean).var() / values.var()), 1e-6)
    matrix = model.between(places.points, places.points)
    matrix[np.diag_indices(size)] += model.nugget + 1e-8 * (model.variance + model.nugget) + 1e-12
    noise = rng.standard_normal((count, size))
    return np.asarray(mean + np.sqrt(scale) * (noise @ np.linalg.cholesky(matrix).T))
