"""How long the places of failing tests still dry, and where no day can be named.

Method: ``docs/method/slab.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from itertools import product

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.next_step import CHECK_RULES
from moisturemap.acceptance.room_air import room_air
from moisturemap.acceptance.sealed import ProfileVerdict
from moisturemap.acceptance.supersede import same
from moisturemap.errors import InputError
from moisturemap.floorplan import Slab
from moisturemap.slab import Fall, ProfileEstimate, estimate_profile, no_wait, wait_for_limit
from moisturemap.survey import Survey

SAME_PROBE_SD = 0.7
"""Standard uncertainty of the difference of two readings of one hole with one probe [%RH]: its
calibration and the hole are the same in both, drift and repeatability are not; project choice."""

RISES_SDS = 2.0
"""A rise is one from so many standard uncertainties on."""

TELLING_DAYS = 14.0
"""A fall is credited from readings this far apart on [days]: in less no slab falls by more than
probes differ; project choice."""


def with_waits(
    spots: Sequence[ProfileVerdict],
    judged: Sequence[JudgedTest],
    survey: Survey,
    as_of: datetime,
) -> tuple[ProfileVerdict, ...]:
    """Add how long they still dry to the spots that do not meet and whose tests do not either.

    Parameters
    ----------
    spots : sequence of ProfileVerdict
    judged : sequence of JudgedTest
        All tests, those that a later one replaced among them.
    survey : Survey
        Its visits and loggers tell the air.
    as_of : datetime
        Day of the decision: what is covered later is not covered yet.
    """
    return tuple(_with_wait(spot, judged, survey, as_of.date()) for spot in spots)


def _with_wait(
    spot: ProfileVerdict, judged: Sequence[JudgedTest], survey: Survey, today: date
) -> ProfileVerdict:
    own = [test for test in judged if test.entry.key in spot.tests]
    open_ = spot.governs or any(test.stands_against for test in own)
    if spot.estimate is None or spot.limit_pct is None or not open_ or spot.verdict == "meets":
        return spot
    slab, level = own[0].entry.slab, spot.estimate.sealed.level
    why = wetted_below(slab) or _covered(slab, own, today) or _rises(own, judged)
    if not why and spot.sealed is None:
        why = "the readings there do not fit the drying model"
    if why:
        return replace(spot, wait=no_wait(spot.limit_pct, level, why))
    air = room_air(survey, own, judged)
    falls = [one for test in own for one in _falls(test, judged)]
    others = _other_meanings(spot.estimate, own)
    wait = wait_for_limit(spot.estimate, spot.limit_pct, air=air, falls=falls, others=others)
    thin, thick = spot.estimate.spec.thickness_mm, _thickest(spot.estimate, own)
    if not wait.why_none and wait.days.high > 0.0 and thick > thin:
        said = (
            f"{wait.sentence} The record states the slab {thin:g} mm thick and {thick:g} mm: the"
            " later of both is given."
        )
        wait = replace(wait, sentence=said)
    if not wait.why_none and wait.days.high > 0.0 and _unknown_below(slab):
        said = (
            f"{wait.sentence} What lies below it is not recorded: without a membrane on ground this"
            " does not hold."
        )
        wait = replace(wait, sentence=said)
    return replace(spot, wait=wait)


def _thickest(estimate: ProfileEstimate, own: Sequence[JudgedTest]) -> float:
    """Return the thickest the record of a spot states its slab [mm]."""
    stated = [own[0].entry.slab.thickness_mm, *(t.entry.number("thickness_mm") for t in own)]
    return max(estimate.spec.thickness_mm, *(one or 0.0 for one in stated))


def _other_meanings(
    estimate: ProfileEstimate, own: Sequence[JudgedTest]
) -> tuple[ProfileEstimate, ...]:
    """Return what else the record of a spot may mean: a thicker slab, results as sure as tested.

    What a record leaves open widens its results; that alone must not bring a day forward.
    """
    plain = {t.entry.number("depth_mm"): (t.plain or t.spread).expanded / 2.0 for t in own}
    surer = tuple(
        replace(one, sd_pct=min(one.sd_pct, plain.get(one.depth_mm, one.sd_pct)))
        for one in estimate.readings
    )
    thicker = replace(estimate.spec, thickness_mm=_thickest(estimate, own))
    found = []
    for readings, spec in product((estimate.readings, surer), (estimate.spec, thicker)):
        if (readings, spec) == (estimate.readings, estimate.spec):
            continue
        with suppress(InputError):  # what the model refuses gives no day of its own
            found.append(estimate_profile(readings, spec, options=estimate.options))
    return tuple(found)


def wetted_below(slab: Slab) -> str:
    """Say that a slab is wetted from below as long as it lies there, "" where it is not known to.

    Parameters
    ----------
    slab : Slab
    """
    if slab.on == "suspended" or slab.open_faces == 2 or slab.membrane not in ("none", "damaged"):
        return ""
    found = "damaged" if slab.membrane == "damaged" else "not there"
    return (
        f"the membrane below is recorded as {found}, so the ground goes on wetting the slab from"
        " below, and how dry it gets is not told by how it dried"
    )


def _unknown_below(slab: Slab) -> bool:
    return slab.on != "suspended" and slab.open_faces == 1 and not slab.membrane


def _covered(slab: Slab, own: Sequence[JudgedTest], today: date) -> str:
    """Say that a slab did not dry freely up to its tests."""
    if slab.covered is None or slab.covered > today:
        return ""
    read = [test.read.date() for test in own if test.read is not None]
    if slab.lifted is None or (read and slab.lifted > max(read)):
        return (
            f"it was covered on {slab.covered:%Y-%m-%d}, and under a covering a slab evens out and"
            " hardly dries"
        )
    return (
        f"it was covered from {slab.covered:%Y-%m-%d} to {slab.lifted:%Y-%m-%d} and evened out"
        " meanwhile: no slab that only dried stands for it"
    )


def _rises(own: Sequence[JudgedTest], judged: Sequence[JudgedTest]) -> str:
    """Say that a place reads higher than it did before, beyond what its tests may differ by."""
    for test in own:
        risen = [
            one
            for one in earlier(test, judged)
            if _rh(test) - _rh(one) > RISES_SDS * _difference_sd(test, one)
        ]
        if risen and test.read is not None:
            least = min(risen, key=_rh)
            return (
                f"{test.entry.label} rises: {_rh(least):.1f} %RH on {_day(least.read)},"
                f" {_rh(test):.1f} %RH on {_day(test.read)}; find the water first"
            )
    return ""


def _falls(test: JudgedTest, judged: Sequence[JudgedTest]) -> list[Fall]:
    """Return what a hole fell by since each of its readings that is long enough ago."""
    found = []
    for one in earlier(test, judged):
        assert test.read is not None
        assert one.read is not None
        days = (test.read - one.read).total_seconds() / 86_400.0
        if days >= TELLING_DAYS:
            fall = _rh(one) - _rh(test)
            found.append(Fall(fall, _difference_sd(test, one), days))
    return found


def earlier(test: JudgedTest, judged: Sequence[JudgedTest]) -> list[JudgedTest]:
    """Return the results of the same place, depth and method that were read before.

    Valid ones, and those that only the checks of their probe kept from it: it reads as it did.

    Parameters
    ----------
    test : JudgedTest
    judged : sequence of JudgedTest
    """
    if test.read is None or test.result.value is None:
        return []
    return [
        one
        for one in judged
        if one is not test
        and all(f.rule in CHECK_RULES for f in one.findings if f.effect == "invalid")
        and one.result.value is not None
        and one.read is not None
        and one.read < test.read
        and same(one, test)
    ]


def _rh(test: JudgedTest) -> float:
    """Return a result as read [%RH]."""
    return test.result.value or 0.0


def _difference_sd(one: JudgedTest, other: JudgedTest) -> float:
    """Return the standard uncertainty of the difference of two results [%RH]."""
    first, second = one.entry, other.entry
    probe = first.text("instrument")
    if probe and probe == second.text("instrument") and first.hole == second.hole:
        return SAME_PROBE_SD
    spreads = [(test.plain or test.spread).standard for test in (one, other)]
    return float(sum(sd**2 for sd in spreads) ** 0.5)


def _day(when: datetime | None) -> str:
    return "" if when is None else f"{when:%Y-%m-%d}"
