"""How well each cause explains the humidities read at one place.

Evidence given a cause, never the chance of a cause: nothing here knows how common causes are.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from moisturemap.checked import above, at_least, checked, within
from moisturemap.investigation.histories import PAIRS, Histories, causes_for, histories
from moisturemap.investigation.story import Story

Array = NDArray[np.float64]

DISCREPANCY_PCT = 2.0
"""Standard deviation of the humidity of a real slab about the best simulated one [%RH]. Our choice:
at 1 %RH seven in 240 trial floors were named wrongly, at 2 none of 1,400."""

DISCREPANCY_SHARED = 0.6
"""Share of that variance a place keeps from visit to visit (our choice)."""

DISCREPANCY_REACH = 0.3
"""Depth over thickness within which it is shared (our choice)."""

PLACES_PCT = 4.0
"""Standard deviation between two places of one pour that no cause told apart [%RH]; thickness,
mats and the covering differ (our choice)."""

DEPTH_SD_MM = 2.0
"""Error of the depth of a reading [mm]; as in the estimate of a spot."""

PROBE_SHARED = 0.5
"""Share of a probe's variance that is the same in all its readings; as in the estimate of a
spot."""

KERNEL = 0.35
"""Standard deviation of a history's surroundings over that of all histories of its cause (our
choice): a few hundred histories stand for all that lie between them."""

CAP = 100.0
"""Ratios are never said to be more than this: the model is not better known."""

DIVIDED = 20.0
"""Ratio from which two causes count as told apart; the third of the bands 1, 3, 20, 100."""

GATE = 0.99
"""Some history of some cause must lie within this part of chi-square, else none of them explains
the readings and nothing is concluded from depth."""

FIRM_GATE = 0.30
"""The cause pointed to must fit this well itself: depths in a wrong order now and then lie within
the wider gate of some history. Our choice: of 880 trial floors it cost one firm finding in ten and
halved those from shuffled depths."""

SHAPE = 0.95
"""Readings that lie within this part of chi-square about one humidity have no shape in depth, time
or place that could point to anything (our choice)."""

SOAKED_PCT = 90.0
"""A slab that stands at this or more wherever it was read is soaked through [%RH]; our choice."""

BANDS = (
    (3.0, "about as well as"),
    (20.0, "somewhat better than"),
    (100.0, "much better than"),
    (np.inf, "at least 100 times better than"),
)


@dataclass(frozen=True)
@checked
class Observation:
    """A humidity read in a hole.

    Attributes
    ----------
    day : float
        On the axis of the story.
    depth_mm : float
    rh_pct, sd_pct : float
        [%RH]; standard uncertainty.
    probe : str
    beside : bool
        True for a place outside the wet zone, on the same slab.
    """

    day: float
    depth_mm: Annotated[float, at_least(0.0, "mm")]
    rh_pct: Annotated[float, within(0.0, 100.0, "%RH")]
    sd_pct: Annotated[float, above(0.0, "%RH")] = 1.5
    probe: str = ""
    beside: bool = False


@dataclass(frozen=True)
class Explanation:
    """How well each cause explains the readings of one place.

    Attributes
    ----------
    story : Story
    observations : tuple of Observation
        Pooled: one for each depth and day.
    support : dict of str to float
        Natural logarithm of the mean likelihood over the histories of each cause or pair.
    misfit : dict of str to float
        Smallest chi-square over the histories.
    weights : dict of str to ndarray
        Of the histories, sum 1.
    silent : tuple of str
        Causes whose water could not show at depth on the days of reading.
    """

    story: Story
    observations: tuple[Observation, ...]
    support: dict[str, float]
    misfit: dict[str, float]
    weights: dict[str, Array]
    silent: tuple[str, ...] = ()

    @property
    def singles(self) -> tuple[str, ...]:
        """The single causes that were worked out."""
        return tuple(key for key in self.support if key not in PAIRS)

    @property
    def explained(self) -> bool:
        """Whether some history of some single cause fits the readings at all."""
        limit = float(chdtri(len(self.observations), 1.0 - GATE))
        return min(self.misfit[key] for key in self.singles) <= limit

    def fits(self, cause: str, gate: float = FIRM_GATE) -> bool:
        """Whether some history of a cause lies within a part of chi-square.

        Parameters
        ----------
        cause : str
            A key of ``misfit``.
        gate : float
            Part of chi-square, 0 to 1.
        """
        return self.misfit[cause] <= float(chdtri(len(self.observations), 1.0 - gate))

    @property
    def flat(self) -> bool:
        """Whether the readings are all alike, within the error of the comparison."""
        read = np.array([one.rh_pct for one in self.observations])
        cover = error_covariance(self.observations, self.story.thickness_mm)
        ones = np.ones_like(read)
        weight = np.linalg.solve(cover, ones)
        off = read - (weight @ read) / (weight @ ones)
        spread = float(off @ np.linalg.solve(cover, off))
        return spread <= float(chdtri(max(len(read) - 1, 1), 1.0 - SHAPE))

    @property
    def soaked(self) -> bool:
        """Whether every reading at the place is that of a slab full of water."""
        here = [one.rh_pct for one in self.observations if not one.beside]
        return min(here, default=0.0) >= SOAKED_PCT

    @property
    def best(self) -> str:
        """The single cause that explains the readings best."""
        return max(self.singles, key=lambda key: self.support[key])

    @property
    def steady(self) -> bool:
        """Whether the same single cause explains the readings best with any one of them left out.

        What hangs on one reading may hang on one mistake, a wrong depth or two holes exchanged.
        """
        known = {cause: self.histories(cause) for cause in self.singles}
        for k in range(len(self.observations)):
            rest = self.observations[:k] + self.observations[k + 1 :]
            if not rest:
                return False
            support = {
                cause: _mean_log(likelihood(one, self.story, rest)[0])
                for cause, one in known.items()
            }
            if max(support, key=lambda cause: support[cause]) != self.best:
                return False
        return True

    def ratio(self, better: str, worse: str) -> float:
        """How many times better one cause explains the readings than another, at most ``CAP``.

        Parameters
        ----------
        better, worse : str
            Keys of ``support``.
        """
        gap = self.support[better] - self.support[worse]
        return float(np.clip(np.exp(np.clip(gap, -10.0, 10.0)), 1.0 / CAP, CAP))

    def behind(self, cause: str) -> float:
        """How many times better the best single cause explains them, at most ``CAP``.

        Parameters
        ----------
        cause : str
            A key of ``support``.
        """
        return self.ratio(self.best, cause)

    def better_pairs(self, times: float = DIVIDED) -> tuple[str, ...]:
        """Pairs that explain the readings so many times better than any single cause.

        Parameters
        ----------
        times : float
        """
        return tuple(
            pair for pair in self.support if pair in PAIRS and self.ratio(pair, self.best) > times
        )

    def without(self, causes: Collection[str]) -> Explanation:
        """Return the explanation among the causes no valid measurement contradicts.

        Parameters
        ----------
        causes : collection of str
            Those that are contradicted.
        """
        gone = {key for key in self.support if any(one in causes for one in PAIRS.get(key, (key,)))}
        left = [key for key in self.support if key not in gone]
        if not any(key not in PAIRS for key in left):
            return self
        return replace(
            self,
            support={key: self.support[key] for key in left},
            misfit={key: self.misfit[key] for key in left},
            weights={key: self.weights[key] for key in left},
        )

    def histories(self, cause: str) -> Histories:
        """Return the histories of a cause in ``support`` on this slab.

        Parameters
        ----------
        cause : str
            A key of ``support``.
        """
        known = histories(cause, self.story)
        assert known is not None
        return known


def explain(story: Story, observations: Sequence[Observation]) -> Explanation:
    """Weigh the causes by the readings of one place.

    Parameters
    ----------
    story : Story
    observations : sequence of Observation
        At days of the story.
    """
    pooled = pool(observations)
    support, misfit, weights = {}, {}, {}
    silent: list[str] = []
    for cause in causes_for(story):
        known = histories(cause, story)
        if known is None:
            silent.append(cause)
            continue
        log_like, chi = likelihood(known, story, pooled)
        share = np.exp(log_like - log_like.max())
        support[cause] = _mean_log(log_like)
        misfit[cause] = float(chi.min())
        weights[cause] = share / share.sum()
    return Explanation(story, pooled, support, misfit, weights, tuple(silent))


def _mean_log(log_like: Array) -> float:
    """Logarithm of the mean of likelihoods."""
    top = float(log_like.max())
    return top + float(np.log(np.exp(log_like - top).mean()))


def pool(observations: Sequence[Observation]) -> tuple[Observation, ...]:
    """Make one of the readings of one depth (to 3 mm) and day: many holes are no more evidence."""
    groups: dict[tuple[bool, float, float], list[Observation]] = {}
    for one in sorted(observations, key=lambda o: (o.beside, o.day, o.depth_mm)):
        groups.setdefault((one.beside, one.day, round(one.depth_mm / 3.0)), []).append(one)
    return tuple(
        Observation(
            group[0].day,
            float(np.mean([one.depth_mm for one in group])),
            float(np.mean([one.rh_pct for one in group])),
            max(one.sd_pct for one in group),
            group[0].probe if len({one.probe for one in group}) == 1 else "",
            group[0].beside,
        )
        for group in groups.values()
    )


def error_covariance(observations: Sequence[Observation], thickness_mm: float) -> Array:
    """Covariance of probes and of the model's own error [%RH^2], without the error of depth."""
    sd = np.array([one.sd_pct for one in observations])
    probe = np.array([[a.probe == b.probe for b in observations] for a in observations])
    cover = PROBE_SHARED * probe * np.outer(sd, sd)
    np.fill_diagonal(cover, sd**2)
    z = np.array([one.depth_mm for one in observations]) / thickness_mm
    beside = np.array([one.beside for one in observations])
    shared = DISCREPANCY_SHARED * np.exp(-np.abs(z[:, None] - z[None, :]) / DISCREPANCY_REACH)
    shared *= beside[:, None] == beside[None, :]
    np.fill_diagonal(shared, 1.0)
    # two places of one pour differ by thickness, mats and cover: all readings beside move together
    apart = PLACES_PCT**2 * np.outer(beside, beside)
    return np.asarray(cover + DISCREPANCY_PCT**2 * shared + apart)


