"""Courses that forecasts are tried on: what a wet zone may do, by numerics of its own.

The first group follows the families the package knows; the second does not (other laws of
diffusivity, two rates at once, a power law, wet from below, machines that come late, air that
changes), and is there to find out how far a forecast carries beyond them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from slab_truth import (
    AIR_H,
    WET_H,
    Array,
    Course,
    SlabTruth,
    draw_slab,
    excess_at,
    exponential,
    fed_from_below,
    held,
    rewetted,
    seen_by_series,
    slab_course,
)

from moisturemap.drying import AirHistory, DepthTest, KnownSlab

Draw = np.random.Generator

FAR = np.concatenate([np.linspace(0.0, 60.0, 601), np.geomspace(60.2, 2e4, 2000)])
"""Days from the latest visit on which truths are followed."""


def first_day(level: Array, target: float) -> float:
    """Day on which a level on ``FAR`` first meets a target."""
    met = np.flatnonzero(level <= target)
    return float(FAR[met[0]]) if met.size else math.inf


def deserves(true: float, level: Array, days: Array, sd: float) -> bool:
    """Whether a latest day is due: the target is near, and the last fall shows in the readings."""
    return bool(true <= 3.0 * days[-1] and level[-2] - level[-1] > 2.0 * sd)


@dataclass(frozen=True)
class Zone:
    """A wet zone as nature made it, and what a surveyor knows of it.

    Attributes
    ----------
    course : Course
    known : KnownSlab
    air : AirHistory
        As recorded on the visits.
    tests : tuple of DepthTest
    """

    course: Course
    known: KnownSlab = field(default_factory=KnownSlab)
    air: AirHistory = field(default_factory=AirHistory)
    tests: tuple[DepthTest, ...] = ()


Made = Callable[[Draw, Array], Zone]
"""Make a zone, given the days of its visits."""


def _known(slab: SlabTruth) -> KnownSlab:
    return KnownSlab(slab.thickness_mm, slab.faces)


def _slab(**fixed: object) -> Made:
    def made(rng: Draw, days: Array) -> Zone:
        slab = draw_slab(rng, **fixed)
        return Zone(slab_course(slab, rng), _known(slab))

    return made


def _unknown(rng: Draw, days: Array) -> Zone:
    return Zone(slab_course(draw_slab(rng), rng))


def _part_wet(rng: Draw, days: Array) -> Zone:
    return _slab(wetted=float(rng.uniform(0.2, 0.7)))(rng, days)


def _log_even(rng: Draw, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def _exponential(rng: Draw, days: Array) -> Zone:
    return Zone(exponential(_log_even(rng, 8, 90)))


def _never(rng: Draw, days: Array) -> Zone:
    return Zone(held(exponential(30.0), 1.0))


def _held(made: Made, low: float, high: float) -> Made:
    def leak(rng: Draw, days: Array) -> Zone:
        zone = made(rng, days)
        return Zone(held(zone.course, float(rng.uniform(low, high))), zone.known)

    return leak


def _rewetted(rng: Draw, days: Array) -> Zone:
    zone = _slab()(rng, days)
    course = rewetted(zone.course, float(rng.uniform(3, 15)), float(rng.uniform(0.2, 0.6)))
    return Zone(course, zone.known)


def _rewetted_lately(rng: Draw, days: Array) -> Zone:
    """Let water come between the last two visits."""
    zone = _slab()(rng, days)
    day = float(rng.uniform(days[-2], days[-1]))
    return Zone(rewetted(zone.course, day, float(rng.uniform(0.2, 0.6))), zone.known)


def _two_rates(rng: Draw, days: Array) -> Zone:
    """Let a fast and a slow share fall, as in a screed on a slab."""
    fast, slow = exponential(_log_even(rng, 3, 10)), exponential(_log_even(rng, 40, 150))
    share = float(rng.uniform(0.3, 0.7))
    return Zone(lambda day: share * fast(day) + (1.0 - share) * slow(day))


def _power_law(rng: Draw, days: Array) -> Zone:
    """Let excess fall as 1/(1 + t/t0)^m."""
    time, power = _log_even(rng, 5, 40), float(rng.uniform(0.5, 1.5))
    return Zone(lambda day: (1.0 + np.asarray(day) / time) ** -power)


def _root_of_time(rng: Draw, days: Array) -> Zone:
    """Stretch an exponential, exp(-sqrt(t/t0))."""
    time = _log_even(rng, 5, 60)
    return Zone(lambda day: np.exp(-np.sqrt(np.asarray(day) / time)))


def _machines_late(rng: Draw, days: Array) -> Zone:
    """Let nothing dry before machines are set, after the first visit."""
    free = exponential(_log_even(rng, 8, 90))
    begin = float(days[1] * rng.uniform(0.0, 1.0))
    return Zone(lambda day: free(np.maximum(np.asarray(day) - begin, 0.0)))


def _from_below(rng: Draw, days: Array) -> Zone:
    """Hold the lower face of a slab wet: it falls to a plateau."""
    slab = draw_slab(rng)
    return Zone(fed_from_below(slab), _known(slab))


def _air_changes(size: Callable[[Draw], float], *, recorded: bool) -> Made:
    """Let room air turn drier or damper by a share of the drive at a visit (Duhamel's sum)."""

    def made(rng: Draw, days: Array) -> Zone:
        slab = draw_slab(rng, power=1.0)
        drop, day, drive = size(rng), float(days[len(days) // 2]), float(rng.uniform(0.35, 0.5))
        fo = np.r_[0.0, np.geomspace(1e-5, 20.0, 260)]
        answer = 1.0 - seen_by_series(slab, fo)
        first = float(seen_by_series(slab, np.array([slab.fo_start]))[0])
        per_day = slab.diffusivity / slab.length**2
        free = slab_course(slab, rng)

        def course(at: Array) -> Array:
            since = np.maximum(np.asarray(at) - day, 0.0) * per_day
            return free(at) + drop / first * np.interp(since, fo, answer)

        steps = ((day, drop * drive),) if recorded else ()
        return Zone(course, _known(slab), AirHistory(steps=steps))

    return made


def with_tests(rng: Draw, days: Array) -> Zone:
    """Test a slab at 0.4 of its drying length on the first and the latest visit."""
    slab = draw_slab(rng)
    depth = 0.4 * slab.length
    tests = []
    for day in (days[0], days[-1]):
        fo = slab.fo_start + slab.diffusivity * day / slab.length**2
        h = AIR_H + (WET_H - AIR_H) * excess_at(slab, float(fo), 0.4)
        rh = float(np.clip(100.0 * h + rng.normal(0.0, 2.0), 0.0, 100.0))
        tests.append(DepthTest(0.0, 0.0, float(day), depth, rh, 100.0 * AIR_H))
    return Zone(slab_course(slab, rng), _known(slab), tests=tuple(tests))


def _drier(rng: Draw) -> float:
    return -float(rng.uniform(0.1, 0.3))


def _damper(rng: Draw) -> float:
    return float(rng.uniform(0.1, 0.2))


KINDS: dict[str, Made] = {
    "exponential": _exponential,
    "one face": _slab(),
    "two faces": _slab(faces=2),
    "D falling": _slab(falling=True),
    "part wet": _part_wet,
    "Fo 0.01": _slab(fo_start=0.01),
    "Fo 0.05": _slab(fo_start=0.05),
    "Fo 0.3": _slab(fo_start=0.3),
    "Fo 1": _slab(fo_start=1.0),
    "thickness unknown": _unknown,
    "never dries": _never,
    "leak holds a slab": _held(_slab(), 0.3, 0.8),
    "leak holds an exponential": _held(_exponential, 0.3, 0.8),
    "re-wetted once": _rewetted,
}

STRANGE: dict[str, Made] = {
    "D exponential in moisture": _slab(exponential_law=True),
    "D exponential, part wet": _slab(exponential_law=True, wetted=0.5),
    "two rates at once": _two_rates,
    "power law": _power_law,
    "root of time": _root_of_time,
    "machines come late": _machines_late,
    "wet from below": _from_below,
    "leak holds a little": _held(_exponential, 0.1, 0.3),
    "re-wetted before the latest": _rewetted_lately,
    "air drier, recorded": _air_changes(_drier, recorded=True),
    "air drier, not recorded": _air_changes(_drier, recorded=False),
    "air damper, recorded": _air_changes(_damper, recorded=True),
    "air damper, not recorded": _air_changes(_damper, recorded=False),
}
