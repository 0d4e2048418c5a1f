"""Fit a covariance to readings: what they tell of it, with bounds and weak priors.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import NotEnoughData
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.anisotropy import CHANCE, Direction, Directions, directions
from moisturemap.geostat.fitting.earlier import FloorPattern
from moisturemap.geostat.fitting.likelihood import ReadingBlocks
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.fitting.posterior import FEW_POINTS, Posterior
from moisturemap.geostat.fitting.prior import Prior, prior_for
from moisturemap.geostat.observations import Observations, pool

Array = NDArray[np.float64]

UNEQUAL = 1.05
"""Ratio of greatest to mean noise from which noise is shared out anew by the nugget found."""

WORTH_SAYING = 0.5
"""Chance of a direction, or of no pattern, from which it is said."""

LEAST_FLAT = 0.01
"""Chance of no pattern below which the candidate is dropped."""

LEAST_CHANCE = 0.1
"""Chance of a direction below which equal ranges are taken."""

DIRECTION_READINGS = 60
"""Fewest readings asked for a direction; fewer never tell. Our choice."""


@dataclass(frozen=True)
class CovarianceFit:
    """A fitted covariance.

    Attributes
    ----------
    model : Covariance
        The likeliest one.
    posterior : tuple of (float, Covariance)
        Weighted parameter points that carry the uncertainty of the fit; weights sum to 1.
    log_likelihood : float
        Restricted log likelihood of ``model`` (summed over blocks for many readings).
    by_kind : dict of str to float
        Log evidence of each candidate, up to a common constant; ``"flat"`` for no pattern.
    chance_of_flat : float
        Probability that the readings show no pattern; the last of ``posterior`` stands for it.
    unresolved : float
        Variance the floor itself is expected to have on a scale too short to be mapped, if they
        show none [value units squared].
    chance_of_direction : float
        Probability that ranges differ by direction; 0 where few readings or none tell.
    notes : tuple of str
        What was assumed or looks odd, in sentences.
    spread : tuple of (float, Covariance)
        As ``posterior``, where the points that carry the map are too few to tell how sure range
        and nugget are; empty where they do.
    """

    model: Covariance
    posterior: tuple[tuple[float, Covariance], ...]
    log_likelihood: float
    by_kind: dict[str, float] = field(default_factory=dict)
    chance_of_flat: float = 0.0
    unresolved: float = 0.0
    chance_of_direction: float = 0.0
    notes: tuple[str, ...] = ()
    spread: tuple[tuple[float, Covariance], ...] = ()

    @classmethod
    def given(cls, model: Covariance) -> CovarianceFit:
        """Take a covariance as known."""
        return cls(model, ((1.0, model),), float("nan"))

    @property
    def nugget_interval(self) -> tuple[float, float]:
        """Least and greatest nugget among the parameter points [value units squared]."""
        nuggets = [model.nugget for _, model in self.spread or self.posterior]
        return min(nuggets), max(nuggets)

    def pattern(self, known: float = 0.0) -> FloorPattern | None:
        """Return what later floors may borrow; None where no pattern is likelier than one.

        Parameters
        ----------
        known : float
            Variance of one reading known besides the nugget, from repeats [value units squared].
        """
        if self.chance_of_flat > WORTH_SAYING:
            return None
        parts = self.spread or self.posterior
        parts = parts[:-1] if self.chance_of_flat > 0.0 else parts
        weights = np.array([weight for weight, _ in parts])
        weights /= weights.sum()
        ranges = np.log([model.practical_range for _, model in parts])
        noises = 0.5 * np.log([max(model.nugget + known, 1e-18) for _, model in parts])
        middle = [float(weights @ values) for values in (ranges, noises)]
        sd = [
            float(np.sqrt(weights @ (values - mean) ** 2))
            for values, mean in zip((ranges, noises), middle, strict=True)
        ]
        return FloorPattern(
            float(np.exp(middle[0])),
            sd[0],
            float(np.exp(middle[1])),
            sd[1],
            self.chance_of_direction,
        )


TOLD_POINTS = 5
"""Parameter points that tell how sure range and nugget are, where fewer carry the map."""


def points_wanted(count: int) -> int:
    """How many parameter points a fit of so many readings carries.

    Our choice: on invented floors of 225 to 1,000 readings three points hold the truth as often as
    five, and their maps are as near; few readings leave more unsaid and cost less; very many leave
    next to nothing unsaid.
    """
    if count <= 40:
        return 24
    if count <= 120:
        return 9
    if count <= 220:
        return 6
    return 3 if count <= 50_000 else 1


def fit_covariance(
    points: ArrayLike,
    values: ArrayLike,
    *,
    noise_sd: ArrayLike | None = None,
    options: FitOptions | None = None,
) -> CovarianceFit:
    """Fit a covariance by restricted likelihood with bounds and weak priors.

    The posterior of kind, range, noise ratio and variance (Handcock and Stein, Technometrics 35
    (1993) 403) is explored and stood for by a handful of weighted parameter sets, which carry the
    uncertainty of the fit into the map. That the readings are noise about one mean is a candidate
    among the others.

    Parameters
    ----------
    points : array_like, shape (n, d)
        Places [m].
    values : array_like, shape (n,)
    noise_sd : float or array_like (n,), optional
        Known noise of each value, besides the nugget that is fitted.
    options : FitOptions, optional

    Returns
    -------
    CovarianceFit

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
    kinds = tuple(k for k in options.kinds if k != "spherical" or data.points.shape[1] <= 3)
    prior = prior_for(data, options)
    blocks = ReadingBlocks.of(data, drift, prior.nugget)
    found = Posterior.of(blocks, prior, kinds or ("exponential",))
    if float(blocks.noise.max()) > UNEQUAL:
        blocks = ReadingBlocks.of(data, drift, found.best().nugget)
        found = Posterior.of(blocks, prior, kinds)
    wanted = options.posterior or points_wanted(len(data.points))
    shape = _shape(found, options, wanted)
    flat = found.chance_of_flat
    flat = flat if wanted > 1 and flat > LEAST_FLAT else 0.0
    parts = _with_flat(_parts(shape, wanted), flat, found)
    model = shape.best(polished=wanted == 1 and options.polished)
    likelihood = shape.likeliest.log_likelihood(model)
    model = _stretched(model, shape.direction)
    few = 1 < wanted <= FEW_POINTS and options.posterior is None
    spread = _with_flat(_parts(shape, TOLD_POINTS), flat, found) if few else []
    if wanted == 1:
        parts = [(1.0, model)]
    elif flat > WORTH_SAYING:
        model = found.nothing()
    return CovarianceFit(
        model,
        tuple(parts),
        likelihood,
        {one.kind: one.log_evidence for one in found.surfaces} | {"flat": found.flat.log_evidence},
        flat,
        found.flat.unresolved,
        shape.chance,
        _notes(model, data, prior, flat),
        tuple(spread),
    )


