"""What the covering will face at a spot where humidity was read at depth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from moisturemap.acceptance.evidence import AT_DEPTH_METHODS, JudgedTest
from moisturemap.acceptance.lowered import estimate_lowered
from moisturemap.acceptance.record import RH_METHODS
from moisturemap.acceptance.supersede import SAME_SPOT_M
from moisturemap.acceptance.verdict import limit_value
from moisturemap.errors import InputError
from moisturemap.floorplan import Slab
from moisturemap.quantities import beside, spoken_figures
from moisturemap.slab import (
    USUAL_DIFFUSIVITY,
    DepthReading,
    Interval,
    ProfileEstimate,
    ProfileOptions,
    SlabSpec,
    Wait,
    estimate_profile,
    temperature_factor,
)
from moisturemap.survey import Limit

SAME_TIME_DAYS = 7.0
"""Readings of one profile are taken within this time [days]."""


@dataclass(frozen=True)
class ProfileVerdict:
    """The sealed humidity at a spot against the limit.

    Attributes
    ----------
    spot : str
        Names of its holes.
    room : str
    x, y : float
        [m]
    readings : tuple of DepthReading
    estimate : ProfileEstimate or None
        None when refused.
    refusal : str
        Why there is no estimate, "" else.
    limit_pct : float or None
        [%RH]
    verdict : str
        One of ``VERDICTS``.
    chance_above : float or None
        That the sealed humidity exceeds the limit.
    governs : bool
        True when it counts for the floor: several depths, or a depth the limit is not meant for.
        One reading at the depth of the method speaks through the test itself.
    why : str
    wait : Wait or None
        Time until the limit, for spots that do not meet it and whose tests do not either; see
        ``waits``.
    tests : tuple of str
        Keys of its tests.
    valid : bool
        Whether any of its tests is valid; nothing else speaks for the floor.
    """

    spot: str
    room: str
    x: float
    y: float
    readings: tuple[DepthReading, ...]
    estimate: ProfileEstimate | None
    refusal: str
    limit_pct: float | None
    verdict: str
    chance_above: float | None
    governs: bool
    why: str
    wait: Wait | None = None
    tests: tuple[str, ...] = ()
    valid: bool = True

    @property
    def sealed(self) -> Interval | None:
        """What the slab would settle at [%RH]; None where the drying model does not fit."""
        if self.estimate is None or not self.estimate.fits:
            return None
        return self.estimate.sealed

    @property
    def counts_against(self) -> bool:
        """Whether it stands against the floor though none of its tests is valid."""
        return not self.valid and self.governs and self.verdict in ("exceeds", "not proven")


def without_verdict(spots: Sequence[ProfileVerdict]) -> tuple[ProfileVerdict, ...]:
    """Take the verdict from the spots that no valid test stands behind, and say why.

    What stands against the floor all the same keeps it: nothing wet is waved away.

    Parameters
    ----------
    spots : sequence of ProfileVerdict
    """
    return tuple(spot if spot.valid else _not_counted(spot) for spot in spots)


def _not_counted(spot: ProfileVerdict) -> ProfileVerdict:
    if spot.counts_against:
        return replace(spot, why=f"{spot.why}; no test there is valid, and it counts all the same")
    if spot.estimate is None or spot.limit_pct is None:
        return spot
    shown = _shown(spot.estimate, spot.limit_pct)
    why = f"{shown}; not counted: no test there is valid"
    return replace(spot, verdict="not judged", chance_above=None, why=why)


def judge_profiles(
    tests: Sequence[JudgedTest],
    limits: dict[str, Limit | None],
    *,
    options: ProfileOptions,
    governing: bool = False,
) -> tuple[ProfileVerdict, ...]:
    """Work out the sealed humidity at every spot with readings at depth.

    Where a spot holds readings that are not valid, it is worked out with and without each of them
    and the worst is taken: a poor record makes a slab neither drier nor doubtful.

    Parameters
    ----------
    tests : sequence of JudgedTest
    limits : dict
        Limit of each room, by name.
    options : ProfileOptions
    governing : bool
        True leaves out spots that do not count for the floor.
    """
    usable = [
        test
        for test in tests
        if not test.superseded
        and test.entry.method.key in AT_DEPTH_METHODS
        and test.value is not None
        and test.value > 0.0
        and not test.entry.text("censored")
        and test.entry.room is not None
        and test.entry.number("depth_mm") is not None
    ]
    groups = [group for group in _spots(usable) if not governing or _governs(group)]
    return tuple(_worse_of(group, limits, options) for group in groups)


def _worse_of(
    group: list[JudgedTest], limits: dict[str, Limit | None], options: ProfileOptions
) -> ProfileVerdict:
    every = _judge_spot(group, limits, options)
    if all(test.counts for test in group):
        return every
    found = min([every, *(_judge_spot(one, limits, options) for one in _choices(group))], key=_rank)
    valid = any(test.counts for test in group)
    return replace(found, tests=every.tests, valid=valid)


def _choices(group: Sequence[JudgedTest]) -> list[list[JudgedTest]]:
    """Return the valid readings with every choice of the others, those as if they were valid.

    Also as if they were as certain as the best valid one: what a record leaves blank widens its
    uncertainty, and a slab must not be explained by that. The fewer readings are valid the more
    choices there are, so that the worst of them never gets better when one more is not.
    """
    plain = [replace(test, spread=test.plain or test.spread) for test in group]
    valid = [test for test in plain if test.counts]
    poor = [test for test in plain if not test.counts][:MOST_POOR]
    least = min((test.spread for test in valid), key=lambda one: one.expanded, default=None)
    as_well = [] if least is None else [replace(test, spread=least) for test in poor]
    return [
        [*valid, *chosen]
        for taken in (poor, as_well)
        for count in range(len(taken) + 1)
        for chosen in combinations(taken, count)
        if valid or chosen
    ]


MOST_POOR = 4
"""Readings of one spot that are not valid and taken in turn; more than this nobody drills."""


def _rank(spot: ProfileVerdict) -> tuple[int, bool]:
    """Rank the graver first; of equals the one that no drying slab explains."""
    return _GRAVITY[spot.verdict if spot.governs else ""], spot.estimate is not None


_GRAVITY = {"exceeds": 0, "not proven": 1, "meets": 2, "not judged": 2, "": 3}


def _governs(group: Sequence[JudgedTest]) -> bool:
    depths = {test.entry.number("depth_mm") for test in group}
    return len(depths) > 1 or all(not test.for_limit for test in group)


def _spots(tests: Sequence[JudgedTest]) -> list[list[JudgedTest]]:
    """Group tests by place; of each place the readings near the latest one in time.

    A test without a place is a spot of its own.
    """
    groups: list[list[JudgedTest]] = []
    for test in tests:
        near = [group for group in groups if _beside(test, group[0])]
        if near:
            near[0].append(test)
        else:
            groups.append([test])
    return [_latest(group) for group in groups]


def _beside(test: JudgedTest, other: JudgedTest) -> bool:
    here, there = test.entry.place, other.entry.place
    if here is None or there is None or test.entry.room is not other.entry.room:
        return False
    return float(np.hypot(*np.subtract(here, there))) <= SAME_SPOT_M


def _latest(group: list[JudgedTest]) -> list[JudgedTest]:
    times = [test.entry.moment("read") for test in group]
    known = [time for time in times if time is not None]
    if not known:
        return group
    last = max(known)
    return [
        test
        for test, time in zip(group, times, strict=True)
        if time is None or (last - time).total_seconds() <= SAME_TIME_DAYS * 86_400.0
    ]


def _judge_spot(
    group: list[JudgedTest], limits: dict[str, Limit | None], options: ProfileOptions
) -> ProfileVerdict:
    room = group[0].entry.room
    assert room is not None
    readings = tuple(sorted(map(_reading, group), key=lambda reading: reading.depth_mm))
    governs = _governs(group)
    limit = limits.get(room.name)
    bound = None
    if limit is not None and limit.method in RH_METHODS:
        bound = limit_value(limit)
    estimate, refusal = None, ""
    try:
        estimate = estimate_profile(readings, slab_spec(group), options=options)
    except InputError as outside:
        refusal = outside.message
    verdict, chance, why = _verdict(estimate, refusal, bound)
    if estimate is None and governs and bound is not None:
        verdict, why = _unexplained(group, readings, refusal, bound, options)
    names = ", ".join(dict.fromkeys(test.entry.hole or test.entry.key for test in group))
    places = [test.entry.place for test in group if test.entry.place]
    x, y = np.mean(places, axis=0) if places else (float("nan"), float("nan"))
    return ProfileVerdict(
        names,
        room.name,
        float(x),
        float(y),
        readings,
        estimate,
        refusal,
        bound,
        verdict,
        chance,
        governs,
        why,
        tests=tuple(test.entry.key for test in group),
    )


def _reading(test: JudgedTest) -> DepthReading:
    depth, value = test.entry.number("depth_mm"), test.value
    assert depth is not None
    assert value is not None
    sd, probe = test.spread.expanded / 2.0, test.entry.text("instrument")
    return DepthReading(depth, min(value, 100.0), sd, probe)


def slab_spec(group: Sequence[JudgedTest]) -> SlabSpec:
    """Describe the slab below a spot to the drying model.

    Raises
    ------
    InputError
        When its thickness is not known.
    """
    entry = group[0].entry
    slab: Slab = entry.slab
    thickness = entry.thickness_mm
    if not thickness:
        message = "the thickness of the slab is not known, so no sealed humidity is worked out"
        raise InputError(message)
    read = entry.moment("read")
    days = None
    if slab.placed is not None and read is not None and read.date() > slab.placed:
        days = float((read.date() - slab.placed).days)
    temperature = entry.number("temperature_c") or entry.number("slab_temperature_c") or 20.0
    rate = USUAL_DIFFUSIVITY * temperature_factor(temperature)
    return SlabSpec(thickness, slab.open_faces, days, slab.base, bool(slab.heated), rate)


def _unexplained(
    group: Sequence[JudgedTest],
    readings: Sequence[DepthReading],
    refusal: str,
    bound: float,
    options: ProfileOptions,
) -> tuple[str, str]:
    """Judge a spot the model refuses: by the highest profile below it that the model explains."""
    try:
        lower = estimate_lowered(readings, slab_spec(group), bound, options=options)
    except InputError:
        lower = None
    if lower is not None:
        shown = ", ".join(
            f"{spoken_figures(one.rh_pct, bound)} at {one.depth_mm:g} mm" for one in lower.readings
        )
        why = f"under a covering the slab would still settle above the limit {bound:g}"
        return "exceeds", f"lowered to what a drying slab explains ({shown}), {why}; {refusal}"
    return _without_estimate(readings, refusal, bound, unlike="do not fit" in refusal)


def _without_estimate(
    readings: Sequence[DepthReading], refusal: str, bound: float, *, unlike: bool
) -> tuple[str, str]:
    """Judge a spot the model does not explain: damp at depth is not waved through.

    `unlike` is True where the readings fit no slab that has only dried.
    """
    near = UNLIKE_PCT if unlike else 0.0
    damp = [r for r in readings if r.rh_pct + 2.0 * r.sd_pct + near > bound]
    if not damp:
        return "not judged", refusal
    worst = max(damp, key=lambda reading: reading.rh_pct)
    reaches = "comes near" if worst.rh_pct + 2.0 * worst.sd_pct <= bound else "reaches above"
    return "not proven", (
        f"{worst.rh_pct:g} %RH at {worst.depth_mm:g} mm {reaches} the limit {bound:g}, and what"
        f" it would do to a covering cannot be worked out: {refusal}"
    )


UNLIKE_PCT = 5.0
"""Readings that fit no drying slab are doubted this near below the limit [%RH]; project choice."""


def sealed_words(sealed: Interval, bound: float | None) -> tuple[str, str, str]:
    """Write the humidity a covering would face and both ends of its interval, whole [%RH].

    Finer where a whole number would set one across the limit.
    """
    ends = (sealed.value, sealed.low, sealed.high)
    value, low, high = (beside(one, bound, decimals=0) for one in ends)
    return value, low, high


def _settles(estimate: ProfileEstimate, bound: float | None) -> str:
    """Say what a covering would face, and between what."""
    value, low, high = sealed_words(estimate.sealed, bound)
    return (
        f"under a covering the slab would settle at {value} %RH"
        f" ({estimate.sealed.level:.0%} interval {low} to {high})"
    )


def _shown(estimate: ProfileEstimate, bound: float | None) -> str:
    """Say what a covering would face, or that nothing can be told of it."""
    return _settles(estimate, bound) if estimate.fits else _unlike_words(estimate)


def _unlike_words(estimate: ProfileEstimate) -> str:
    """Say that readings lie off the profile of the model: a number of it would be none of them."""
    read = sorted(one.rh_pct for one in estimate.readings)
    told = f"{read[0]:.1f} to {read[-1]:.1f} %RH" if len(read) > 1 else f"{read[0]:.1f} %RH"
    return (
        f"read {told}, which no drying slab fits: what this one would settle at under a covering"
        " is not told"
    )


def _unlike(estimate: ProfileEstimate, bound: float) -> tuple[str, str]:
    """Judge a spot that the model does not fit: it may not pass where it reads above the limit."""
    shown = _unlike_words(estimate)
    if estimate.sealed.low > bound:
        return "exceeds", f"{shown}; the nearest lies above the limit {bound:g}"
    high = max(one.rh_pct + 2.0 * one.sd_pct for one in estimate.readings)
    if estimate.sealed.high <= bound and high <= bound:
        within = f"all it reads lies within the limit {bound:g}, as does the nearest"
        return "meets", f"{shown}; {within}"
    return "not proven", f"{shown}; the limit {bound:g} is not shown to be met"


def _verdict(
    estimate: ProfileEstimate | None, refusal: str, bound: float | None
) -> tuple[str, float | None, str]:
    if estimate is None:
        return "not judged", None, refusal
    sealed, shown = estimate.sealed, _shown(estimate, bound)
    if bound is None:
        return "not judged", None, f"{shown}; no limit in %RH is stated to hold it against"
    if not estimate.fits:
        verdict, why = _unlike(estimate, bound)
        return verdict, None, why
    chance = estimate.chance_above(bound)
    if sealed.low > bound:
        return "exceeds", chance, f"{shown}, above the limit {bound:g}"
    if sealed.high <= bound:
        return "meets", chance, f"{shown}, within the limit {bound:g}"
    return "not proven", chance, f"{shown}: the limit {bound:g} lies inside the interval"
