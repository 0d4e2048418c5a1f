"""Courses weighed by what the visits read: Bayes' rule over the members, in closed form.

Level(t) = a + A s(t) + error, with the dry level a and the first excess A normal before the visits:
for each member the weight, the mean and the covariance of (a, A) follow without iteration (the
normal linear model; Gelman et al., Bayesian Data Analysis, 3rd ed., 2013, section 14.8).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp, ndtr

from moisturemap.drying.air_history import AirHistory
from moisturemap.drying.courses import Courses
from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.zone_course import ZoneCourse

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

ERROR_FACTORS = (1.0, 1.6, 3.0)
ERROR_CHANCES = (0.75, 0.20, 0.05)
"""By how much the stated errors may be too small, and how likely that is before the visits: drift
that no reference shares, another hand, another hour (our choice)."""

REWETTED = 0.05
"""Chance that water came anew before a given visit (our choice)."""

KEPT_AFTER = 0.5
"""Least share of members something keeps wet among courses that begin with a re-wetting: what let
water in once may still do so (our choice: with the share of other courses, a leak that holds 15
units over dry floor after a re-wetting was given a chance below 1% of being there)."""

LIKELY_REWETTED = 0.5
"""Chance from which a re-wetting is said, and no latest day is given (our choice)."""

REWETTED_EVERY = 3
"""Every so many members are tried with a re-wetting."""

FIRST_EXCESS_SD = 1.5
"""sd of the first excess over the largest excess read: wide (our choice)."""

CARRIED = 2500
"""Members carried on to forecasts, drawn by weight: a tail of 5% is then right to 0.4%."""

KINDS_OF_MEMBERS = ("all", "free", "diffusion", "exponential")

LEAST_EXCESS_SD = 3.0
"""The largest excess is taken as at least so many sd of a level."""


@dataclass(frozen=True)
class CourseMixture:
    """Members with their weights.

    Attributes
    ----------
    groups : tuple of MixtureGroup
        By the visit from which water is taken to have dried: the first, or one after a re-wetting.
    kept_wet, kept_wet_before : float
        Chance that something keeps the place wet, by the visits and before them.
    rewetted : tuple of float
        Chance of a re-wetting just before each visit, shape (visits,); the first is 0.
    """

    groups: tuple[MixtureGroup, ...]
    kept_wet: float
    kept_wet_before: float
    rewetted: tuple[float, ...]

    def met_by(self, target: float, days: Array) -> dict[str, Array]:
        """Chance that the level is at or below a target on days since the first visit.

        Parameters
        ----------
        target : float
            [reading units]
        days : ndarray, shape (k,)

        Returns
        -------
        dict of str to ndarray, shape (k,)
            For ``"all"`` members, those nothing keeps wet (``"free"``), and the ``"diffusion"`` and
            ``"exponential"`` members among these; NaN for a kind without members.
        """
        met = {of: np.zeros(len(days)) for of in KINDS_OF_MEMBERS}
        weight = dict.fromkeys(KINDS_OF_MEMBERS, 0.0)
        for group in self.groups:
            below = group.met_by(target, days)
            for of in KINDS_OF_MEMBERS:
                counted = group.weight * group.counted(of)
                met[of] += counted @ below
                weight[of] += float(counted.sum())
        return {
            of: met[of] / weight[of] if weight[of] > 0.0 else np.full(len(days), np.nan)
            for of in KINDS_OF_MEMBERS
        }

    @property
    def was_rewetted(self) -> bool:
        """True where water likely came anew after the first visit."""
        return sum(self.rewetted) > LIKELY_REWETTED

    def share(self, of: str) -> float:
        """Weight of a kind of members among those that nothing keeps wet.

        Parameters
        ----------
        of : str
            One of ``KINDS_OF_MEMBERS``.

        Returns
        -------
        float
            0 to 1.
        """
        weight = {
            kind: sum(float(group.weight @ group.counted(kind)) for group in self.groups)
            for kind in (of, "free")
        }
        return weight[of] / max(weight["free"], 1e-300)

    def level(self, days: Array) -> tuple[Array, Array]:
        """Level on days since the first visit (k,) and its sd, over all members."""
        mean, square, weight = np.zeros(len(days)), np.zeros(len(days)), 0.0
        for group in self.groups:
            own, sd = group.level(days)
            weight += float(group.weight.sum())
            mean += group.weight @ own
            square += group.weight @ (own**2 + sd**2)
        mean, square = mean / weight, square / weight
        return mean, np.sqrt(np.maximum(square - mean**2, 0.0))

    def depth_loss(self, until: float) -> tuple[Array, Array]:
        """Excess that left the depth of the slab members by a day, and their weights, both (n,).

        The excess is a share of that before drying, times the thickness in metres. Counted from the
        first visit, or from the latest one before which water came.
        """
        found = [group.depth_loss(until) for group in self.groups]
        return np.concatenate([one for one, _ in found]), np.concatenate([w for _, w in found])


FOREVER_DAYS = 1.0e5
"""A day so late that every member has come to its end [days]."""


@dataclass(frozen=True)
class MixtureGroup:
    """Members that share the visit from which they dry.

    Attributes
    ----------
    courses : Courses
    air : AirHistory
        Counted from ``origin``.
    origin : float
        Day of that visit since the first.
    members : ndarray of int, shape (n,)
        Ascending; a member stands once for each error factor that matters.
    weight : ndarray, shape (n,)
    centre : ndarray, shape (n, 2)
        Mean of dry level and first excess.
    spread : ndarray, shape (n, 3)
        Their variances and covariance.
    """

    courses: Courses
    air: AirHistory
    origin: float
    members: Index
    weight: Array
    centre: Array
    spread: Array

    def counted(self, of: str) -> Mask:
        """Which members are of a kind, shape (n,)."""
        free = ~self.courses.kept_wet[self.members]
        exponential = self.courses.exponential[self.members]
        kinds: dict[str, Mask] = {
            "all": np.ones(self.members.size, dtype=bool),
            "free": free,
            "diffusion": free & ~exponential,
            "exponential": free & exponential,
        }
        return kinds[of]

    def level(self, days: Array) -> tuple[Array, Array]:
        """Level (n, k) of each member on days since the first visit, and its sd."""
        shape = self.courses.shapes(np.maximum(days - self.origin, 0.0), self.air, self.members)
        mean = self.centre[:, :1] + self.centre[:, 1:] * shape
        dry, excess, both = (self.spread[:, [i]] for i in range(3))
        variance = dry + 2.0 * both * shape + excess * shape**2
        return mean, np.sqrt(np.maximum(variance, 1e-18))

    def depth_loss(self, until: float) -> tuple[Array, Array]:
        """See ``CourseMixture.depth_loss``."""
        chosen = self.counted("diffusion")
        members = self.members[chosen]
        days = np.array([0.0, max(until - self.origin, 0.0)])
        excess = self.courses.mean_excess(days, self.air, members)
        thickness = self.courses.length_mm[members] * self.courses.faces[members] / 1000.0
        return (excess[:, 0] - excess[:, 1]) * thickness, self.weight[chosen]

    def met_by(self, target: float, days: Array) -> Array:
        """Chance (n, k) of each member of being at or below a target on days."""
        mean, sd = self.level(days)
        return np.asarray(ndtr((target - mean) / sd))


def weigh_courses(
    course: ZoneCourse,
    courses: Courses,
    dry: DryLevel,
    air: AirHistory,
    prior: Array | None = None,
) -> CourseMixture:
    """Weigh the members by what the visits read.

    Parameters
    ----------
    course : ZoneCourse
        Levels over the visits.
    courses : Courses
    dry : DryLevel
    air : AirHistory
    prior : ndarray, shape (members,), optional
        Log weight of each member from calibrated tests at depth.

    Returns
    -------
    CourseMixture
        Of ``CARRIED`` members, drawn by weight.
    """
    sections = [_Section.of(course, courses, dry, air, begin) for begin in range(course.days.size)]
    before = _evidence_before(sections, course.days.size)
    weighed = []
    for section in sections:
        group, log = section.group()
        if prior is not None and section.begin == 0:
            log = log + np.tile(prior[section.members], len(ERROR_FACTORS))
        weighed.append(
            (group, log + before[section.begin] + _log_chance(section, course.days.size))
        )
    return _gathered(weighed, courses)


def _log_chance(section: _Section, end: int) -> float:
    """Log chance that water came just before a section and not again before visit ``end``."""
    came = math.log(REWETTED) if section.begin else 0.0
    return came + (end - section.begin - 1) * math.log(1.0 - REWETTED)


def _evidence_before(sections: list[_Section], visits: int) -> list[float]:
    """Log evidence of the visits before each visit, over all ways of parting them by re-wettings.

    The forward recursion of change-point models (Fearnhead, Stat. Comput. 16 (2006) 203, eq. 1).
    """
    before = [0.0]
    for end in range(1, visits):
        ways = [
            before[one.begin] + _log_chance(one, end) + one.evidence(end) for one in sections[:end]
        ]
        before.append(float(logsumexp(ways)))
    return before


@dataclass(frozen=True)
class _Section:
    """Visits from one on, until water comes again, and the members that may run through them."""

    begin: int
    courses: Courses
    air: AirHistory
    origin: float
    members: Index
    shape: Array
    level: Array
    sd: Array
    dry: DryLevel
    excess: float
    prior: Array

    @classmethod
    def of(
        cls, course: ZoneCourse, courses: Courses, dry: DryLevel, air: AirHistory, begin: int
    ) -> _Section:
        origin = float(course.days[begin])
        members = np.arange(0, courses.held.size, REWETTED_EVERY if begin else 1, dtype=np.intp)
        own = air.since(origin)
        return cls(
            begin,
            courses,
            own,
            origin,
            members,
            courses.shapes(course.days[begin:] - origin, own, members),
            course.level[begin:] - dry.value,
            np.maximum(course.sd[begin:], 1e-6),
            dry,
            _largest_excess(course, dry),
            _log_prior(courses.kept_wet[members], again=begin > 0),
        )

    def weighed(self, shape: Array, factor: float) -> tuple[Array, Array, Array]:
        """Log evidence, means and covariances for the first visits of the section."""
        count = shape.shape[1]
        first = (max(self.dry.sd, 1e-6), float(self.level[0]), FIRST_EXCESS_SD * self.excess)
        return _closed_form(shape, self.level[:count], factor * self.sd[:count], first)

    def evidence(self, end: int) -> float:
        """Log evidence of the visits from the first of the section to the one before ``end``."""
        every = 1 if self.begin else REWETTED_EVERY
        shape, prior = self.shape[::every, : end - self.begin], self.prior[::every]
        parts = [
            math.log(chance) + logsumexp(self.weighed(shape, factor)[0] + prior)
            for factor, chance in zip(ERROR_FACTORS, ERROR_CHANCES, strict=True)
        ]
        return float(logsumexp(parts)) - math.log(len(shape))

    def group(self) -> tuple[MixtureGroup, Array]:
        """Return the members, once for each error factor, with coefficients and log weights."""
        logs, centres, spreads = [], [], []
        for factor, chance in zip(ERROR_FACTORS, ERROR_CHANCES, strict=True):
            log, centre, spread = self.weighed(self.shape, factor)
            logs.append(log + self.prior + math.log(chance / len(self.members)))
            centres.append(centre + np.array([self.dry.value, 0.0]))
            spreads.append(spread)
        group = MixtureGroup(
            self.courses,
            self.air,
            self.origin,
            np.tile(self.members, len(ERROR_FACTORS)),
            np.empty(0),
            np.concatenate(centres),
            np.concatenate(spreads),
        )
        return group, np.concatenate(logs)


def _log_prior(kept: Mask, *, again: bool) -> Array:
    """Log of what each member counts besides being drawn; after water came anew more are kept."""
    share = float(kept.mean())
    wanted = max(share, KEPT_AFTER) if again else share
    if not 0.0 < share < 1.0:
        return np.zeros(kept.size)
    ratio = np.where(kept, wanted / share, (1.0 - wanted) / (1.0 - share))
    return np.asarray(np.log(ratio))


def _kept_before(courses: Courses, visits: int) -> float:
    """Chance, before the visits, that something keeps the place wet in the end."""
    share = float(courses.kept_wet.mean())
    again = 1.0 - (1.0 - REWETTED) ** (visits - 1)
    return share + again * (max(share, KEPT_AFTER) - share)


def _largest_excess(course: ZoneCourse, dry: DryLevel) -> float:
    least = LEAST_EXCESS_SD * float(course.sd.max())
    return max(float(np.abs(course.level - dry.value).max()), least, 1e-6)


def _closed_form(
    shape: Array, level: Array, sd: Array, prior: tuple[float, float, float]
) -> tuple[Array, Array, Array]:
    """Log evidence (n,), mean (n, 2) and covariance (n, 3) of dry level and first excess.

    ``prior`` holds the sd of the dry level (mean 0), and mean and sd of the first excess.
    """
    dry_sd, first, first_sd = prior
    w = 1.0 / sd**2
    p11 = w.sum() + 1.0 / dry_sd**2
    p12 = shape @ w
    p22 = shape**2 @ w + 1.0 / first_sd**2
    b1 = float(w @ level)
    b2 = shape @ (w * level) + first / first_sd**2
    det = p11 * p22 - p12**2
    dry, excess = (p22 * b1 - p12 * b2) / det, (p11 * b2 - p12 * b1) / det
    square = float(w @ level**2) + first**2 / first_sd**2 - (dry * b1 + excess * b2)
    scale = np.log(2.0 * np.pi * sd**2).sum() + 2.0 * math.log(dry_sd * first_sd)
    log = -0.5 * (square + scale + np.log(det))
    covariance = np.column_stack([p22 / det, p11 / det, -p12 / det])
    return log, np.column_stack([dry, excess]), covariance


def _gathered(groups: list[tuple[MixtureGroup, Array]], courses: Courses) -> CourseMixture:
    """Turn log weights into weights, and leave out members that hardly count."""
    top = max(float(log.max()) for _, log in groups)
    weights = [np.exp(log - top) for _, log in groups]
    total = float(sum(weight.sum() for weight in weights))
    kept = sum(
        float(weight[courses.kept_wet[group.members]].sum())
        for (group, _), weight in zip(groups, weights, strict=True)
    )
    slim = [
        _drawn(group, weight, total / CARRIED)
        for (group, _), weight in zip(groups, weights, strict=True)
    ]
    return CourseMixture(
        tuple(one for one in slim if one.members.size),
        kept / total,
        _kept_before(courses, len(groups)),
        (0.0, *(float(weight.sum()) / total for weight in weights[1:])),
    )


def _drawn(group: MixtureGroup, weight: Array, share: float) -> MixtureGroup:
    """Draw members by weight: systematic resampling, heavy ones kept once with all their weight."""
    order = np.argsort(group.members, kind="stable")
    ticks = np.floor(np.cumsum(weight[order]) / share + 0.5)
    count = np.diff(ticks, prepend=0.0)
    chosen = count > 0
    rows = order[chosen]
    return MixtureGroup(
        group.courses,
        group.air,
        group.origin,
        group.members[rows],
        count[chosen] / CARRIED,
        group.centre[rows],
        group.spread[rows],
    )
