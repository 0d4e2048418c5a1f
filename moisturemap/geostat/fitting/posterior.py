"""What the readings tell of a covariance, as a handful of weighted parameter points.

Method: docs/method/kriging.md, "Fitting the covariance".
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from moisturemap.geostat.covariance.model import PRACTICAL, Covariance
from moisturemap.geostat.fitting.likelihood import ReadingBlocks
from moisturemap.geostat.fitting.prior import FLAT_CHANCE, KIND_ODDS, Prior
from moisturemap.geostat.fitting.smooth_surface import smooth_surface

Array = NDArray[np.float64]

LOG_RATIOS = (-7.0, 3.0)
"""Bounds of the log noise to field variance ratio: noise from a thousandth of the field's variance
to twenty times it. Our choice."""

STEPS = np.linspace(-2.5, 2.5, 7)
"""Variances tried about the likeliest, in sds of its log."""

FEW = 160
"""Readings a first look is taken at; where there are more, it tells where to look closely."""

COARSE, NODES = (4, 5), 33
"""First points along log range and log ratio, and nodes of the surface drawn through them."""

ROUNDS, PICKS = 3, 3
"""Further rounds, and points looked at in each."""

DEPTH = 30.0
"""Log density below the best at which a point no longer matters."""

HOPELESS = 7.0
"""Log density, or evidence, below the best kind's at which a kind is not looked at closely."""

WORTH_A_PART = 0.5
"""Parameter points a kind must expect among those along a direction to be tried again along it."""

REACH = 4.0
"""Half-width of the close look, in sds of the first."""

SPLITS = 21
"""Shares of noise tried where a field is too short to be seen."""

FEW_POINTS = 3
"""Parameter points up to which each takes the mean variance, and the mean log range of its kind:
of readings that many the range beside the variance and the noise hardly decides a map (Stein,
Interpolation of Spatial Data, 1999, section 6.2, from memory), and parts of one range share their
correlations."""

TINY = 1e-6
"""Field variance of the flat candidate, in noise variances."""


@dataclass(frozen=True)
class Surface:
    """Log posterior of one kind over log practical range and log noise ratio.

    Attributes
    ----------
    kind : str
    nodes : ndarray, shape (m, 2)
        Log practical range [log m] and log ratio.
    log_density : ndarray, shape (m,)
        At the nodes, integrated over the variance.
    area : float
        Of one node.
    """

    kind: str
    nodes: Array
    log_density: Array
    area: float

    @property
    def log_evidence(self) -> float:
        """Log of the density summed over the surface."""
        return float(log_sum(self.log_density) + np.log(self.area))

    def moments(self) -> tuple[Array, Array]:
        """Mean and sd along both axes."""
        weight = np.exp(self.log_density - self.log_density.max())
        weight /= weight.sum()
        mean = weight @ self.nodes
        return mean, np.sqrt(weight @ (self.nodes - mean) ** 2)


@dataclass(frozen=True)
class Flat:
    """Readings that scatter about one mean without a pattern.

    Either the floor does not vary, or it varies on a scale too short for these readings; the
    readings cannot tell, only repeats can. Both give the same mean; they differ in how much of the
    scatter is the floor's own.

    Attributes
    ----------
    log_evidence : float
        Beside that of the kinds; minus infinity where it is no candidate.
    noise : float
        Variance of the readings about the mean.
    unresolved : float
        Variance expected of the floor itself on a scale too short to be mapped.
    """

    log_evidence: float
    noise: float
    unresolved: float

    @classmethod
    def of(cls, blocks: ReadingBlocks, prior: Prior) -> Flat:
        """Weigh noise alone, and a field too short to be seen with every share of noise."""
        profile = blocks.profile_of(np.zeros_like(blocks.distance), 1.0, 0.0)
        total = profile.best * np.exp(STEPS * np.sqrt(2.0 / profile.freedom))
        if not prior.active:
            return cls(-np.inf, profile.best, 0.0)
        step = (STEPS[1] - STEPS[0]) * np.sqrt(2.0 / profile.freedom)
        likelihood = profile.at(total)
        noise_only = likelihood + prior.log_noise(total) + np.log(FLAT_CHANCE * step)
        odds = np.linspace(*LOG_RATIOS, SPLITS)
        share = 1.0 / (1.0 + np.exp(-odds))[:, None]
        split = prior.log_noise(share * total) + prior.log_variance((1.0 - share) * total)
        too_short = prior.chance_too_short * (1.0 - FLAT_CHANCE) * step * (odds[1] - odds[0])
        varied = likelihood + split + np.log(too_short)
        all_kinds = np.log(sum(KIND_ODDS.values()) / (1.0 - FLAT_CHANCE))
        whole = float(log_sum(np.array([log_sum(noise_only), log_sum(varied)])))
        own = float((np.exp(varied - whole) * (1.0 - share) * total).sum())
        mean = float(
            (np.exp(noise_only - whole) * total).sum() + (np.exp(varied - whole) * total).sum()
        )
        return cls(whole + all_kinds, mean, own)


