"""The days between which a target is met, or the day before which it is not.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.mixture import FOREVER_DAYS, CourseMixture

Array = NDArray[np.float64]

STILL_KEPT_WET = 0.8
"""No latest day unless the visits have brought the chance that something keeps the place wet below
this share of what it was before them (our choice: of leaks that hold a plateau, one in five is then
given a latest day that comes too early; without the rule two in five)."""

NOT_BEFORE = 0.6
"""Share of its nominal tail at which the earliest day is worked out: no floor is drawn from our
priors (our choice: at 1, "not before" held on 91 of 100 exponentials, at 0.6 on 95)."""

LATEST = 1.2
"""The same for the latest day, which weighs in courses that never get there (our choice: at 1 half
of the zones that dry were given one, at 1.2 six in a hundred more, under 1 of them early)."""

MOST_NEVER = 0.05
"""No latest day where dry floor reads above the target with more than this chance."""

AHEAD = 4.0
"""No latest day where the even chance lies further ahead than so many times the days watched (our
choice: three visits in two weeks do not tell of the next half-year; of leaks that hold a plateau
one in seven fewer is given a latest day that comes too early)."""

LEAST_VISITS = 3
"""No even chance and no latest day from fewer visits: two show how fast it fell and not how the
fall slows, and freshly wetted floor falls fastest at first (our choice: of 13 invented slabs wetted
at the first of two visits the even chance came too early on all, 1.6 to 6 times)."""

LEAST_FAMILY = 0.10
"""Diffusion or exponentials with at least this weight each have a say on the earliest day."""

GRID_DAYS = np.concatenate([[0.0], np.geomspace(0.25, 2.0e4, 64), [FOREVER_DAYS]])
"""Days from the latest visit at which chances are worked out; the last stands for ever."""


@dataclass(frozen=True, slots=True)
class ForecastEnds:
    """When a target is met, in days from the latest visit.

    Attributes
    ----------
    days : float
        Even chance; inf where there is no latest day because nothing shows that it is ever met.
    low, high : float
        Ends of the interval; ``high`` is inf where no latest day is given. ``low`` by itself is a
        one-sided bound.
    why_open : str
        Why there is no latest day: ``""``, ``"rising"``, ``"rewetted"``, ``"zero"``,
        ``"kept-wet"``, ``"few-visits"``, ``"far"`` or ``"asymptote"``.
    """

    days: float
    low: float
    high: float
    why_open: str


def find_ends(mixture: CourseMixture, target: float, today: float, interval: float) -> ForecastEnds:
    """Work out the ends.

    The earliest day is that of members that nothing keeps wet; the latest is one by which all
    members, those that are kept wet among them, have met the target with the chance asked.

    Parameters
    ----------
    mixture : CourseMixture
    target : float
        [reading units]
    today : float
        The latest visit, days since the first: the days watched.
    interval : float
        Probability inside the two-sided interval; ``NOT_BEFORE`` and ``LATEST`` share out the rest.

    Returns
    -------
    ForecastEnds
    """
    tail = 0.5 * (1.0 - interval)
    days = today + GRID_DAYS
    met = mixture.met_by(target, days)
    low = _first_day(met["free"], NOT_BEFORE * tail)
    for family in ("diffusion", "exponential"):
        if mixture.share(family) >= LEAST_FAMILY:
            low = min(low, _first_day(met[family], NOT_BEFORE * tail))
    middle, high = _first_day(met["free"], 0.5), _first_day(met["all"], 1.0 - LATEST * tail)
    never = 1.0 - float(met["free"][-1])
    why = ""
    if mixture.was_rewetted:
        why = "rewetted"
    elif never > MOST_NEVER:
        why = "asymptote"
    elif mixture.kept_wet > STILL_KEPT_WET * mixture.kept_wet_before or high > GRID_DAYS[-2]:
        why = "kept-wet"
    elif len(mixture.rewetted) < LEAST_VISITS:
        why = "few-visits"
    elif middle > AHEAD * today:
        why = "far"
    return ForecastEnds(middle, low, np.inf if why else high, why)


def not_sooner(ends: ForecastEnds, level_kept: ForecastEnds) -> ForecastEnds:
    """Return ends none of which comes before those of a course that did not rise last.

    Parameters
    ----------
    ends : ForecastEnds
        Of a course whose last visit rose.
    level_kept : ForecastEnds
        Of the same course with the latest visit read as the one before.

    Returns
    -------
    ForecastEnds
    """
    return ForecastEnds(
        max(ends.days, level_kept.days),
        max(ends.low, level_kept.low),
        max(ends.high, level_kept.high),
        ends.why_open or level_kept.why_open,
    )


def _first_day(chance: Array, share: float) -> float:
    """First day of the grid by which a chance reaches a share, straight lines between [days]."""
    rising = np.maximum.accumulate(chance)
    if rising[0] >= share:
        return 0.0
    after = int(np.searchsorted(rising, share))
    if after >= rising.size:
        return float(np.inf)
    part = (share - rising[after - 1]) / (rising[after] - rising[after - 1])
    return float(GRID_DAYS[after - 1] + part * (GRID_DAYS[after] - GRID_DAYS[after - 1]))