def _with_flat(
    parts: list[tuple[float, Covariance]], flat: float, found: Posterior
) -> list[tuple[float, Covariance]]:
    """Return weighted covariances of a pattern, then that of none with its chance."""
    if flat <= 0.0:
        return parts
    return [*(((1.0 - flat) * weight, model) for weight, model in parts), (flat, found.nothing())]


@dataclass(frozen=True)
class _Shape:
    """The posterior with equal ranges, and with the direction the readings show."""

    plain: Posterior
    turned: Posterior | None = None
    seen: Directions | None = None

    @property
    def chance(self) -> float:
        """Probability that ranges differ by direction."""
        return 0.0 if self.seen is None else self.seen.chance

    @property
    def likeliest(self) -> Posterior:
        """Posterior of the likelier of both."""
        if self.turned is not None and self.chance > WORTH_SAYING:
            return self.turned
        return self.plain

    @property
    def direction(self) -> Direction:
        """Likeliest direction; none where equal ranges are likelier."""
        if self.seen is not None and self.likeliest is self.turned:
            return self.seen.best
        return Direction()

    def best(self, *, polished: bool) -> Covariance:
        """Likeliest covariance, in coordinates in which it is isotropic."""
        return self.likeliest.best(polished=polished)


def _shape(found: Posterior, options: FitOptions, wanted: int) -> _Shape:
    """Ask whether ranges differ by direction, and if they may, fit again along it."""
    blocks = found.blocks
    few = blocks.points.shape[2] != 2 or blocks.count < DIRECTION_READINGS
    if few or not options.anisotropy:
        return _Shape(found)
    best = found.best()
    noise = best.nugget * found.prior.share + found.prior.known
    earlier = options.earlier
    before = CHANCE if earlier is None else earlier.chance_of_direction(CHANCE)
    seen = directions(blocks, best, noise / best.variance, before)
    if seen.chance < LEAST_CHANCE:
        return _Shape(found)
    parts = max(round(seen.chance * wanted), 1)
    return _Shape(found, found.bent(seen.best.ratio, seen.best.angle_deg, parts), seen)


def _parts(shape: _Shape, wanted: int) -> list[tuple[float, Covariance]]:
    """Weighted covariances of a pattern, some of them with a direction where one shows."""
    bent = round(shape.chance * wanted)
    if shape.turned is None or shape.seen is None or bent == 0:
        return shape.plain.points(wanted)
    plain = wanted - bent
    parts = [(weight * plain / wanted, one) for weight, one in shape.plain.points(plain)]
    drawn = zip(shape.turned.points(bent), shape.seen.draw(bent), strict=True)
    return parts + [
        (weight * bent / wanted, _stretched(one, direction)) for (weight, one), direction in drawn
    ]


def _stretched(model: Covariance, direction: Direction) -> Covariance:
    """Return a covariance with a range that differs by direction, its mean range kept."""
    if direction.ratio == 1.0:
        return model
    length = model.length / float(np.sqrt(direction.ratio))
    return replace(model, length=length, anisotropy=direction.ratio, angle_deg=direction.angle_deg)


def _notes(model: Covariance, data: Observations, prior: Prior, flat: float) -> tuple[str, ...]:
    notes = []
    if float(np.ptp(data.values)) == 0.0:
        notes.append(
            "All readings are equal: the map is flat, and its interval rests on the "
            "scale's step and the repeats alone."
        )
    elif flat > WORTH_SAYING:
        notes.append(
            "Neighbouring readings are no more alike than distant ones: these readings show no "
            "pattern, and the map is nearly flat."
        )
    elif np.log(model.practical_range) >= np.log(0.95) + prior.ranges(model.kind)[1]:
        notes.append(
            "The readings vary on a scale as large as the floor: the fitted range stands "
            "at its upper bound."
        )
    if model.anisotropy < 1.0:
        notes.append(
            f"Readings resemble each other {1 / model.anisotropy:.1f} times as far along "
            f"{model.angle_deg:.0f} degrees (from the x axis of the plan, turned to its y axis) as "
            "across."
        )
    return tuple(notes)