@dataclass(frozen=True)
class Posterior:
    """Log posterior of all kinds, and of no pattern.

    Attributes
    ----------
    blocks : ReadingBlocks
    prior : Prior
    surfaces : tuple of Surface
    flat : Flat
        The candidate without a pattern.
    """

    blocks: ReadingBlocks
    prior: Prior
    surfaces: tuple[Surface, ...]
    flat: Flat

    @classmethod
    def of(cls, blocks: ReadingBlocks, prior: Prior, kinds: tuple[str, ...]) -> Posterior:
        """Explore every kind; a first look at some of many readings tells where to look closely."""
        few = blocks.first(FEW) if blocks.count >= 2 * FEW else blocks
        found: list[Surface] = []
        for kind in kinds:
            box = np.array([prior.ranges(kind), LOG_RATIOS])
            found.append(_explored(_Density(few, prior, kind), box, COARSE, _highest(found)))
        if few is not blocks:
            found = _all_looked_closely(blocks, prior, found)
        return cls(blocks, prior, tuple(found), Flat.of(blocks, prior))

    def bent(self, anisotropy: float, angle_deg: float, parts: int) -> Posterior:
        """Return the posterior along a direction, looked for about this one.

        So many parameter points will stand for it; a kind that will get none is not tried again.
        """
        blocks = self.blocks.bent(anisotropy, angle_deg)
        evidence = np.array([one.log_evidence for one in self.surfaces])
        expected = parts * np.exp(evidence - log_sum(evidence))
        tried = expected >= min(WORTH_A_PART, float(expected.max()))
        surfaces: list[Surface] = []
        for one, worth in zip(self.surfaces, tried, strict=True):
            if worth:
                density = _Density(blocks, self.prior, one.kind)
                surfaces.append(_looked_closely(density, one, surfaces))
        return replace(self, blocks=blocks, surfaces=tuple(surfaces))

    @property
    def chance_of_flat(self) -> float:
        """Probability that the readings show no pattern."""
        kinds = [one.log_evidence for one in self.surfaces]
        flat = self.flat.log_evidence
        return float(np.exp(flat - log_sum(np.array([*kinds, flat]))))

    def points(self, count: int) -> list[tuple[float, Covariance]]:
        """Weighted covariances that stand for the posterior of a pattern; weights sum to 1.

        Systematic resampling of the surfaces, taken in order of the noise ratio, which decides
        the standard deviation most.
        """
        log_weight = np.concatenate([one.log_density + np.log(one.area) for one in self.surfaces])
        nodes = np.concatenate([one.nodes for one in self.surfaces])
        kind = np.repeat(np.arange(len(self.surfaces)), [len(one.nodes) for one in self.surfaces])
        order = np.lexsort((nodes[:, 0], nodes[:, 1], kind))
        edges = np.cumsum(np.exp(log_weight[order] - log_sum(log_weight)))
        chosen = np.searchsorted(edges, (np.arange(count) + 0.5) / count)
        chosen = order[np.minimum(chosen, len(order) - 1)]
        ranks = (0.5 + 0.618034 * np.arange(count)) % 1.0
        taken = ["mean" if count <= FEW_POINTS else float(rank) for rank in ranks]
        if count <= FEW_POINTS:
            for one in chosen:
                nodes[one, 0] = self.surfaces[kind[one]].moments()[0][0]
        return [
            (1.0 / count, self._covariance(self.surfaces[kind[one]].kind, nodes[one], how))
            for one, how in zip(chosen, taken, strict=True)
        ]

    def best(self, *, polished: bool = False) -> Covariance:
        """Likeliest covariance with a pattern; of the drawn surface, or searched out to the end."""
        surface = max(self.surfaces, key=lambda one: float(one.log_density.max()))
        place = surface.nodes[int(surface.log_density.argmax())]
        if not polished:
            return self._covariance(surface.kind, place, "likeliest")
        from scipy.optimize import minimize  # a fifth of a second to load, and seldom needed

        density = _Density(self.blocks, self.prior, surface.kind)
        box = [self.prior.ranges(surface.kind), LOG_RATIOS]
        # the stubs want the options of the method as a dict of their own type
        found = minimize(  # type: ignore[call-overload]
            lambda theta: -float(density.at(theta[None])[0]),
            place,
            method="Nelder-Mead",
            bounds=box,
            options={"xatol": 5e-3, "fatol": 1e-3, "maxfev": 120},
        )
        return self._covariance(surface.kind, found.x, "likeliest")

    def log_likelihood(self, model: Covariance) -> float:
        """Restricted log likelihood of a covariance, equal ranges assumed."""
        noise = model.nugget * self.prior.share + self.prior.known
        profile = self.blocks.profile(model.kind, model.length, noise / model.variance)
        constant = 0.5 * profile.freedom * np.log(2.0 * np.pi)
        return float(profile.at(np.array(model.variance)) - constant)

    def nothing(self) -> Covariance:
        """Covariance of readings without a pattern: noise, and next to no field."""
        noise = self.flat.noise
        kind = self.surfaces[0].kind
        length = float(np.exp(self.prior.ranges(kind)[1])) / PRACTICAL[kind]
        nugget = float(self.prior.nugget_of(np.array(noise)))
        return Covariance(kind, TINY * noise, length, nugget)

    def _covariance(self, kind: str, place: Array, how: str | float) -> Covariance:
        """Covariance at a place of a surface; its variance by rank, the mean or the likeliest."""
        density = _Density(self.blocks, self.prior, kind)
        variances, weights = (found[0] for found in density.variances(place[None]))
        chance = np.exp(weights - log_sum(weights))
        if how == "likeliest":
            # the middle one is the likeliest where no prior pulls
            variance = float(variances[int(weights.argmax())])
        elif how == "mean":
            variance = float(chance @ variances)
        else:
            middle = np.cumsum(chance) - 0.5 * chance
            variance = float(np.exp(np.interp(float(how), middle, np.log(variances))))
        nugget = float(self.prior.nugget_of(np.array(np.exp(place[1]) * variance)))
        length = float(np.exp(place[0])) / PRACTICAL[kind]
        return Covariance(kind, variance, length, nugget)