def likelihood(
    known: Histories, story: Story, observations: Sequence[Observation]
) -> tuple[Array, Array]:
    """Log-likelihood and chi-square of every history."""
    predicted, cover = foretold(known, story, observations)
    off = np.array([one.rh_pct for one in observations]) - predicted
    solved = np.linalg.solve(cover, off[..., None])[..., 0]
    chi = (off * solved).sum(axis=1)
    _, logdet = np.linalg.slogdet(cover)
    return -0.5 * (chi + logdet), chi


def foretold(
    known: Histories, story: Story, observations: Sequence[Observation]
) -> tuple[Array, Array]:
    """Return the readings each history foretells [%RH], and their covariance [%RH^2].

    Returns
    -------
    ndarray, shape (rows, readings)
    ndarray, shape (rows, readings, readings)
        Of probe, depth, the model's own error and the surroundings of a history.
    """
    thick = story.thickness_mm
    shares = [one.depth_mm / thick for one in observations]
    where = list(zip(observations, shares, strict=True))
    step = 0.02
    near, predicted, far = (
        np.column_stack([known.at(one.day, z + move, beside=one.beside) for one, z in where])
        for move in (-step, 0.0, step)
    )
    slope = (far - near) / (2 * step)
    around = KERNEL**2 * np.atleast_2d(np.cov(predicted.T))
    cover = np.repeat((error_covariance(observations, thick) + around)[None], len(slope), axis=0)
    index = np.arange(len(observations))
    cover[:, index, index] += (slope * DEPTH_SD_MM / thick) ** 2
    return predicted, cover


def band(ratio: float) -> str:
    """Words for a ratio.

    Parameters
    ----------
    ratio : float
    """
    return next(words for limit, words in BANDS if ratio < limit)
