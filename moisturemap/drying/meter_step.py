"""A whole floor, its dry part with it, that falls by one amount between two visits.

Dry floor has little to lose, and less with every week; a fall of the driest readings that the
visits before do not lead to, and that is as large as that of the wettest, is a meter on another
setting or pad as likely as drying. Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]

SAME_PLACE_M = 0.5
"""Readings of two visits this near are of one place [m]; project choice."""

LEAST_PLACES = 12
"""Fewer places common to two visits show no fall of a whole floor; project choice."""

THIRD = 1.0 / 3.0
"""Share of the places, by both visits together, that count as the driest and the wettest."""

COMMON = 0.25
"""From this share of the fall of the wettest third on the driest fell with it: another zero takes
the same from both, another gain less from the driest, patches that dry nothing; project choice."""

AHEAD = 1.5
"""Times the fall per day of the visits before that drying may account for; project choice."""

BEYOND_DRIFT = 3.0
"""A fall of the driest third by so many times the assumed drift of one visit is none of drift: two
visits drift apart by as much once in thirty; project choice."""

BEYOND_NOISE = 3.0
"""The same in standard errors of the middle change of the driest third; project choice."""

CREPT = 0.5
"""From this share of the fall of the wet places on, since the first visit, the driest third fell
with them: excess over dry floor falls about in proportion to itself, so that what dries falls by
several times as much as what was dry; project choice."""

LEAST_WET = 3
"""So many places above the wet level on the first visit show how wet floor fell; project choice."""


@dataclass(frozen=True, slots=True)
class _Thirds:
    """Middle change of the driest and the wettest third of the common places [reading units].

    ``error`` is the standard error of the driest, ``start`` what it read on the earlier visit;
    ``wet`` the middle change of the places above the wet level then, None of too few.
    """

    driest: float
    wettest: float
    error: float
    start: float
    wet: float | None = None


def floor_steps(
    clean: Sequence[CleanReadings], days: Array, drift: float, wet_level: float | None
) -> Array:
    """Return by how much a whole floor moved at once on each visit, where drying does not tell why.

    Parameters
    ----------
    clean : sequence of CleanReadings
        One a visit, in order of time.
    days : ndarray, shape (visits,)
        Since the first visit [days].
    drift : float
        Assumed sd of the drift of one visit [reading units].
    wet_level : float or None
        With it the second visit is judged, too, and all that fell since the first: dry floor hardly
        falls, and a meter that creeps takes little from each visit.

    Returns
    -------
    ndarray, shape (visits,)
        Below zero a fall of the driest third with the rest, above zero its rise; zero otherwise
        [reading units].
    """
    steps, falls, creeping = np.zeros(len(clean)), np.zeros(len(clean)), False
    before: _Thirds | None = None
    for visit in range(1, len(clean)):
        now = _thirds(clean[visit - 1], clean[visit])
        if now is not None:
            least = max(BEYOND_DRIFT * drift, BEYOND_NOISE * now.error)
            expected: float | None
            if visit == 1:
                expected = 0.0 if _below(now, wet_level, least) else None
            else:
                led_to = None if before is None else before.driest - steps[visit - 1]
                expected = _expected(led_to, np.diff(days)[visit - 2 : visit])
            steps[visit] = _step(now, expected, least)
        before = now
        since = None if wet_level is None else _thirds(clean[0], clean[visit], wet_level)
        falls[visit] = falls[visit - 1] if since is None else min(0.0, since.driest)
        creeping = creeping or _creeps(since, float(steps.sum()), drift, wet_level)
        if creeping:
            steps[: visit + 1] = _with_creep(steps[: visit + 1], falls[: visit + 1])
    return steps


def _creeps(since: _Thirds | None, known: float, drift: float, level: float | None) -> bool:
    """Whether dry floor fell since the first visit, beyond known steps, and wet little more."""
    if since is None or since.wet is None:
        return False
    least = max(BEYOND_DRIFT * drift, BEYOND_NOISE * since.error)
    dry, wet = since.driest - known, since.wet - known
    return _below(since, level, least) and dry < -least and dry <= CREPT * min(wet, 0.0)


def _with_creep(steps: Array, falls: Array) -> Array:
    """Return steps that lead as far down as dry floor fell since the first visit.

    A creep goes back to that visit, unless another step was found on the way.
    """
    if not steps.any():
        return np.diff(falls, prepend=0.0)
    more = np.zeros_like(steps)
    more[-1] = min(0.0, falls[-1] - float(steps.sum()))
    return np.asarray(steps + more)


def _below(now: _Thirds, wet_level: float | None, least: float) -> bool:
    """Whether the driest third read below the wet level at first, by more than drift and noise."""
    return wet_level is not None and wet_level - now.start > least


def _expected(led_to: float | None, spans: Array) -> float | None:
    """Return the fall that the visits before lead to; None where they tell none."""
    if led_to is None or not np.all(spans > 0):
        return None
    return float(AHEAD * min(led_to, 0.0) / spans[0] * spans[1])


def _step(now: _Thirds, expected: float | None, least: float) -> float:
    if now.driest > least:
        return now.driest
    if expected is None or now.driest > COMMON * min(now.wettest, 0.0):
        return 0.0
    fell = now.driest - expected
    return fell if fell < -least else 0.0


def _thirds(earlier: CleanReadings, later: CleanReadings, level: float = np.inf) -> _Thirds | None:
    """Return how the driest, the wettest third and the wet of the common places changed."""
    first, second = earlier.locations, later.locations
    if len(first) < LEAST_PLACES or len(second) < LEAST_PLACES:
        return None
    gap, near = cKDTree(second[["x", "y"]].to_numpy(dtype=float)).query(
        first[["x", "y"]].to_numpy(dtype=float)
    )
    inside = (first["censored"] == "").to_numpy()
    known = inside & (second["censored"] == "").to_numpy()[near] & (gap <= SAME_PLACE_M)
    if known.sum() < LEAST_PLACES:
        return None
    start = first["value"].to_numpy(dtype=float)[known]
    end = second["value"].to_numpy(dtype=float)[near][known]
    # by both visits: the lowest of one alone stand low by noise, too, and come up by themselves
    order, count = np.argsort(start + end, kind="stable"), max(1, int(THIRD * known.sum()))
    change, driest = end - start, order[:count]
    # of a median: 1.25 times that of a mean
    error = 1.25 * float(np.std(change[driest])) / float(np.sqrt(count))
    wet = change[start > level]
    return _Thirds(
        float(np.median(change[driest])),
        float(np.median(change[order[-count:]])),
        error,
        float(np.median(start[driest])),
        float(np.median(wet)) if wet.size >= LEAST_WET else None,
    )


def change_of_driest(earlier: CleanReadings, later: CleanReadings) -> float | None:
    """Return the middle change of the driest third of the places of two visits.

    Parameters
    ----------
    earlier, later : CleanReadings

    Returns
    -------
    float or None
        [reading units]; None where too few places are common.
    """
    thirds = _thirds(earlier, later)
    return None if thirds is None else thirds.driest