@dataclass(frozen=True)
class _Density:
    """Log posterior density of one kind."""

    blocks: ReadingBlocks
    prior: Prior
    kind: str

    def variances(self, places: Array) -> tuple[Array, Array]:
        """Variances at log ranges and log ratios (p, 2), and the log density of their logs.

        Both of shape (p, steps).
        """
        lengths, ratios = np.exp(places[:, 0]) / PRACTICAL[self.kind], np.exp(places[:, 1])
        profiles = self.blocks.profiles(self.kind, lengths, ratios)
        width = np.sqrt(2.0 / profiles[0].freedom)
        variances = np.array([[one.best] for one in profiles]) * np.exp(STEPS * width)
        pairs = zip(profiles, variances, strict=True)
        likelihood = np.array([profile.at(some) for profile, some in pairs])
        noise = ratios[:, None] * variances
        prior = self.prior.log_variance(variances) + self.prior.log_noise(noise)
        step = np.log((STEPS[1] - STEPS[0]) * width)
        odds = np.log(KIND_ODDS[self.kind]) + self.prior.log_range(places[:, :1])
        return variances, likelihood + prior + step + odds

    def at(self, places: Array) -> Array:
        """Log density at log ranges and log ratios (p, 2), integrated over the variance: (p,)."""
        return np.array([log_sum(weights) for weights in self.variances(places)[1]])


