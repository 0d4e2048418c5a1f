"""The search on one domain, on bare arrays."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.background import SHORTEST, Background, Sample, fit_background
from moisturemap.anomalies.linking import link_runs, merged
from moisturemap.anomalies.mean import Mean
from moisturemap.anomalies.options import DetectOptions
from moisturemap.anomalies.pattern import Wave, find_waves
from moisturemap.anomalies.precision import (
    Precision,
    build_precision,
    null_maxima,
    template_norms,
)
from moisturemap.anomalies.pursuit import (
    PARTIAL_SHARE,
    RIVAL_WIDTH,
    TOO_BROAD,
    Search,
    pursue,
)
from moisturemap.anomalies.ridge import Ridge, refine
from moisturemap.anomalies.templates import POINT, SEGMENT, Templates, broadest, build_templates

Array = NDArray[np.float64]

LEAST_TEXTURE = 0.5
"""Least length of the texture on dense grids [m]: twice the widest footprint, so that a pipe under
many rows does not pass for texture."""

FIRST_SHORTEST = 5.0
"""Least length of the texture as long as nothing is masked [spacings], so that pipes cannot pass
for texture."""

LIBERAL = 3.3
"""Threshold of the first pass, which only masks readings for the fit."""

MARGIN = 1.06
"""The simulated threshold is raised by this factor, because real wet zones are rougher in places
than the stationary field it is simulated from."""

SETTLED = 0.01
"""The background is not fitted again when no more than this share of the readings changed sides."""

STEP_SHARE = 0.92
"""A ridge whose score a sharp step beside it reaches to this share is a step of the slab."""

KEPT_SHARE = 0.9
"""Share of the threshold a find must keep once everything is fitted together."""

MASK_FROM = 1.0
"""Readings lifted by this many noise sd are masked when the background is fitted again."""


@dataclass(frozen=True)
class Spot:
    """A disc or a single reading that stands out: place [m], sd of the disc (0: one reading)."""

    centre: tuple[float, float]
    width: float
    column: Array


@dataclass(frozen=True)
class Scan:
    """Readings of one domain ready for the search.

    Attributes
    ----------
    points, values, share : ndarray
        Places (n, 2) [m], readings (n,), and 1 over the repeats of each (n,).
    spacing : float
        Typical distance between neighbouring readings [m].
    floor : float
        Least noise variance of one reading [reading^2].
    bank : Templates
    apart : ndarray, shape (n,)
        Greatest difference between repeats at a place [reading]; 0 without repeats.
    """

    points: Array
    values: Array
    share: Array
    spacing: float
    floor: float
    bank: Templates
    apart: Array


@dataclass(frozen=True)
class Finds:
    """What was found on one domain.

    Attributes
    ----------
    ridges, spots : tuple
    strengths, scores : ndarray
        Of the ridges, then of the spots [reading], [-].
    columns : ndarray, shape (n, k)
        Profile of each ridge and spot on the readings.
    background : Background
    precision : Precision
    threshold : float
    waves : tuple of Wave
        Waves of a regular pattern, taken out of the readings beforehand.
    wet : ndarray, shape (n, j)
        Broad columns that entered the mean as wet floor.
    """

    ridges: tuple[Ridge, ...]
    spots: tuple[Spot, ...]
    strengths: Array
    scores: Array
    columns: Array
    background: Background
    precision: Precision
    threshold: float
    waves: tuple[Wave, ...]
    wet: Array = field(repr=False)

    @property
    def effects(self) -> Array:
        """Rise of each reading by each find, shape (n, k)."""
        return self.columns * self.strengths

    @property
    def noise_sd(self) -> float:
        """Noise of one reading as fitted [reading]."""
        return float(np.sqrt(self.background.nugget))


def _search(scan: Scan, precision: Precision, norms: Array, entered: Array) -> Search:
    scores = precision.scores(scan.values)
    search = Search(
        precision,
        scan.bank,
        scan.points,
        scan.spacing,
        scores,
        precision.diagonal.copy(),
        scan.bank.weights @ scores,
        norms.copy(),
        np.ones(len(scan.points)),
    )
    for column in entered.T:
        search.enter(column)
    return search


def _ridge(bank: Templates, index: int) -> Ridge:
    x, y = bank.centre[index]
    return Ridge(
        (float(x), float(y)),
        float(bank.angle[index]),
        float(bank.length[index]),
        float(bank.width[index]),
    )


def _stands(ridge: Ridge, mean: Mean, scan: Scan, threshold: float) -> bool:
    """Whether a ridge still stands against broader rivals and is strong enough."""
    row = ridge.weights(scan.points)[None, :]
    alone = float(mean.standardised(row)[0])
    beside = mean.beside(ridge.rivals(scan.points, RIVAL_WIDTH))
    partial = float(beside.standardised(row)[0])
    broader = replace(ridge, width=TOO_BROAD * ridge.width)
    wider = float(mean.standardised(broader.weights(scan.points)[None, :])[0])
    broad = ridge.width > broadest(scan.spacing) and wider > alone
    steps = mean.standardised(ridge.steps(scan.points, scan.spacing))
    if np.abs(steps).max() > STEP_SHARE * alone:
        return False
    return not broad and alone >= threshold and partial >= PARTIAL_SHARE * threshold


def _refined(
    segments: list[Ridge], scores: Array, rest: Array, scan: Scan, base: Mean, threshold: float
) -> list[Ridge]:
    """Merge segments into runs and refine each beside all others; keep those that stand."""
    runs = [
        merged([segments[i] for i in run], scores[run]) for run in link_runs(segments, scan.spacing)
    ]
    kept: list[Ridge] = []
    for place, run in enumerate(runs):
        others = kept + runs[place + 1 :]
        columns = [one.weights(scan.points) for one in others]
        mean = Mean.of(base.precision, base.scores, np.column_stack([rest, *columns]))
        ridge = refine(run, mean, scan.points, scan.spacing)
        if _stands(ridge, mean, scan, threshold):
            kept.append(ridge)
    return kept


def _pass(
    scan: Scan, precision: Precision, norms: Array, threshold: float
) -> tuple[list[Ridge], list[Spot], Array]:
    """One search: pursuit, lines refined, pursuit again beside the lines."""
    count = len(scan.points)
    most = _most(scan)
    base = Mean.of(precision, precision.scores(scan.values), np.zeros((count, 0)))
    ridges: list[Ridge] = []
    for _ in range(2):
        entered = _columns(ridges, [], scan.points)
        search = _search(scan, precision, norms, entered)
        accepted, columns, wet = pursue(search, threshold, most)
        index = np.array(accepted, dtype=int)
        straight = scan.bank.family[index] == SEGMENT
        lines = index[straight]
        if lines.size == 0:
            break
        weights = scan.bank.weights[lines].toarray()
        scores = np.concatenate(
            [
                base.standardised(entered.T) if ridges else np.zeros(0),
                np.abs(base.standardised(weights)),
            ]
        )
        rest = np.column_stack([wet, columns[:, ~straight]])
        segments = ridges + [_ridge(scan.bank, int(i)) for i in lines]
        ridges = _refined(segments, scores, rest, scan, base, threshold)
    search = _search(scan, precision, norms, _columns(ridges, [], scan.points))
    accepted, columns, wet = pursue(search, threshold, most)
    spots = []
    every = base.beside(np.column_stack([_columns(ridges, [], scan.points), columns, wet]))
    first = len(ridges)
    for place, (i, column) in enumerate(zip(accepted, columns.T, strict=True)):
        x, y = scan.bank.centre[i]
        if scan.bank.family[i] == SEGMENT:
            ridge = _ridge(scan.bank, i)
            if _stands(ridge, every.without([first + place]), scan, threshold):
                ridges.append(ridge)
        else:
            spots.append(Spot((float(x), float(y)), float(scan.bank.width[i]), column))
    return ridges, spots, wet


def _columns(ridges: list[Ridge], spots: list[Spot], points: Array) -> Array:
    columns = [ridge.weights(points) for ridge in ridges] + [spot.column for spot in spots]
    return np.column_stack(columns) if columns else np.zeros((len(points), 0))


def _fitted(
    scan: Scan, hidden: NDArray[np.bool_], start: Background | None, seed: int
) -> Background:
    seen = ~hidden
    sample = Sample(
        scan.points[seen], scan.values[seen], scan.share[seen], scan.spacing, scan.floor
    )
    shortest = SHORTEST if hidden.any() else FIRST_SHORTEST
    shortest = max(shortest, LEAST_TEXTURE / scan.spacing)
    return fit_background(sample, start=start, shortest=shortest, seed=seed)


def _metric(scan: Scan, background: Background) -> tuple[Precision, Array]:
    noise = background.nugget * scan.share
    precision = build_precision(scan.points, noise, background, scan.spacing)
    return precision, template_norms(precision, scan.bank)


def _most(scan: Scan) -> int:
    return max(20, len(scan.points) // 4)


def _strengths(scan: Scan, precision: Precision, columns: Array, wet: Array) -> tuple[Array, Array]:
    """Strengths and scores of columns, fitted together and beside the wet columns.

    A column that others make up wholly has no spread of its own and scores nothing.
    """
    mean = Mean.of(precision, precision.scores(scan.values), np.column_stack([columns, wet]))
    strengths, spread = mean.strengths()
    count = columns.shape[1]
    strengths, spread = strengths[:count], spread[:count]
    alone = 1.0 / np.sqrt(np.maximum((columns * precision.times(columns)).sum(axis=0), 1e-300))
    told = spread >= 0.5 * alone
    return strengths, np.where(told, np.abs(strengths) / np.where(told, spread, 1.0), 0.0)


def _pruned(
    scan: Scan,
    precision: Precision,
    ridges: list[Ridge],
    spots: list[Spot],
    wet: Array,
    threshold: float,
) -> tuple[list[Ridge], list[Spot]]:
    """Drop, one by one, what no longer stands once everything is fitted together."""
    while ridges or spots:
        columns = _columns(ridges, spots, scan.points)
        strengths, scores = _strengths(scan, precision, columns, wet)
        scores = np.where((np.arange(len(scores)) < len(ridges)) & (strengths < 0), 0.0, scores)
        weakest = int(np.argmin(scores))
        if scores[weakest] >= KEPT_SHARE * threshold:
            break
        if weakest < len(ridges):
            ridges = ridges[:weakest] + ridges[weakest + 1 :]
        else:
            place = weakest - len(ridges)
            spots = spots[:place] + spots[place + 1 :]
    return ridges, spots


def _hidden(columns: Array, strengths: Array, background: Background) -> NDArray[np.bool_]:
    """Return readings to leave out of the next fit; none when they would be more than half."""
    hidden = np.abs(columns @ strengths) >= MASK_FROM * np.sqrt(background.nugget)
    return np.asarray(hidden if hidden.mean() <= 0.5 else np.zeros_like(hidden))


def _first_guess(scan: Scan, background: Background) -> NDArray[np.bool_]:
    """Return readings a liberal search finds disturbed, to fit the background without them."""
    precision, norms = _metric(scan, background)
    search = _search(scan, precision, norms, np.zeros((len(scan.points), 0)))
    _, columns, wet = pursue(search, LIBERAL, _most(scan))
    strengths, _ = _strengths(scan, precision, columns, wet)
    return _hidden(columns, strengths, background)


def find(scan: Scan, options: DetectOptions) -> Finds:
    """Find what disturbs the readings of one domain.

    A first, liberal pass only masks readings, so that the background is fitted to the undisturbed
    floor; then the threshold is simulated from that background. Waves of a regular pattern are
    taken out before.
    """
    nothing = np.zeros(len(scan.points), dtype=bool)
    background = _fitted(scan, nothing, None, options.seed)
    waves = find_waves(scan.points, scan.values, scan.share, scan.spacing, background)
    for wave in waves:
        scan = replace(scan, values=scan.values - wave.at(scan.points))
    hidden = _first_guess(scan, background)
    for _ in range(options.refits + 1):
        background = _fitted(scan, hidden, background, options.seed)
        precision, norms = _metric(scan, background)
        maxima = null_maxima(precision, scan.bank, norms, options.simulations, options.seed)
        threshold = MARGIN * float(np.quantile(maxima, 1.0 - options.family_error))
        ridges, spots, wet = _pass(scan, precision, norms, threshold)
        ridges, spots = _pruned(scan, precision, ridges, spots, wet, threshold)
        columns = _columns(ridges, spots, scan.points)
        strengths, scores = _strengths(scan, precision, columns, wet)
        before, hidden = hidden, _hidden(columns, strengths, background)
        if np.mean(before != hidden) <= SETTLED:
            break
    return Finds(
        tuple(ridges),
        tuple(spots),
        strengths,
        scores,
        columns,
        background,
        precision,
        threshold,
        waves,
        wet,
    )


__all__ = ["POINT", "Finds", "Scan", "Spot", "build_templates", "find"]