def _all_looked_closely(blocks: ReadingBlocks, prior: Prior, first: list[Surface]) -> list[Surface]:
    """Explore about the bulk of first looks, the likeliest first.

    A kind far below it at some of the readings is farther at all of them: it is left so far below.
    """
    evidence = np.array([one.log_evidence for one in first])
    lead = int(evidence.argmax())
    found = {lead: _looked_closely(_Density(blocks, prior, first[lead].kind), first[lead], [])}
    gained = found[lead].log_evidence - evidence[lead]
    for place, one in enumerate(first):
        if evidence[place] < evidence[lead] - HOPELESS:
            found[place] = replace(one, log_density=one.log_density + gained)
        elif place != lead:
            others = list(found.values())
            found[place] = _looked_closely(_Density(blocks, prior, one.kind), one, others)
    return [found[place] for place in range(len(first))]


def _highest(surfaces: list[Surface]) -> float:
    """Highest log density among surfaces; minus infinity of none."""
    return max((float(one.log_density.max()) for one in surfaces), default=-np.inf)


def _looked_closely(density: _Density, first: Surface, others: list[Surface]) -> Surface:
    """Explore about the bulk of a first look, less closely where other kinds are far better."""
    box = np.array([density.prior.ranges(density.kind), LOG_RATIOS])
    mean, sd = first.moments()
    reach = REACH * np.maximum(sd, 0.05)
    close = np.clip(np.array([mean - reach, mean + reach]).T, box[:, :1], box[:, 1:])
    return _explored(density, close, (3, 3), _highest(others))


def _explored(
    density: _Density, box: Array, first: tuple[int, int], best: float = -np.inf
) -> Surface:
    """Look at some points of a box and draw a smooth surface through them.

    A cubic radial basis function with a quadratic trend is laid through the log density; each
    round looks where it is highest and not yet looked at. A kind far below ``best`` is left.
    """
    axes = [np.linspace(low, high, count) for (low, high), count in zip(box, first, strict=True)]
    looked = np.array([[a, b] for a in axes[0] for b in axes[1]])
    values = density.at(looked)
    fine = [np.linspace(low, high, NODES) for low, high in box]
    nodes = np.stack(np.meshgrid(*fine, indexing="ij"), axis=-1).reshape(-1, 2)
    area = float(np.prod([axis[1] - axis[0] for axis in fine]))
    surface = Surface(density.kind, nodes, _drawn(looked, values, nodes, box), area)
    for _ in range(ROUNDS):
        if values.max() < best - HOPELESS:
            break
        further = _picked(surface, looked)
        looked = np.concatenate([looked, further])
        values = np.concatenate([values, density.at(further)])
        surface = Surface(density.kind, nodes, _drawn(looked, values, nodes, box), area)
    return surface


def _drawn(looked: Array, values: Array, nodes: Array, box: Array) -> Array:
    """Smooth surface through the points looked at, at the nodes."""
    low, span = box[:, 0], np.ptp(box, axis=1)
    top = values.max()
    clipped = np.maximum(values, top - DEPTH)
    if not np.isfinite(top):
        return np.zeros(len(nodes))
    drawn = smooth_surface((looked - low) / span, clipped, (nodes - low) / span)
    return np.asarray(np.minimum(drawn, top + 2.0))


def _picked(surface: Surface, looked: Array) -> Array:
    """Nodes worth a look: high, and a good part of an sd away from those looked at."""
    sd = np.maximum(surface.moments()[1], 1e-6)
    scaled = surface.nodes / sd
    apart = cdist(scaled, looked / sd).min(axis=1)
    picked = []
    for _ in range(PICKS):
        worth = surface.log_density + 3.0 * np.log(np.clip(apart, 1e-6, 1.0))
        one = int(worth.argmax())
        picked.append(surface.nodes[one])
        apart = np.minimum(apart, cdist(scaled, scaled[one : one + 1])[:, 0])
    return np.array(picked)


def log_sum(values: Array) -> float:
    """Log of the sum of exponentials; minus infinity of nothing but that."""
    top = float(values.max())
    if not np.isfinite(top):
        return top
    return top + float(np.log(np.exp(values - top).sum()))
